"""Doings typed on the page of a station and of a correction: one key saves, Esc leaves, no step is done by it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from rounds.history.record import Draft
from rounds.screens.station import StationScreen
from rounds.walk.open_corrections import open_correction_of

Driver = Any
WATER = {"action": "top_up", "product": "well", "amount": 25.0, "unit": "L", "text": "Add 25 L of Well water."}


async def to_the_reservoir(walker: Any) -> None:
    await walker.press("enter", "plus")
    await walker.until(lambda: walker.screen == "StationScreen")


def doses(walker: Any) -> list[tuple[str, Any]]:
    return [(r.item, r.value) for r in walker.app.session.history.records(kind="dose")]


async def test_what_was_understood_stands_there_before_enter_saves_it(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await to_the_reservoir(walker)
        await walker.type("topped 20", "enter")
        assert "understood: 20 L of Well water topped up. Enter saves it, Esc leaves it." in walker.words
        assert doses(walker) == []
        await walker.press("enter")
        assert doses(walker) == [("well", 20.0)]
        assert "Saved: 20 L of Well water topped up." in walker.words
        await walker.press("f6")
        assert doses(walker) == []


async def test_esc_leaves_it_and_stays_at_the_station(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await to_the_reservoir(walker)
        await walker.type("drained 20", "enter")
        await walker.press("escape")
        assert walker.screen == "StationScreen" and "nothing is written" in walker.words
        await walker.type("topped 5", "enter")
        await walker.press("plus")
        assert "not saved yet" in walker.words
        await walker.press("escape")
        assert doses(walker) == []


async def test_a_line_that_cannot_be_stays_to_be_put_right(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await to_the_reservoir(walker)
        await walker.type("dead 1", "enter")
        assert "`dead` makes no sense at Reservoir one" in walker.words
        assert walker.app.screen.focused.value == "dead 1"


async def test_one_key_says_what_it_was_that_rose(driven: Driver, farm_folder: Path, clock: Any) -> None:
    async with driven(farm_folder) as walker:
        session = walker.app.session
        session.save(Draft(kind="reading", station="res-1", item="dip", value=30.0, measured_at=session.now()))
        clock.go_on(hours=1)
        await to_the_reservoir(walker)
        await walker.type("6.0 1.7 21 36", "enter")
        assert "The dip rose by 6.0 cm, 30 L more than is on record" in walker.words
        await walker.press("2")
        await walker.until(lambda: doses(walker) == [("well", 30.0)])
        assert "Saved: 30 L of Well water topped up (float valve)." in walker.words


async def test_a_digit_typed_before_the_question_could_be_read_waits_for_enter(
    driven: Driver, farm_folder: Path, clock: Any, monkeypatch: Any
) -> None:
    monkeypatch.setattr(StationScreen, "settle_s", 60.0)
    async with driven(farm_folder) as walker:
        session = walker.app.session
        session.save(Draft(kind="reading", station="res-1", item="dip", value=30.0, measured_at=session.now()))
        clock.go_on(hours=1)
        await to_the_reservoir(walker)
        await walker.type("6.0 1.7 21 36", "enter")
        await walker.type("21")
        assert doses(walker) == [] and walker.app.screen.focused.value == "21"


async def test_on_the_page_of_a_correction_enter_saves_the_doing_and_no_step(
    driven: Driver, farm_folder: Path, clock: Any
) -> None:
    async with driven(farm_folder) as walker:
        await to_the_reservoir(walker)
        await walker.type("6.6 1.3 21 31", "enter")
        session = walker.app.session
        session.save(Draft(kind="correction", measured_at=session.now(), station="res-1", data={"steps": [WATER]}))
        await walker.press("f9")
        await walker.until(lambda: walker.screen == "CorrectionScreen")
        clock.go_on(minutes=1)
        await walker.type("cleaned strainer", "enter")
        assert "understood: Cleaned (strainer)" in walker.words
        await walker.press("enter")
        assert "Saved: Cleaned (strainer)" in walker.words and doses(walker) == []
        await walker.press("enter")
        assert doses(walker) == [], "an Enter too many is asked about"
        await walker.type("drained 12", "enter")
        await walker.press("enter")
        await walker.until(lambda: walker.screen == "StationScreen")
        assert doses(walker) == [("", 12.0)] and open_correction_of(session, "res-1") is None


async def test_the_twelve_verbs_stand_in_the_help(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await to_the_reservoir(walker)
        await walker.resize(80, 50)
        await walker.press("f1")
        assert "topped 20" in walker.words and "dead 1" in walker.words


async def test_a_doing_that_is_refused_does_not_hold_anybody_at_its_station(driven: Driver, farm_folder: Path) -> None:
    """Esc says once more why it is not written down; the second one leaves."""
    async with driven(farm_folder) as walker:
        await walker.press("enter", "plus")
        where = walker.app.screen
        await walker.type("dead 400", "enter")
        assert walker.screen == "StationScreen" and "✗" in walker.text
        await walker.press("escape")
        assert walker.app.screen is where and "✗" in walker.text
        await walker.press("escape")
        assert walker.screen == "WalkScreen"
        assert not [r for r in walker.app.session.history.records() if r.kind == "doing"]
