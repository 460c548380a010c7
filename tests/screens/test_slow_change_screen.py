"""Slow change where the grower is: the first screen, the station, and the screen of its own."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from rounds.history.record import Draft
from rounds.history.store import History
from rounds.screens.slow_line import SlowLine

Driver = Any
FALLING = [1.20, 1.21, 1.17, 1.16, 1.13, 1.12, 1.09, 1.07]
LEADS = "below 1.02 in about 2 weeks"


def weekly(now: Any, station: str, item: str, values: list[float]) -> list[Draft]:
    last = now - timedelta(days=1)
    return [
        Draft(
            kind="reading", station=station, item=item, value=value,
            measured_at=last - timedelta(weeks=len(values) - 1 - n),
        )
        for n, value in enumerate(values)
    ]  # fmt: skip


@pytest.fixture
def fallen(farm_folder: Path, clock: Any) -> Path:
    """The farm with one jug that falls and one that holds."""
    with History.open(farm_folder / "history", now=clock) as history:
        history.add_bulk(weekly(clock(), "ch-1", "flow", FALLING))
        history.add_bulk(weekly(clock(), "ch-2", "flow", [1.2, 1.19, 1.21, 1.2]))
        history.add_bulk(weekly(clock(), "hens", "eggs", [11.0, 10.0, 11.0]))
    return farm_folder


def is_told(walker: Any) -> bool:
    return bool(walker.app.screen.query_one(SlowLine).has_class("-told"))


async def test_the_first_screen_says_it_in_one_line_once_it_is_there(driven: Driver, fallen: Path) -> None:
    async with driven(fallen) as walker:
        await walker.until(lambda: is_told(walker))
        await walker.settle()
        line = f"↘ Channel one: flow 1.21 to 1.07 since 6 Oct; {LEADS}"
        assert [each.strip() for each in walker.text.splitlines()].count(line) == 1
        assert "t slow change" in walker.words
        assert "Hen house" in walker.text, "it pushes nothing out"


async def test_a_farm_without_slow_change_has_no_line_for_it(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        line = walker.app.screen.query_one(SlowLine)
        await walker.until(lambda: line.looks > 0)
        assert not is_told(walker)
        assert line.size.height == 0


async def test_the_station_says_it_in_one_line(driven: Driver, fallen: Path) -> None:
    async with driven(fallen) as walker:
        await walker.press("down", "o")
        await walker.until(lambda: walker.screen == "StationScreen" and is_told(walker))
        await walker.settle()
        assert f"↘ slowly: flow 1.21 to 1.07 since 6 Oct; {LEADS}" in walker.text
        rows = [line for line in walker.text.splitlines() if " ◦ " in f" {line} " or " • " in f" {line} "]
        assert len(rows) >= 10, "the items are still there"


async def test_at_a_station_that_holds_nothing_is_said(driven: Driver, fallen: Path) -> None:
    async with driven(fallen) as walker:
        await walker.press("down", "down", "down", "o")
        await walker.until(lambda: walker.screen == "StationScreen")
        line = walker.app.screen.query_one(SlowLine)
        await walker.until(lambda: line.looks > 0)
        assert "Channel two" in walker.text
        assert "slowly" not in walker.text


async def test_what_is_typed_counts_at_once(driven: Driver, fallen: Path, clock: Any) -> None:
    clock.go_on(days=6)
    async with driven(fallen) as walker:
        await walker.press("down", "o")
        await walker.until(lambda: walker.screen == "StationScreen" and is_told(walker))
        assert "1.21 to 1.07 since 6 Oct" in walker.text
        await walker.type("flow 1.03", "enter")
        await walker.until(lambda: "1.22 to 1.05 since 6 Oct; below 1.02 in about 8 days" in walker.text)


async def test_one_key_opens_the_screen_with_the_finding_first_and_its_picture(driven: Driver, fallen: Path) -> None:
    async with driven(fallen) as walker:
        await walker.press("t")
        await walker.until(lambda: "●" in walker.text)
        first = walker.text.splitlines()[1]
        assert first.startswith("↘ Channel one: flow by timed jug") and LEADS in first
        assert "1 of 3 readings" in walker.text
        assert "clogged emitter" in walker.words
        assert "1.38 │┄┄┄" in walker.text and "1.02 │┄┄┄" in walker.text, "both edges of the band, with their values"
        assert "24 Nov" in walker.text and "6 Oct" in walker.text
        assert walker.text.count("●") >= 8


async def test_every_reading_is_there_to_be_looked_at(driven: Driver, fallen: Path) -> None:
    async with driven(fallen) as walker:
        await walker.press("t")
        await walker.until(lambda: "●" in walker.text)
        await walker.press("a")
        await walker.until(lambda: "No slow change that matters" in walker.words)
        await walker.press("end")
        await walker.until(lambda: "Channel two: flow by timed jug." in walker.text)
        assert "p put right" not in walker.words, "there is nothing to put right"


async def test_enter_makes_the_picture_larger_and_esc_leads_back_step_by_step(driven: Driver, fallen: Path) -> None:
    async with driven(fallen) as walker:
        await walker.press("t")
        await walker.until(lambda: "●" in walker.text)
        small = sum("│" in line for line in walker.text.splitlines())
        await walker.press("enter")
        await walker.until(lambda: sum("│" in line for line in walker.text.splitlines()) > small)
        assert "Hen house" not in walker.text
        await walker.press("escape")
        await walker.until(lambda: "Hen house" in walker.text)
        await walker.press("escape")
        assert walker.screen == "WalkScreen"


async def test_seen_is_written_down_and_leaves_the_first_screen(driven: Driver, fallen: Path) -> None:
    async with driven(fallen) as walker:
        await walker.until(lambda: is_told(walker))
        await walker.press("t")
        await walker.until(lambda: "●" in walker.text)
        await walker.press("v")
        await walker.until(lambda: "seen 25 Nov" in walker.text)
        (record,) = walker.app.session.history.records(kind="seen")
        assert (record.station, record.item, record.person) == ("ch-1", "slow:flow", "ada")
        await walker.press("escape")
        await walker.until(lambda: walker.screen == "WalkScreen" and not is_told(walker))


async def test_put_right_asks_what_was_done_and_begins_anew(driven: Driver, fallen: Path) -> None:
    async with driven(fallen) as walker:
        await walker.press("t")
        await walker.until(lambda: "●" in walker.text)
        await walker.press("h")
        await walker.type("emitter [b]poked[/mg]", "enter")
        await walker.until(lambda: "none of 3 readings" in walker.text)
        (record,) = walker.app.session.history.records(kind="seen")
        assert (record.note, record.data["put_right"]) == ("emitter [b]poked[/mg]", True)
        await walker.press("escape", "d")
        assert "right (emitter [b]poked[/mg])" in walker.words


async def test_a_disk_that_is_full_is_told(driven: Driver, fallen: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from rounds.errors import NotSaved

    def full(*_: object) -> None:
        raise NotSaved("The disk is full, so nothing was saved.")

    async with driven(fallen) as walker:
        await walker.press("t")
        await walker.until(lambda: "●" in walker.text)
        monkeypatch.setattr("rounds.screens.slow_change.mark_seen", full)
        await walker.press("v")
        await walker.until(lambda: "✗ The disk is full" in walker.text)


async def test_without_a_record_the_screen_says_so(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("t")
        await walker.until(lambda: "nothing was read yet" in walker.text)
        await walker.press("enter", "a", "v", "h", "escape", "escape")
        assert walker.screen == "WalkScreen"


async def test_a_helper_may_look_too(driven: Driver, fallen: Path) -> None:
    async with driven(fallen, person_id="ben") as walker:
        await walker.press("t")
        await walker.until(lambda: "●" in walker.text)
