"""A reservoir that is off: the steps, what was really added, the waits, and the record of it all."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from rounds.book.actions import ASKED
from rounds.history.record import Draft
from rounds.screens.correction import CorrectionScreen
from rounds.walk.carrying_out import record_step
from rounds.walk.open_corrections import open_correction_of, open_corrections, uncorrected
from rounds.walk.session import Session

Driver = Any
READ = "6.6 1.3 21 31"


STEPS = [
    {
        "action": "top_up",
        "product": "well",
        "amount": 25.0,
        "unit": "L",
        "wait_min": 0,
        "text": "Add 25 L of Well water.",
    },
    {"action": "circulate", "wait_min": 10, "text": "Let the pump run 10 minutes."},
    {"action": "acid", "product": "nitric-8", "amount": 30.0, "unit": "mL", "text": "Pour 30 mL of working acid."},
    {"action": "recheck", "text": "Read pH and EC again."},
]
"""Steps of a correction as it is written down: these screens are tried apart from what the advice works out."""


async def read_reservoir(walker: Any) -> None:
    """Read reservoir one, well out of band, with the probe dipped in buffer."""
    await walker.press("enter", "plus")
    await walker.type(READ, "enter")
    await walker.type("7.02", "enter")


async def to_the_correction(walker: Any) -> None:
    """Read reservoir one, and open the steps above in place of what the advice would say."""
    await read_reservoir(walker)
    session = walker.app.session
    data = {"steps": STEPS, "explain": ["Circulating volume = 155 L + 18 L = 173 L"], "assumed": {"volume_l": 173.0}}
    session.save(Draft(kind="correction", measured_at=session.now(), station="res-1", data=data))
    await walker.press("f9")
    await walker.until(lambda: walker.screen == "CorrectionScreen")


async def test_steps_come_in_order_with_water_before_acid_before_concentrates(
    driven: Driver, farm_folder: Path
) -> None:
    async with driven(farm_folder) as walker:
        await read_reservoir(walker)
        await walker.press("f9")
        await walker.until(lambda: walker.screen == "CorrectionScreen")
        actions = [step.action for step in walker.app.screen.correction.steps if step.is_measured]
        # More than a tenth of hard water, and a pH at which calcium phosphate falls out: acid first, A and B wait.
        # Common practice.
        assert actions == ["top_up", "acid"]
        assert "A and B wait until the acid can go in first" in walker.words and "Well water" in walker.text


async def test_done_as_advised_is_one_key_and_the_wait_starts_by_itself(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await to_the_correction(walker)
        advised = walker.app.screen.correction.steps[0].amount
        await walker.press("enter")
        (dose,) = walker.app.session.history.records(kind="dose")
        assert (dose.item, dose.value, dose.data["advised"]) == ("well", advised, advised)
        assert "mixes for 10 min" in walker.words


async def test_what_was_really_added_is_kept_beside_what_was_advised(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await to_the_correction(walker)
        await walker.press("e", "enter")
        await walker.type("30", "enter")
        (dose,) = walker.app.session.history.records(kind="dose")
        assert dose.value == 30
        assert dose.data["advised"] < 30
        assert "more than advised" in dose.marks[0]
        assert "really 30 L" in walker.words


async def test_the_next_step_before_it_has_mixed_is_asked_about(driven: Driver, farm_folder: Path, clock: Any) -> None:
    async with driven(farm_folder) as walker:
        await to_the_correction(walker)
        await walker.press("enter")
        await walker.type("30", "enter")
        assert "has not mixed yet" in walker.words
        await walker.press("enter", "enter")
        assert len(walker.app.session.history.records(kind="dose")) == 1, "Enter never passes the question"
        await walker.press("y", "enter")
        assert len(walker.app.session.history.records(kind="dose")) == 2


async def test_the_walk_goes_on_while_it_mixes_and_the_bell_calls_back(
    driven: Driver, farm_folder: Path, clock: Any
) -> None:
    async with driven(farm_folder) as walker:
        await to_the_correction(walker)
        await walker.press("enter", "escape")
        assert "Channel one" in walker.text
        await walker.until(lambda: "Reservoir one mixes" in walker.text)
        clock.go_on(minutes=11)
        walker.app.tick()
        await walker.until(lambda: "Reservoir one has mixed" in walker.words)
        await walker.press("f4")
        await walker.type("later", "enter")
        await walker.until(lambda: walker.screen == "CorrectionScreen")
        assert walker.app.screen.correction.next_step.action == "acid"


async def test_a_correction_put_off_is_carried_over_with_its_reason(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await to_the_correction(walker)
        await walker.press("p", "enter")
        await walker.type("no gloves", "enter")
        await walker.press("escape")
        await walker.press("j")
        await walker.until(lambda: walker.screen == "ToSortScreen")
        assert "Bring pH down: 6.60" in walker.words and "put off: no gloves" in walker.words


async def test_the_working_is_one_key_away(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await read_reservoir(walker)
        await walker.press("f9")
        await walker.until(lambda: walker.screen == "CorrectionScreen")
        await walker.press("w", "enter")
        assert "Circulating volume" in walker.words


async def test_killed_after_a_step_the_correction_goes_on_where_it_was(
    driven: Driver, farm_folder: Path, clock: Any
) -> None:
    async with driven(farm_folder) as walker:
        await to_the_correction(walker)
        await walker.press("enter")
    clock.go_on(minutes=11)
    async with driven(farm_folder) as walker:
        await walker.press("enter")
        await walker.until(lambda: walker.screen == "CorrectionScreen")
        assert walker.app.screen.correction.next_step.number == 3


async def test_a_reservoir_in_band_is_left_alone(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("enter", "plus")
        await walker.type("5.9 1.7 21 36", "enter")
        await walker.type("7.02", "enter", "f9")
        await walker.until(lambda: "Channel one" in walker.text)
        assert not walker.app.session.history.records(kind="dose")


async def test_readings_survive_a_kill_before_the_correction_was_worked_out(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("enter", "plus")
        await walker.type(READ, "enter")
    async with driven(farm_folder) as walker:
        await walker.press("enter")
        await walker.until(lambda: walker.screen == "StationScreen")
        assert walker.app.screen.visit.stop.station_id == "res-1", "its open checks come first"
        await walker.press("f9")
        await walker.until(lambda: walker.screen == "CorrectionScreen")


async def test_four_readings_and_their_correction_take_at_most_35_keys(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("enter", "plus")
        walker.keys = 0
        await walker.type("6.6 1.7 21 36", "enter")
        await walker.type("7.02", "enter", "f9")
        await walker.until(lambda: walker.screen == "CorrectionScreen")
        while (step := walker.app.screen.correction.next_step) is not None and step.action != "read_again":
            skipped_or_done = "s" if step.action in ASKED else ""
            await walker.type(f"{step.amount:g}" if step.action == "acid" else skipped_or_done, "enter")
        doses = walker.app.session.history.records(kind="dose")
        assert "acid" in [dose.data["action"] for dose in doses]
        assert len(walker.app.session.history.records(kind="reading", station="res-1")) == 5
        assert walker.keys <= 35


async def test_far_more_than_advised_is_asked_twice_and_voids_the_rest(
    driven: Driver, farm_folder: Path, clock: Any
) -> None:
    async with driven(farm_folder) as walker:
        await to_the_correction(walker)
        await walker.press("enter")
        clock.go_on(minutes=11)
        await walker.press("e", "enter")
        await walker.type("1.5 L", "enter")
        assert "50 times the advice" in walker.words
        await walker.press("escape")
        assert len(walker.app.session.history.records(kind="dose")) == 1, "nothing is written before it is confirmed"
        await walker.press("e", "enter")
        await walker.type("1500", "enter")
        await walker.type("1500", "enter")
        assert "TOO MUCH ACID" in walker.words
        assert "no longer hold" in walker.words
        dose = walker.app.session.history.records(kind="dose")[-1]
        assert dose.value == 1500
        assert open_corrections(walker.app.session) == []


async def test_an_amount_that_cannot_be_read_stays_in_the_window(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await to_the_correction(walker)
        await walker.press("e", "enter")
        await walker.type("12,3,4", "enter")
        assert walker.screen == "PromptScreen"
        assert "is not a number" in walker.words
        assert "12,3,4" in walker.text


async def test_an_enter_too_many_does_not_record_a_dose(
    driven: Driver, farm_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with driven(farm_folder) as walker:
        monkeypatch.setattr(CorrectionScreen, "settle_s", 60.0)
        await to_the_correction(walker)
        await walker.press("enter", "enter")
        assert walker.app.session.history.records(kind="dose") == []


async def test_a_reading_put_right_makes_a_new_correction(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("enter", "plus")
        await walker.type("6.0 1.3 21 36", "enter")
        await walker.type("7.02", "enter", "f9")
        await walker.until(lambda: walker.screen == "CorrectionScreen")
        assert "Leaf A" in walker.words
        await walker.press("escape")
        history = walker.app.session.history
        (ec,) = history.records(item="ec")
        history.replace(ec.id, Draft(kind="reading", station="res-1", item="ec", value=1.75, unit="mS/cm",
                                     measured_at=ec.measured_at))  # fmt: skip
        assert open_corrections(walker.app.session) == []
        assert "res-1" in [reservoir.id for reservoir in uncorrected(walker.app.session)]


async def test_another_window_cannot_record_the_same_step(driven: Driver, farm_folder: Path, clock: Any) -> None:
    async with driven(farm_folder) as walker:
        await to_the_correction(walker)
        correction = walker.app.screen.correction
        with Session.open(farm_folder, clock=clock).history as other:
            other.save(Draft(kind="dose", station="res-1", item="well", value=25.0, unit="L", measured_at=clock(),
                             data={"action": "top_up", "correction": correction.id, "step": 1}))  # fmt: skip
        await walker.press("enter")
        assert "written down already" in walker.words
        assert len(walker.app.session.history.records(kind="dose")) == 1


async def test_what_stands_typed_is_taken_before_all_well(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("enter", "down", "down", "down")
        await walker.press("n", "f2")
        (pumps,) = walker.app.session.history.records(item="pumps")
        assert pumps.value is False
        (well,) = walker.app.session.history.records(item="all-well")
        assert "pumps" not in well.data["covers"]


async def to_a_long_correction(walker: Any) -> None:
    """More findings, steps and cautions than have room, with acid in the middle."""
    await read_reservoir(walker)
    session = walker.app.session
    cautions = ["Acid into water.", "Goggles and gloves.", *(f"Caution number {n}, at some length." for n in range(9))]
    acid = STEPS[2] | {"cautions": cautions, "why": "The very last line of it."}
    water = {"action": "top_up", "product": "well", "amount": 1.0, "unit": "L"}
    looks = [water | {"text": f"Step {n}."} for n in "abcdef"]
    findings = [{"text": f"Finding {n}: {'much to be said about it ' * 6}"} for n in range(5)]
    data = {"steps": [acid, *looks], "findings": findings, "assumed": {"volume_l": 173.0}}
    session.save(Draft(kind="correction", measured_at=session.now(), station="res-1", data=data))
    await walker.press("f9")
    await walker.until(lambda: walker.screen == "CorrectionScreen")


async def test_what_to_beware_of_is_seen_before_acid_is_poured_however_much_was_found(
    driven: Driver, farm_folder: Path
) -> None:
    async with driven(farm_folder) as walker:
        await to_a_long_correction(walker)
        assert "! Acid into water. ! Goggles and gloves." in walker.words
        assert "Pour 30 mL of working acid." in walker.words
        assert "Finding 0" in walker.words


async def test_space_reads_on_where_not_all_has_room(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await to_a_long_correction(walker)
        seen = walker.words
        for _ in range(4):
            await walker.press("space")
            seen += walker.words
        assert "The very last line of it." in seen
        assert "Finding 4" in seen
        assert "173 L turn round" in seen
        assert walker.app.session.history.records(kind="dose") == []


async def test_enter_on_another_step_writes_nothing_and_leads_back_to_the_next_one(
    driven: Driver, farm_folder: Path
) -> None:
    async with driven(farm_folder) as walker:
        await to_the_correction(walker)
        await walker.press("down", "down", "enter")
        history = walker.app.session.history
        assert history.records(kind="dose") == []
        assert "Enter is for the step marked ▶" in walker.words
        await walker.press("enter")
        assert [dose.item for dose in history.records(kind="dose")] == ["well"]


async def test_the_next_step_is_seen_whole_whatever_room_a_begun_correction_has(
    driven: Driver, farm_folder: Path
) -> None:
    async with driven(farm_folder) as walker:
        await read_reservoir(walker)
        session = walker.app.session
        long = "Pour 1230 mL of a concentrate with a long name into the return, from a jug of 1000 mL: 1 full, then"
        steps = [STEPS[0] | {"text": f"{long} {n} END{n}."} for n in range(8)]
        findings = [{"text": "Something was found, and much is to be said about it. " * 5}]
        data = {"steps": steps, "findings": findings}
        session.save(Draft(kind="correction", measured_at=session.now(), station="res-1", data=data))
        correction = open_correction_of(session, "res-1")
        for step in correction.steps[:5]:
            correction = record_step(session, correction, step, None, None)
        await walker.press("f9")
        await walker.until(lambda: walker.screen == "CorrectionScreen")
        await walker.settle()
        for rows in (30, 22, 18, 24, 16):
            await walker.resize(80, rows)
            await walker.settle()
            assert "▶ 6" in walker.text, rows
            assert "END5." in walker.text, rows


async def test_a_buffer_dip_after_something_was_poured_leads_on_to_the_next_step(
    driven: Driver, farm_folder: Path, clock: Any
) -> None:
    async with driven(farm_folder) as walker:
        await read_reservoir(walker)
        session = walker.app.session
        dip = {"action": "buffer_dip", "text": "Dip the pH probe in the buffer of 7."}
        data = {"steps": [STEPS[0], dip, STEPS[1], {"action": "read_again", "text": "Read pH and EC again."}, STEPS[2]]}
        session.save(Draft(kind="correction", measured_at=session.now(), station="res-1", data=data))
        await walker.press("f9")
        await walker.until(lambda: walker.screen == "CorrectionScreen")
        clock.go_on(minutes=5)
        await walker.press("enter", "enter")
        await walker.type("6.2", "enter")
        correction = open_correction_of(session, "res-1")
        assert correction.next_step.action == "buffer_dip", "a probe that is wrong is dipped again"
        await walker.press("enter")
        await walker.type("7.02", "enter")
        correction = open_correction_of(session, "res-1")
        assert set(correction.done) == {1, 2, 3}, "the pump runs by itself"
        assert correction.next_step.action == "read_again"
        assert "▶ 4" in walker.text
