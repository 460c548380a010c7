"""A or B that went in alone: its other half is owed until it is poured, the reservoir renewed, or it is given up."""

from __future__ import annotations

import dataclasses
from datetime import timedelta
from typing import Any

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from light_farm import CONCENTRATES, MORNING, Note, a_farm, buffer_dip, rain_water

from rounds.advice.correction import Readings, correct
from rounds.book.half_pair import half_pair
from rounds.book.open_pairs import OpenPairs


def dose(
    part: str, ml: float, hours: float = 14.0, *, of: str = "", advised: float | None = None, name: str = ""
) -> Note:
    data = {"action": f"concentrate_{part}", "correction": of or None, "advised": advised}
    return Note(kind="dose", item=part, value=ml, unit="mL", measured_at=MORNING - timedelta(hours=hours), data=data,
                id=name or f"{part}{hours}{of}")  # fmt: skip


def change_out(hours: float, litres: float = 320.0) -> Note:
    at = MORNING - timedelta(hours=hours)
    return Note(kind="dose", item="rain", value=litres, unit="L", measured_at=at, data={"action": "change_out"})


def offer(name: str, a: float, b: float, hours: float = 15.0) -> Note:
    steps = [{"action": f"concentrate_{part}", "amount": ml, "unit": "mL"} for part, ml in (("a", a), ("b", b))]
    return Note(kind="correction", measured_at=MORNING - timedelta(hours=hours), data={"steps": steps}, id=name)


def owed(*records: Note, farm: Any = None) -> tuple[str, float] | None:
    farm = farm or a_farm()
    found = half_pair(farm, farm.reservoir("r"), records, MORNING)
    return (found.missing, round(found.owed_ml, 3)) if found else None


@pytest.mark.parametrize("hours", [1.0, 14.0, 24 * 90.0])
def test_what_went_in_alone_is_owed_however_long_ago(hours: float) -> None:
    assert owed(change_out(hours + 1.0), dose("a", 800.0, hours)) == ("B", 800.0)
    assert owed(dose("b", 800.0, hours)) == ("A", 800.0)


def test_both_halves_in_either_order_and_at_one_time_owe_nothing() -> None:
    assert owed(dose("a", 800.0, 14.0), dose("b", 790.0, 13.9)) is None
    assert owed(dose("b", 800.0, 14.0), dose("a", 800.0, 14.0)) is None


def test_an_amount_of_nothing_was_not_poured() -> None:
    assert owed(dose("a", 800.0, 14.0), dose("b", 0.0, 13.0)) == ("B", 800.0)
    assert owed(dose("a", 0.0, 14.0)) is None
    assert owed(dose("a", 800.0, 14.0), change_out(13.0, 0.0)) == ("B", 800.0)


def test_the_other_half_is_in_the_proportion_that_was_advised() -> None:
    assert owed(offer("c", 800.0, 400.0), dose("a", 400.0, of="c", advised=800.0)) == ("B", 200.0)


def test_without_its_correction_the_other_half_is_in_the_proportion_of_the_feed() -> None:
    farm = a_farm()
    farm = dataclasses.replace(farm, feeds={"feed": msgspec.structs.replace(farm.feeds["feed"], b_ml_per_l=5)})
    assert owed(dose("a", 400.0), farm=farm) == ("B", 200.0)
    assert owed(dose("b", 400.0), farm=farm) == ("A", 800.0)


def test_of_two_pours_of_a_and_one_of_b_one_is_still_half() -> None:
    assert owed(dose("a", 300.0, 14.0), dose("a", 300.0, 10.0), dose("b", 300.0, 9.0)) == ("B", 300.0)
    assert owed(dose("a", 300.0, 14.0), dose("a", 300.0, 10.0), dose("b", 600.0, 9.0)) is None


def test_b_belongs_to_the_a_of_its_own_correction_first() -> None:
    records = [dose("a", 500.0, 14.0, of="one"), dose("a", 300.0, 10.0, of="two"), dose("b", 300.0, 9.0, of="two")]
    assert owed(*records) == ("B", 500.0)


def test_less_than_half_of_b_leaves_the_rest_owed_and_more_ends_it() -> None:
    assert owed(dose("a", 800.0, 14.0), dose("b", 300.0, 13.0)) == ("B", 500.0)
    assert owed(dose("a", 800.0, 14.0), dose("b", 300.0, 13.0), dose("b", 490.0, 12.0)) is None
    assert owed(dose("a", 800.0, 14.0), dose("b", 400.0, 13.0)) is None


def test_a_change_out_ends_it_and_what_follows_it_begins_anew() -> None:
    assert owed(dose("a", 800.0, 14.0), change_out(13.0)) is None
    assert owed(dose("a", 800.0, 14.0), change_out(13.0), dose("a", 900.0, 12.0)) == ("B", 900.0)


def test_given_up_with_a_reason_it_is_owed_no_more_and_a_later_one_is() -> None:
    given_up = Note(kind="given-up", measured_at=MORNING - timedelta(hours=5), note="drum burst", data={"doses": ["x"]})
    assert owed(dose("a", 800.0, name="x"), given_up) is None
    assert owed(dose("a", 800.0, name="x"), given_up, dose("a", 90.0, 2.0, name="y")) == ("B", 90.0)
    assert owed(dose("a", 800.0, name="x"), Note(kind="put-off", measured_at=MORNING)) == ("B", 800.0)


def test_what_another_reservoir_got_is_its_own() -> None:
    assert owed(dataclasses.replace(dose("a", 800.0), station="other")) is None


def read(**other: Any) -> Readings:
    return Readings(**{"at": MORNING, "ph": 6.9, "ec_ms_cm": 1.2, "temperature_c": 20.0, "volume_l": 280.0, **other})


ALONE = [change_out(20.0), dose("a", 800.0, 14.0)]


def plan(records: list[Note], readings: Readings, **farm: Any) -> Any:
    return correct(a_farm(waters=(rain_water(),), **farm), [*records, buffer_dip()], "r", readings, MORNING)


@pytest.mark.parametrize("readings", [read(), read(ph=None), read(ec_ms_cm=None), Readings(at=MORNING)])
def test_the_next_plan_pours_what_is_owed_and_nothing_else_whatever_was_read(readings: Readings) -> None:
    found = plan(ALONE, readings)
    assert [step.action for step in found.steps] == ["concentrate_b", "circulate", "read_again"]
    assert (found.steps[0].product, found.steps[0].amount, found.steps[0].unit) == ("b", 800.0, "mL")
    assert "A went in alone on 9 June at 18:00" in found.steps[0].why
    assert found.findings[0].code == "half-pair"
    assert "800 mL of B" in found.findings[0].text


def test_once_it_is_in_the_plan_is_the_usual_one_again() -> None:
    found = plan([*ALONE, dose("b", 800.0, 13.0)], read(ph=6.3))
    assert "concentrate_a" in [step.action for step in found.steps]


def test_what_was_poured_last_mixes_before_the_other_half_comes() -> None:
    found = plan([change_out(20.0), dose("a", 800.0, 0.1)], read())
    assert [step.action for step in found.steps] == ["circulate", "read_again"]
    assert found.refusals[0].code == "still-mixing"
    assert "B are still owed" in found.findings[0].text


def test_where_the_drum_holds_too_little_it_is_said_and_what_there_is_goes_in() -> None:
    a, b = CONCENTRATES
    found = plan(ALONE, read(), products=(a, msgspec.structs.replace(b, amount=0.3)))
    assert found.steps[0].amount == 300.0
    assert any("only 300 mL of the 800 mL owed" in finding.text for finding in found.findings)
    found = plan(ALONE, read(), products=(a, msgspec.structs.replace(b, amount=0.0)))
    assert found.steps == ()
    assert "800 mL of B are owed, and there is no Concentrate B left" in found.refusals[0].text


def test_far_too_much_a_is_thinned_and_not_answered_with_far_too_much_b() -> None:
    found = plan([change_out(20.0), dose("a", 9000.0, 14.0)], read(ec_ms_cm=4.5), products=CONCENTRATES)
    actions = [step.action for step in found.steps]
    assert actions[0] in ("drain_off", "top_up", "change_out")
    assert found.refusals[0].code == "half-pair-too-strong"


def test_far_too_much_a_and_no_reading_asks_for_the_ec_first() -> None:
    found = plan([change_out(20.0), dose("a", 9000.0, 14.0)], Readings(at=MORNING), products=CONCENTRATES)
    assert [step.action for step in found.steps] == ["read_again"]
    assert found.refusals[0].instead == "Read the EC first."


LINES = st.lists(
    st.tuples(
        st.sampled_from(["a", "a", "b", "b", "both", "offer", "change-out", "given-up"]),
        st.integers(0, 9),
        st.sampled_from([5.0, 100.0, 390.0, 400.0, 800.0]),
    ),
    max_size=25,
)


def written(lines: list[tuple[str, int, float]]) -> list[Note]:
    """Records in order of time, an hour apart; a dose belongs to the last correction there was."""
    records: list[Note] = []
    for number, (what, pick, ml) in enumerate(lines):
        hours = 100.0 - number
        offers = [each.id for each in records if each.kind == "correction"]
        of = offers[-1] if offers and pick % 2 else ""
        poured = [each.id for each in records if each.kind == "dose"]
        if what in ("a", "b", "both"):
            parts = "ab" if what == "both" else what
            records += [dose(part, ml, hours, of=of, name=f"{part}-{number}") for part in parts]
        elif what == "offer":
            records.append(offer(f"offer-{number}", ml, 400.0 if pick % 3 else 0.0, hours))
        elif what == "change-out":
            records.append(change_out(hours, 0.0 if pick == 0 else 320.0))
        elif poured:
            given = {"doses": [poured[pick % len(poured)]]}
            records.append(Note(kind="given-up", measured_at=MORNING - timedelta(hours=hours), data=given))
    return records


@settings(max_examples=400)
@given(LINES)
def test_the_fold_over_the_record_knows_where_anything_waits_and_from_when_on_it_must_be_read(
    lines: list[tuple[str, int, float]],
) -> None:
    farm, records = a_farm(), written(lines)
    fold = OpenPairs(farm)
    state = fold.empty()
    for record in records:
        state = fold.step(state, record)
        state = msgspec.json.decode(msgspec.json.encode(state), type=type(state))
    whole, since = half_pair(farm, farm.reservoir("r"), records, MORNING), state.open_since("r")
    assert (since is None) == (whole is None)
    if since is not None:
        read_again = [each for each in records if each.kind == "correction" or each.measured_at >= since]
        assert half_pair(farm, farm.reservoir("r"), read_again, MORNING) == whole


def test_the_fold_is_another_one_where_the_feed_was_changed_and_the_same_where_a_bottle_was_counted() -> None:
    farm = a_farm()
    stronger = {"feed": msgspec.structs.replace(farm.feeds["feed"], b_ml_per_l=5)}
    counted = {id: msgspec.structs.replace(each, amount=1.0) for id, each in farm.shelf.items()}
    version = OpenPairs(farm).version
    assert OpenPairs(dataclasses.replace(farm, feeds=stronger)).version != version
    assert OpenPairs(dataclasses.replace(farm, shelf=counted)).version == version
