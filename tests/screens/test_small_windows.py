"""A window of 40 by 12: what is asked, where it is typed, what came of it, and whom to call are still to be seen."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from rounds.history.record import Draft
from rounds.walk.session import Session
from rounds.widgets.head import Head
from rounds.widgets.item_row import ItemRow

small = pytest.mark.parametrize("size", [(40, 12), (60, 20)], ids=["40x12", "60x20"])


@small
async def test_every_row_shows_what_it_asks_and_its_field_and_its_judgement(driven: Any, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("enter", "plus")
        await walker.type("ph 6.0", "enter")
        rows = list(walker.app.screen.query(ItemRow))
        assert rows
        for row in rows:
            parts = [row.query_one(".label"), row.field, row.query_one(".said")]
            assert all(part.region.right <= walker.app.size.width for part in parts)
            assert parts[0].size.width + parts[0].styles.padding.width >= 12
            assert parts[1].size.width >= 5
            assert parts[2].size.width >= 12
        assert "5.60 to 6.20" in walker.text


async def test_the_last_answer_comes_back_with_the_room_for_it(driven: Any, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("enter", "plus")
        row = walker.app.screen.query(ItemRow).first()
        assert row.query_one(".last").display
        await walker.resize(40, 12)
        await walker.settle()
        assert not row.query_one(".last").display
        await walker.resize(80, 24)
        await walker.settle()
        assert row.query_one(".last").display


@small
async def test_the_fields_of_the_card_are_on_the_screen(driven: Any, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("i", "enter")
        await walker.type("6.0", "enter")
        row = walker.app.screen.query("GridRow").first()
        for part in ("QuickLine", ".label", ".said"):
            assert row.query_one(part).size.width >= 7
            assert row.query_one(part).region.right <= walker.app.size.width


@pytest.mark.parametrize("size", [(40, 20)], ids=["40x20"])
async def test_a_narrow_card_still_tells_one_station_from_the_other(driven: Any, farm_folder: Path) -> None:
    text = (farm_folder / "farm.toml").read_text(encoding="utf-8")
    renamed = text.replace("Channel one", "Channel 11").replace("Channel two", "Channel 12")
    (farm_folder / "farm.toml").write_text(renamed, encoding="utf-8")
    async with driven(farm_folder) as walker:
        await walker.press("i")
        shown = [line.split()[:2] for line in walker.text.splitlines() if "Channel" in line]
        assert shown == [["Channel", "11"], ["Channel", "12"]] * 2
        assert all("off" in line for line in walker.text.splitlines() if "Channel" in line and "Flow" not in line)


@pytest.mark.parametrize("size", [(40, 12), (30, 10)], ids=["40x12", "30x10"])
@pytest.mark.parametrize("keys", [(), ("enter",), ("enter", "plus"), ("d",), ("i",), ("b",)])
async def test_whom_to_call_is_always_on_the_key_line(driven: Any, farm_folder: Path, keys: tuple[str, ...]) -> None:
    async with driven(farm_folder) as walker:
        await walker.press(*keys)
        assert "EMERGENCY" in walker.text


async def test_a_head_may_be_told_of_a_wait_before_its_lines_are_there(driven: Any, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        head = Head("New")
        head.say_waits("⧗ Reservoir one mixes")
        await walker.app.screen.mount(head)
        await walker.settle()
        assert "⧗ Reservoir one mixes" in walker.text


async def test_waits_that_have_no_room_are_counted_not_cut(driven: Any, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        one, other = "⧗ Reservoir 1, lettuce mixes 14:17, then the next step", "Reservoir 3, herbs mixes 39:00, then it"
        head = walker.app.screen.query_one(Head)
        walker.app.mixing.countdown = lambda: f"{one} · {other}"
        head.say_waits(f"{one} · {other}")
        await walker.settle()
        assert f"{one} · and 1 more" in walker.text
        assert "Reservoir 3" not in walker.text
        await walker.resize(120, 24)
        await walker.settle()
        assert f"{one} · {other}" in walker.text


@pytest.mark.parametrize("size", [(40, 24), (52, 16), (66, 24)], ids=["40x24", "52x16", "66x24"])
async def test_each_station_has_one_line_with_its_name_and_what_is_due(driven: Any, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        due = {each.name: len(each.items) for each in walker.app.session.due("morning")}
        for name, count in due.items():
            (line,) = [line for line in walker.text.splitlines() if line.startswith(f"• {name}")]
            assert f"{count} due" in line


@pytest.mark.parametrize("size", [(40, 24)], ids=["40x24"])
async def test_an_overdue_sick_station_with_a_long_name_stays_on_one_line(
    driven: Any, farm_folder: Path, clock: Any
) -> None:
    text = (farm_folder / "farm.toml").read_text(encoding="utf-8")
    name = "The second channel behind the old apple tree"
    (farm_folder / "farm.toml").write_text(text.replace("Channel two", name), encoding="utf-8")
    session = Session.open(farm_folder, clock=clock)
    moment = clock() - timedelta(days=30)
    session.save(Draft(kind="reading", station="ch-2", item="flow", value=1.2, unit="L/min", measured_at=moment))
    session.history.close()
    async with driven(farm_folder) as walker:
        (line,) = [line for line in walker.text.splitlines() if line.startswith("• The second")]
        assert "… (sick)" in line
        assert "d late" in line


@pytest.mark.parametrize("size", [(40, 24)], ids=["40x24"])
async def test_what_begins_the_round_and_when_it_is_stand_on_a_narrow_screen(driven: Any, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        assert "25 Nov · morning 06:00" in walker.text.splitlines()[0]
        assert "Test farm" in walker.text.splitlines()[0]
        assert "Enter starts morning." in walker.words
        await walker.press("enter", "escape")
        assert "Since 06:00" in walker.words
        assert "Enter goes on." in walker.words


async def test_a_window_made_narrow_is_written_anew(driven: Any, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        assert "Wednesday 25 November 2026" in walker.text
        await walker.resize(40, 24)
        await walker.until(lambda: "25 Nov · morning" in walker.text)
        await walker.resize(80, 24)
        await walker.until(lambda: "Wednesday 25 November 2026" in walker.text)
