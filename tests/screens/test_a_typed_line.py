"""A line typed on the page of a correction is never a yes: an amount, a reading, a command, or a clear sentence."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from rounds.history.record import Draft
from rounds.walk.open_corrections import open_correction_of
from tests import keyboard

Driver = Any
WATER = {"action": "top_up", "product": "well", "amount": 25.0, "unit": "L", "text": "Add 25 L of Well water."}
ACID = {"action": "acid", "product": "nitric-8", "amount": 30.0, "unit": "mL", "text": "Pour 30 mL of working acid."}
PART_A = {"action": "concentrate_a", "product": "leaf-a", "amount": 800.0, "unit": "mL", "text": "Pour 800 mL of A."}
PART_B = {"action": "concentrate_b", "product": "leaf-b", "amount": 800.0, "unit": "mL", "text": "Pour 800 mL of B."}
DIP = {"action": "buffer_dip", "text": "Dip the pH probe in the buffer of 7."}


async def to_the_page(walker: Any, *steps: dict[str, Any]) -> None:
    """Read reservoir one, and open these steps in place of what the advice would say."""
    await walker.press("enter", "plus")
    await walker.type("6.6 1.3 21 31", "enter")
    session = walker.app.session
    session.save(Draft(kind="correction", measured_at=session.now(), station="res-1", data={"steps": list(steps)}))
    await walker.press("f9")
    await walker.until(lambda: walker.screen == "CorrectionScreen")


def written(walker: Any) -> list[tuple[str, object]]:
    kinds = ("dose", "step", "put-off", "given-up")
    return [(r.item, r.value) for r in walker.app.session.history.records() if r.kind in kinds]


def line(walker: Any) -> str:
    return str(walker.app.screen.focused.value)


@pytest.mark.parametrize("typed", ["1.0 +", "hello", "12,3,4", "25 kg", "x", "+", "k", "-5", "25 l 30"])
async def test_what_means_nothing_is_said_and_kept_and_enter_on_it_again_writes_nothing(
    driven: Driver, farm_folder: Path, typed: str
) -> None:
    async with driven(farm_folder) as walker:
        await to_the_page(walker, WATER, PART_A)
        for _ in range(3):
            await (walker.press("enter") if line(walker) else walker.type(typed, "enter"))
            assert written(walker) == []
            assert "✗" in walker.text
            assert line(walker) == typed
            assert walker.screen == "CorrectionScreen"


async def test_a_reading_typed_here_is_taken_at_its_station_and_nothing_is_put_off(
    driven: Driver, farm_folder: Path
) -> None:
    async with driven(farm_folder) as walker:
        await to_the_page(walker, WATER)
        await walker.type("ph 7.1", "enter")
        await walker.until(lambda: walker.screen == "StationScreen")
        assert [r.value for r in walker.app.session.history.records(item="ph")] == [6.6, 7.1]
        assert written(walker) == []
        assert "Saved 1" in walker.words
        assert line(walker) == ""


async def test_a_reading_hard_to_believe_is_asked_about_as_if_it_was_typed_there(
    driven: Driver, farm_folder: Path
) -> None:
    async with driven(farm_folder) as walker:
        await to_the_page(walker, WATER)
        await walker.type("ph 60", "enter")
        await walker.until(lambda: walker.screen == "StationScreen")
        assert "Enter: 6.00 was meant" in walker.words
        assert [r.value for r in walker.app.session.history.records(item="ph")] == [6.6]
        await walker.press("enter")
        assert [r.value for r in walker.app.session.history.records(item="ph")] == [6.6, 6.0]


async def test_of_a_line_that_is_partly_unreadable_the_rest_stands_at_the_station(
    driven: Driver, farm_folder: Path
) -> None:
    async with driven(farm_folder) as walker:
        await to_the_page(walker, WATER)
        await walker.type("ec 1.4 tt 20", "enter")
        await walker.until(lambda: walker.screen == "StationScreen")
        assert [r.value for r in walker.app.session.history.records(item="ec")] == [1.3, 1.4]
        assert line(walker) == "ec 1.4 tt 20"
        assert "nothing has that name here" in walker.words


async def test_a_check_named_here_goes_to_the_station_too(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await to_the_page(walker, WATER)
        await walker.type("lid", "enter")
        await walker.until(lambda: walker.screen == "StationScreen")
        assert [r.value for r in walker.app.session.history.records(item="lid")] == [False]


@pytest.mark.parametrize(("typed", "amount"), [("30", 30.0), ("30 L", 30.0), ("24,5l", 24.5), ("26000 ml", 26.0)])
async def test_a_number_is_what_was_really_added(driven: Driver, farm_folder: Path, typed: str, amount: float) -> None:
    async with driven(farm_folder) as walker:
        await to_the_page(walker, WATER, PART_A)
        await walker.type(typed, "enter")
        assert written(walker) == [("well", amount)]
        assert line(walker) == ""


async def test_a_number_far_above_the_advice_is_asked_for_again(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await to_the_page(walker, WATER, PART_A)
        await walker.type("250", "enter")
        assert "10 times the advice" in walker.words
        await walker.press("escape", "enter")
        assert written(walker) == []
        assert "The line is empty now" in walker.words
        await walker.type("250", "enter")
        await walker.type("250", "enter")
        assert written(walker) == [("well", 250.0)]


async def test_typed_and_erased_the_first_enter_only_says_so(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await to_the_page(walker, WATER, PART_A)
        await walker.type("2", "backspace", "enter")
        assert written(walker) == []
        assert "The line is empty now: Enter once more says that step 1 was done" in walker.words
        await walker.press("enter")
        assert written(walker) == [("well", 25.0)]
        await walker.press("enter")
        assert written(walker) == [("well", 25.0), ("leaf-a", 800.0)], "at the next step nothing was typed"


async def test_acid_is_confirmed_by_what_was_poured_and_never_by_enter_alone(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await to_the_page(walker, ACID, WATER)
        for _ in range(3):
            await walker.press("enter")
            assert "Type the mL you poured, such as 30, then Enter." in walker.words
        await walker.type("9", "backspace", "enter", "enter")
        assert written(walker) == []
        await walker.type("100", "enter")
        assert "3.3 times the advice" in walker.words
        await walker.press("escape")
        assert written(walker) == []
        await walker.type("28", "enter")
        assert written(walker) == [("nitric-8", 28.0)]


async def test_acid_before_the_water_has_mixed_is_asked_about_with_its_amount(
    driven: Driver, farm_folder: Path
) -> None:
    async with driven(farm_folder) as walker:
        await to_the_page(walker, WATER, {"action": "circulate", "wait_min": 10, "text": "Mix."}, ACID)
        await walker.press("enter")
        await walker.type("28", "enter")
        assert "It has not mixed yet. y, then Enter: these 28 mL were really done already." in walker.words
        assert ("nitric-8", 28.0) not in written(walker)
        await walker.type("y", "enter")
        assert written(walker)[-1] == ("nitric-8", 28.0)


async def test_at_the_buffer_a_number_is_what_the_meter_shows(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await to_the_page(walker, DIP, ACID)
        await walker.type("70", "enter")
        assert "A pH of 70 cannot be" in walker.words
        assert line(walker) == "70"
        await walker.type("7.02", "enter")
        assert [r.value for r in walker.app.session.history.records(item="buffer")] == [7.02]


async def test_letters_are_text_and_a_letter_with_enter_is_its_command(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await to_the_page(walker, WATER)
        for key in ("Enter done as advised", "e other amount", "p put off", "w working"):
            assert key in walker.words
        await walker.type("p")
        assert walker.screen == "CorrectionScreen"
        assert line(walker) == "p"
        await walker.press("f1")
        assert "e Enter other amount" in walker.words
        await walker.press("escape", "enter")
        assert walker.screen == "PromptScreen"


async def test_space_reads_on_while_the_line_is_empty_and_is_text_behind_something(
    driven: Driver, farm_folder: Path
) -> None:
    async with driven(farm_folder) as walker:
        await to_the_page(walker, WATER)
        await walker.press("space")
        assert line(walker) == ""
        await walker.press("enter")
        assert written(walker) == [("well", 25.0)], "nothing was typed"
        await walker.type("ec 1")
        assert line(walker) == "ec 1"


@pytest.mark.parametrize("size", [(80, 24), (140, 40), (40, 12)], ids=["80x24", "140x40", "40x12"])
async def test_the_line_and_its_keys_are_seen_whatever_the_room(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await to_the_page(walker, ACID, WATER)
        await walker.type("28")
        screen = walker.app.screen
        assert screen.region.contains_region(screen.focused.region)
        assert screen.focused.region.bottom <= screen.query_one("KeyLine").region.y
        assert "▶ 28" in walker.text
        assert "EMERGENCY" in walker.text
        await walker.press("enter")
        assert written(walker) == [("nitric-8", 28.0)]


async def to_half_a_pair(walker: Any, clock: Any) -> None:
    """A was poured, B not, and hours went by; then the app was opened again."""
    await to_the_page(walker, PART_A, PART_B)
    await walker.press("enter")
    assert written(walker) == [("leaf-a", 800.0)]
    clock.go_on(hours=5)
    await walker.press("escape", "escape")
    await walker.until(lambda: walker.screen == "WalkScreen")


@keyboard.at_both_sizes
async def test_a_that_went_in_alone_stands_first_and_enter_leads_to_its_b(
    driven: Driver, farm_folder: Path, clock: Any
) -> None:
    async with driven(farm_folder) as walker:
        await to_half_a_pair(walker, clock)
    async with driven(farm_folder) as walker:
        told = "! Pour 800 mL of B into Reservoir one: A went in alone at 06:00"
        assert walker.text.splitlines()[1].strip() == told
        await walker.press("enter")
        await walker.until(lambda: walker.screen == "CorrectionScreen")
        step = walker.app.screen.correction.next_step
        assert (step.action, step.amount) == ("concentrate_b", 800.0)
        assert "g give up B" in walker.words
        await walker.press("enter", "escape", "escape")
        await walker.until(lambda: walker.screen == "WalkScreen")
        assert "went in alone" not in walker.words


async def test_b_is_given_up_only_with_a_reason_and_put_off_is_not_given_up(
    driven: Driver, farm_folder: Path, clock: Any
) -> None:
    async with driven(farm_folder) as walker:
        await to_half_a_pair(walker, clock)
        await walker.press("enter")
        await walker.until(lambda: walker.screen == "CorrectionScreen")
        await walker.type("p", "enter")
        await walker.type("no light", "enter")
        await walker.press("escape")
        await walker.until(lambda: walker.screen == "WalkScreen")
        assert "A went in alone" in walker.words
        await walker.press("enter")
        await walker.type("g", "enter", "enter")
        assert walker.screen == "PromptScreen", "an empty reason is none"
        await walker.type("drum burst", "enter")
        await walker.until(lambda: walker.screen != "PromptScreen")
        assert [(r.note, r.item) for r in walker.app.session.history.records(kind="given-up")] == [
            ("drum burst", "leaf-b")
        ]
        assert open_correction_of(walker.app.session, "res-1") is None
        await walker.press("escape")
        await walker.until(lambda: walker.screen == "WalkScreen")
        assert "went in alone" not in walker.words
        await walker.press("d")
        assert "Leaf B given up" in walker.words
