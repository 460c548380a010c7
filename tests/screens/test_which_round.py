"""The keys of the first screen act on the round that it shows; a card typed in counts at the time written on it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from rounds.walk.round import start_round
from rounds.walk.session import Session


def begin(farm_folder: Path, clock: Any, *names: str) -> None:
    session = Session.open(farm_folder, clock=clock)
    for name in names:
        start_round(session, name)
    session.history.close()


async def test_close_closes_the_round_that_is_shown(driven: Any, farm_folder: Path, clock: Any) -> None:
    clock.go_on(hours=10)
    begin(farm_folder, clock, "morning", "dusk")
    async with driven(farm_folder) as walker:
        await walker.press("a", "a", "c")
        assert "The dusk round" in walker.text
        await walker.press("enter")
        assert walker.screen == "WalkScreen"
        closed = [r.item for r in walker.app.session.history.records(kind="round") if r.value == "closed"]
        assert closed == ["dusk"]


async def test_a_round_that_was_left_stays_the_one_that_is_shown(driven: Any, farm_folder: Path, clock: Any) -> None:
    clock.go_on(hours=10)
    begin(farm_folder, clock, "morning")
    async with driven(farm_folder) as walker:
        await walker.press("a", "a", "enter", "escape")
        assert walker.app.guide.round_id == "2026-11-25-dusk"
        await walker.press("c")
        assert "The dusk round" in walker.text


async def test_a_station_opened_out_of_turn_belongs_to_the_round_that_is_shown(
    driven: Any, farm_folder: Path, clock: Any
) -> None:
    clock.go_on(hours=10)
    begin(farm_folder, clock, "morning", "dusk")
    async with driven(farm_folder) as walker:
        await walker.press("o")
        assert walker.app.screen.visit.round_id == "2026-11-25-morning"
        await walker.press("escape", "a", "a", "home", "o")
        assert walker.app.screen.visit.round_id == "2026-11-25-dusk"
        asked = {line.item.id for line in walker.app.screen.visit.stop.open_lines}
        dusk = {i.id for i in walker.app.session.items(walker.app.screen.visit.stop.station) if "dusk" in i.rounds}
        assert asked and asked <= dusk


async def test_a_round_that_is_not_open_lends_its_items_but_no_number(
    driven: Any, farm_folder: Path, clock: Any
) -> None:
    clock.go_on(hours=10)
    begin(farm_folder, clock, "morning")
    async with driven(farm_folder) as walker:
        await walker.press("a", "a", "home", "o")
        assert walker.app.guide.round_name == "dusk"
        assert walker.app.screen.visit.round_id is None


async def test_the_card_is_that_of_the_round_that_is_shown(driven: Any, farm_folder: Path, clock: Any) -> None:
    clock.go_on(hours=10)
    begin(farm_folder, clock, "morning", "dusk")
    async with driven(farm_folder) as walker:
        await walker.press("a", "a", "i")
        assert walker.screen == "GridScreen"
        assert {visit.round_id for visit in walker.app.screen._visits} <= {"2026-11-25-dusk"}
        asked = {line.item.id for visit in walker.app.screen._visits for line in visit.stop.open_lines}
        await walker.press("escape", "a", "i")
        mornings = {line.item.id for visit in walker.app.screen._visits for line in visit.stop.open_lines}
        assert asked != mornings


@pytest.mark.parametrize("typed", ["04:10", "4:10", "4.10", "0410", "410"])
async def test_the_time_of_the_card_holds_without_enter(driven: Any, farm_folder: Path, typed: str) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("i")
        await walker.type(typed, "down")
        await walker.type("6.0", "enter")
        (reading,) = walker.app.session.history.records(kind="reading")
        assert (reading.item, f"{reading.measured_at:%H:%M}") == ("ph", "04:10")


@pytest.mark.parametrize("typed", ["06:01", "24:10", "4:60", "dawn", ""])
async def test_nothing_is_taken_under_a_time_that_cannot_be(driven: Any, farm_folder: Path, typed: str) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("i", "delete")
        await walker.type(typed, "down")
        await walker.type("6.0", "enter", "f2")
        assert not walker.app.session.history.records()
        assert "A time such as 07:10" in walker.words


async def test_another_round_is_chosen_for_one_day_only(driven: Any, farm_folder: Path, clock: Any) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("a", "a")
        assert walker.app.screen.round_name == "dusk"
        clock.go_on(days=1)
        assert walker.app.screen.round_name == "morning"


async def test_yesterdays_round_that_was_left_open_is_told_and_c_closes_it(
    driven: Any, farm_folder: Path, clock: Any
) -> None:
    clock.go_on(hours=17)
    begin(farm_folder, clock, "dusk")
    clock.go_on(hours=8)
    async with driven(farm_folder) as walker:
        assert "The dusk round of 25 November was left open: c closes it." in walker.words
        await walker.press("c")
        assert "The dusk round of 25 November" in walker.text.splitlines()[0]
        await walker.press("enter")
        assert "left open" not in walker.words
        closed = walker.app.session.history.latest_by_item()["", "dusk"]
        assert (closed.round_id, closed.value) == ("2026-11-25-dusk", "closed")


async def test_the_next_round_closes_what_was_left_open_and_says_so(driven: Any, farm_folder: Path, clock: Any) -> None:
    clock.go_on(hours=17)
    begin(farm_folder, clock, "dusk")
    clock.go_on(hours=8)
    async with driven(farm_folder) as walker:
        await walker.press("enter")
        await walker.until(lambda: "The dusk round of 25 November was" in walker.words)
        rounds = [(r.round_id, r.value) for r in walker.app.session.history.records(kind="round")]
        assert rounds == [
            ("2026-11-25-dusk", "started"), ("2026-11-25-dusk", "closed"), ("2026-11-26-morning", "started"),
        ]  # fmt: skip
