"""A round walked by a helper: only the walk and the answers, every how open, doses held, and a key that calls."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from rounds.history.record import Draft
from rounds.history.store import History
from tests import keyboard

Driver = Any


def allow(folder: Path, products: str, step_ml: int = 100, day_ml: int = 600) -> None:
    path = folder / "farm.toml"
    limits = f"\n[limits.helper]\nproducts = [{products}]\nstep_ml = {step_ml}\nday_ml = {day_ml}\n"
    contact = '\n[[contacts]]\nname = "Ada [bold]"\nwhat = "Everything"\nphone = "555 0101"\n'
    text = path.read_text(encoding="utf-8").replace("\n[[people]]", f"{limits}{contact}\n[[people]]", 1)
    path.write_text(text, encoding="utf-8")


@pytest.mark.parametrize("key", ["b", "l", "r"])
async def test_shelf_marking_out_and_relief_are_not_a_helpers(driven: Driver, farm_folder: Path, key: str) -> None:
    async with driven(farm_folder, person_id="ben") as walker:
        await walker.press(key)
        assert walker.screen == "WalkScreen"
        assert "shelf" not in walker.words
        assert "relief" not in walker.words
    async with driven(farm_folder) as walker:
        await walker.press(key)
        assert walker.screen != "WalkScreen", "they are the grower's"


async def test_f8_shows_the_numbers_from_anywhere_and_only_to_a_helper(driven: Driver, farm_folder: Path) -> None:
    allow(farm_folder, "")
    async with driven(farm_folder, person_id="ben") as walker:
        assert "EMERGENCY" in walker.words
        for _ in range(2):
            await walker.press("f8")
            assert walker.screen == "CallScreen"
            assert "5 5 5   0 1 0 1" in walker.text
            assert "Ada [bold]: Everything" in walker.text
            await walker.press("escape")
            await walker.press("enter")
        assert walker.screen == "StationScreen"
    async with driven(farm_folder) as walker:
        await walker.press("f8")
        assert walker.screen == "CallScreen", "the grower may need somebody too"


@keyboard.at_both_sizes
async def test_every_how_is_open_for_a_helper(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder, person_id="ben") as walker:
        await walker.press("enter", "plus")
        assert "Probe rinsed, in the moving water" in walker.words
        for widget in list(walker.app.screen.query("ItemRow QuickLine")):
            widget.focus()
            await walker.settle()
            assert walker.app.screen.region.contains_region(widget.region), widget.id
    async with driven(farm_folder) as walker:
        await walker.press("enter")
        assert "Probe rinsed, in the moving water" not in walker.words


async def test_in_the_daybook_a_helper_puts_right_what_they_wrote_and_nothing_else(
    driven: Driver, farm_folder: Path, clock: Any
) -> None:
    at = clock() - timedelta(minutes=5)
    with History.open(farm_folder / "history", now=clock) as history:
        history.save(Draft(kind="reading", measured_at=at, station="res-1", item="ph", value=7.2, person="ada"))
        history.save(Draft(kind="check", measured_at=at, station="ch-1", item="wilt", value=False, person="ben"))
    async with driven(farm_folder, person_id="ben") as walker:
        await walker.press("d", "x")
        assert "written down by ada" in walker.words
        await walker.press("e")
        assert walker.screen == "DaybookScreen"
        await walker.press("down", "e")
        await walker.type("y", "enter")
        await walker.type("2", "enter")
        assert "No plant wilts (put right: misread)" in walker.words
        assert [r.value for r in walker.app.session.history.records(item="ph")] == [7.2]


async def to_the_correction(walker: Any) -> None:
    await walker.press("enter", "plus")
    await walker.type("5.9 1.2 20 36", "enter")
    if walker.screen != "CorrectionScreen":
        await walker.press("f9")
    assert walker.screen == "CorrectionScreen", walker.text


async def test_an_offered_dose_is_held_to_the_limit(driven: Driver, farm_folder: Path) -> None:
    allow(farm_folder, '"leaf-a", "leaf-b"', step_ml=100)
    async with driven(farm_folder, person_id="ben") as walker:
        await to_the_correction(walker)
        assert "Pour 100 mL of Leaf A" in walker.words
        await walker.press("enter")
        (dose,) = walker.app.session.history.records(kind="dose")
        assert (dose.item, dose.value, dose.person, dose.marks) == ("leaf-a", 100.0, "ben", ())


async def test_a_larger_amount_is_warned_about_and_recorded_with_a_mark_only_when_typed_again(
    driven: Driver, farm_folder: Path
) -> None:
    allow(farm_folder, '"leaf-a", "leaf-b"', step_ml=100)
    async with driven(farm_folder, person_id="ben") as walker:
        history = walker.app.session.history
        await to_the_correction(walker)
        await walker.press("e", "enter")
        await walker.type("500", "enter")
        assert "500 mL in one step, where the grower allows 100 mL" in walker.words
        assert "do not" in walker.words
        assert history.records(kind="dose") == []
        await walker.press("escape")
        assert history.records(kind="dose") == [], "leaving it writes nothing"
        await walker.press("e", "enter")
        await walker.type("500", "enter")
        await walker.type("501", "enter")
        assert history.records(kind="dose") == []
        await walker.press("e", "enter")
        await walker.type("500", "enter")
        await walker.type("500", "enter")
        (dose,) = history.records(kind="dose")
        assert dose.value == 500.0
        assert any("beyond the helper's limit, warned" in mark for mark in dose.marks)


async def test_by_default_a_helper_is_told_to_call_about_acid(driven: Driver, farm_folder: Path) -> None:
    allow(farm_folder, "")
    async with driven(farm_folder, person_id="ben") as walker:
        await walker.press("enter", "plus")
        await walker.type("7.2 1.7 20 36", "enter")
        if walker.screen != "CorrectionScreen":
            await walker.press("f9")
        assert "nothing you may pour for it" in walker.words
        assert "F8 shows the numbers" in walker.words
        assert "Working nitric acid" not in walker.words
