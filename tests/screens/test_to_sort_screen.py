"""Still to sort: on the first screen what there is room for, all of it on a page of its own, settled by a digit."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from rounds.history.record import Draft
from rounds.history.store import History
from tests import keyboard

Driver = Any
OFF = (
    ("hens", "perch", 11), ("ch-1", "wilt", False), ("ch-2", "wilt", False), ("ch-1", "light", False),
    ("ch-2", "supports", False), ("res-1", "strainer", False), ("res-1", "look", "foam"), ("hens", "mites", False),
)  # fmt: skip


@pytest.fixture
def much(farm_folder: Path, clock: Any) -> Path:
    """A farm on which seven things are still to sort since yesterday; wilting is told as one."""
    with History.open(farm_folder / "history", now=clock) as history:
        for n, (station, item, value) in enumerate(OFF):
            at = clock() - timedelta(hours=20, minutes=n)
            history.save(Draft(kind="check", station=station, item=item, value=value, measured_at=at))
    return farm_folder


def section(text: str) -> list[str]:
    """The lines of the first screen from its heading to the first station."""
    lines = [line.strip() for line in text.splitlines()]
    return lines[lines.index("Still to sort") : next(n for n, line in enumerate(lines) if line.startswith("•"))]


@keyboard.at_both_sizes
async def test_the_first_screen_tells_the_worst_and_how_many_more(
    driven: Driver, much: Path, size: tuple[int, int]
) -> None:
    async with driven(much) as walker:
        await walker.until(lambda: "Still to sort" in walker.text)
        told = section(walker.text)
        most = 3 if size == (80, 24) else 5
        assert told[-1] == f"and {7 - most} more" and len(told) == most + 2
        assert told[1].startswith("! Hen house: Look for 1 bird missing") and told[1].endswith("yesterday 10:00")
        assert told[2].startswith("! Look again: wilting seen in Channel one and Channel two")


async def test_where_nothing_is_open_nothing_is_told(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await walker.settle()
        assert "Still to sort" not in walker.text
        await walker.press("j")
        await walker.until(lambda: "Nothing is still to sort." in walker.text)
        await walker.press("1", "p", "enter", "escape")
        assert walker.screen == "WalkScreen"


@keyboard.at_both_sizes
async def test_the_list_tells_evidence_causes_and_what_closes_it(driven: Driver, much: Path) -> None:
    async with driven(much) as walker:
        await walker.press("j")
        await walker.until(lambda: walker.screen == "ToSortScreen")
        assert "Still to sort 7, the worst first" in walker.words
        for told in ("Seen 11 of 12 counted on the perch", "Could be Look outside before it is dark", "type dead 1",
                     "At risk birds, any time", "Close it because", "1 found, all are there"):  # fmt: skip
            assert told in walker.words, walker.text
        await walker.press("down")
        await walker.until(lambda: "Channel two: wilting seen" in walker.words)


async def test_a_digit_closes_it_and_undo_takes_it_back(driven: Driver, much: Path) -> None:
    async with driven(much) as walker:
        await walker.press("j", "down", "1")
        await walker.until(lambda: "6, the worst first" in walker.words)
        assert "Settled: Look again: wilting seen" in walker.words
        assert {r.item for r in walker.app.session.history.records(kind="settled")} == {
            "off:ch-1:wilt",
            "off:ch-2:wilt",
        }
        await walker.press("u")
        await walker.until(lambda: "7, the worst first" in walker.words)


async def test_a_reason_of_ones_own_and_a_day_are_asked_for(driven: Driver, much: Path) -> None:
    async with driven(much) as walker:
        await walker.press("j", "down", "4")
        await walker.type("watered by hand", "enter")
        await walker.until(lambda: "6, the worst first" in walker.words)
        assert walker.app.session.history.records(kind="settled")[0].note == "watered by hand"
        await walker.press("down", "p")
        await walker.type("someday", "enter")
        assert "is no day" in walker.words
        await walker.press(*["backspace"] * 7)
        await walker.type("thu", "enter")
        await walker.until(lambda: "Left for later:" in walker.words and "5, the worst first" in walker.words)


async def test_animals_do_not_wait(driven: Driver, much: Path) -> None:
    async with driven(much) as walker:
        await walker.press("j", "p")
        await walker.until(lambda: "People and animals do not wait" in walker.words)
        assert walker.screen == "ToSortScreen"


async def test_enter_opens_the_station_where_it_is_asked_first(driven: Driver, much: Path) -> None:
    async with driven(much) as walker:
        await walker.press("j", "down", "enter")
        await walker.until(lambda: walker.screen == "StationScreen")
        assert "Still to sort: Wilting seen, yesterday 9:59. Now: No plant wilts?" in walker.words


async def test_a_line_typed_at_the_station_settles_it(driven: Driver, much: Path) -> None:
    async with driven(much) as walker:
        await walker.press("j", "down", "enter")
        await walker.until(lambda: walker.screen == "StationScreen")
        await walker.type("fixed wilt watered", "enter", "enter")
        await walker.until(lambda: "Saved: Settled: Look again: wilting seen" in walker.words)
        assert [r.item for r in walker.app.session.history.records(kind="settled")] == ["off:ch-1:wilt"]
