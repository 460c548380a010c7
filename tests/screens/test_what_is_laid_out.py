"""Laying out a screen takes longer than all else that a key leads to: it is done only where something moves."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.screen import Screen

from tests.screens.conftest import Driver, Walker


def laid_out(walker: Walker) -> list[Screen[None]]:
    """Each time that the screen in front is laid out from now on adds to this list."""
    times: list[Screen[None]] = []
    walker.app.screen.screen_layout_refresh_signal.subscribe(walker.app.screen, times.append)
    return times


@pytest.mark.parametrize("opens", [(), ("enter",)], ids=["the walk", "a station"])
async def test_a_tick_of_the_clock_lays_nothing_out(driven: Driver, farm_folder: Path, opens: tuple[str, ...]) -> None:
    async with driven(farm_folder) as walker:
        await walker.press(*opens)
        await walker.settle()
        times = laid_out(walker)
        walker.app.tick()
        await walker.settle()
        assert times == []


async def test_a_typed_character_lays_nothing_out_and_is_seen(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("enter")
        await walker.settle()
        times = laid_out(walker)
        await walker.type("power 7")
        assert "power 7" in walker.text
        assert times == []


async def test_a_text_longer_than_its_field_is_seen_to_its_end(driven: Driver, farm_folder: Path) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("enter", "down")
        await walker.type("begin and goes on to the end")
        assert "to the end" in walker.text
        assert "begin" not in walker.text
        await walker.press("home")
        assert "begin and" in walker.text
