"""The guided pages of a measurement: what is seen, what the keys do, and that it is all the plain lines' dialogue."""

from __future__ import annotations

import io
import shutil
from pathlib import Path
from typing import Any

import pytest

from rounds.cli import main
from rounds.history.store import History
from rounds.screens.measure import MeasureScreen
from tests import keyboard

Driver = Any


async def to_page(walker: Any, line: str) -> None:
    """From the walk to a station, and from there to a page."""
    await walker.press("o")
    await walker.until(lambda: walker.screen == "StationScreen")
    await walker.type(line, "enter")
    await walker.until(lambda: walker.screen == "MeasureScreen")


@keyboard.at_both_sizes
async def test_a_titration_shows_the_question_the_cautions_and_what_was_entered(
    driven: Driver, farm_folder: Path, size: tuple[int, int]
) -> None:
    async with driven(farm_folder) as walker:
        await to_page(walker, "measure titration")
        assert "Measure · alkalinity · Well water" in walker.words
        assert "Rinse the probe, dip it into buffer 4.01. What does it show?" in walker.words
        for line in ("4.03", "1", "7.5"):
            await walker.type(line, "enter")
        told = walker.words
        assert "1 buffer 4.01 shows 4.03: -0.02 on every pH 2 1 L of water 3 begins at pH 7.48" in told
        assert "! Goggles, and gloves that suit the acid. Acid into the water, never water into acid." in told
        assert "Splashed: rinse skin or eyes for 15 minutes" in told
        assert "anew Enter from the start" in told and "u undo" in told and "Esc leave, kept" in told


async def test_a_line_that_cannot_be_stays_with_a_sentence_and_esc_leads_back(
    driven: Driver, farm_folder: Path
) -> None:
    async with driven(farm_folder) as walker:
        await to_page(walker, "measure tub")
        for line in ("0", "10", "2", "4"):
            await walker.type(line, "enter")
        await walker.type("3", "enter")
        assert "The dip fell from 4 to 3 cm while water was poured in" in walker.words
        assert walker.app.screen.query_one("#typed").value == "3"
        await walker.press("f6")
        assert "Taken back; the record keeps it." in walker.words
        await walker.press("escape")
        await walker.until(lambda: walker.screen == "StationScreen")
        await walker.type("measure tub", "enter")
        await walker.until(lambda: walker.screen == "MeasureScreen")
        assert "Taken up where it stood" in walker.words and "2 cm: 10 L" in walker.words


async def test_an_enter_that_was_meant_for_the_question_before_does_not_count(
    driven: Driver, farm_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with driven(farm_folder) as walker:
        await to_page(walker, "measure pump")
        monkeypatch.setattr(MeasureScreen, "settle_s", 60.0)
        for line in ("10 30", "10 31", "10 29"):
            await walker.type(line, "enter")
        await walker.press("enter")
        assert walker.app.session.history.records(kind="measured") == []
        assert "Does it count from now on?" in walker.words


@keyboard.at_both_sizes
async def test_the_difference_is_shown_before_farm_toml_is_written(
    driven: Driver, farm_folder: Path, size: tuple[int, int]
) -> None:
    async with driven(farm_folder) as walker:
        await to_page(walker, "measure tub")
        for line in ("0", "50", "9", "19", "29", "end"):
            await walker.type(line, "enter")
        await walker.press("enter")
        told = walker.words
        assert "Write it into farm.toml?" in told
        assert "+dip_table = [[0, 0], [9, 50], [19, 100], [29, 150]," in told
        await walker.type("w", "enter")
        await walker.until(lambda: walker.screen == "StationScreen")
        assert "[9, 50]" in (farm_folder / "farm.toml").read_text(encoding="utf-8")


async def test_the_wait_of_a_pump_off_test_is_shown_and_runs(driven: Driver, farm_folder: Path, clock: Any) -> None:
    async with driven(farm_folder) as walker:
        await to_page(walker, "measure pump-off")
        await walker.type("34", "enter")
        await walker.press("enter")
        assert "5:00 to go." in walker.words
        await walker.type("37", "enter")
        assert "It is too early" in walker.words and walker.app.screen.query_one("#typed").value == "37"
        clock.go_on(minutes=5)
        await walker.press("enter")
        assert "Switch the pump on again." in walker.words


@pytest.mark.parametrize("lines", [("10 30", "10 31", "10 29", "")])
async def test_both_fronts_write_the_same(
    driven: Driver, farm_folder: Path, tmp_path: Path, lines: tuple[str, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    other = Path(shutil.copytree(farm_folder, tmp_path / "plain"))
    async with driven(farm_folder) as walker:
        await to_page(walker, "measure pump")
        for line in lines:
            await walker.type(line, "enter")
        (mine,) = walker.app.session.history.records(kind="measured")
    monkeypatch.setattr("sys.stdin", io.StringIO("\n".join([*lines, ""])))
    assert main(["measure", str(other), "pump"]) == 0
    with History.open(other / "history") as history:
        (theirs,) = history.records(kind="measured")
    assert (mine.item, mine.value, mine.unit, mine.data) == (theirs.item, theirs.value, theirs.unit, theirs.data)
