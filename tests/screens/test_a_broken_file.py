"""Walking while a file of the farm cannot be used: what is missing stands first, and nothing is dosed."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from rounds.app import RoundsApp
from rounds.cli import main
from rounds.errors import BadInput

Driver = Callable[..., Any]


def test_the_app_does_not_open_a_farm_that_cannot_be_read(farm_folder: Path) -> None:
    (farm_folder / "farm.toml").write_text("latitude = 53,6\n", encoding="utf-8")
    with pytest.raises(BadInput, match=r"line 1, column 14 can't be read: write 53\.6, not 53,6"):
        RoundsApp(farm_folder)


async def test_the_app_walks_a_farm_that_cannot_be_read_as_it_was_and_says_so_first(
    driven: Driver, farm_folder: Path
) -> None:
    assert main(["enter", str(farm_folder), "ch-1", "flow 1.1"]) == 0
    (farm_folder / "farm.toml").write_text("latitude = 53,6\n", encoding="utf-8")
    async with driven(farm_folder) as walker:
        lines = [line.strip() for line in walker.text.splitlines() if line.strip()]
        assert lines[1].startswith("This is the farm as it was on ")
        assert "farm.toml can't be used: there are no doses." in walker.words
        assert "write 53.6, not 53,6" in walker.words
        assert "Hen house" in walker.text
        await walker.press("enter", "+")
        await walker.type("6.8 1.3 21 31", "enter")
        records = walker.app.session.history.records()
        assert {r.item for r in records if r.kind == "reading"} >= {"ph", "ec"}
        assert not [r for r in records if r.kind == "correction"]


async def test_a_station_that_is_lost_or_left_out_stands_as_not_readable_and_no_key_leads_there(
    driven: Driver, farm_folder: Path
) -> None:
    assert main(["enter", str(farm_folder), "hens", "eggs 7"]) == 0
    path = farm_folder / "farm.toml"
    text = (
        path.read_text(encoding="utf-8").replace("Test farm", "Tested farm").replace("planted = 13", "planted = -1", 1)
    )
    path.write_text(
        "[[stations]]".join(t for t in text.split("[[stations]]") if "Hen house" not in t), encoding="utf-8"
    )
    async with driven(farm_folder) as walker:
        assert "1 station is gone from farm.toml without a word: hens." in walker.words
        assert "✗ ch-1: not readable" in walker.text and "✗ hens: not readable" in walker.text
        await walker.press("end", "o")
        assert walker.screen == "StationScreen" and "Channel two" in walker.text


@pytest.mark.parametrize("person", ["ada", "ben"])
@pytest.mark.parametrize("file", ["feeds.toml", "shelf.toml"])
async def test_a_reservoir_is_read_but_not_dosed_and_the_walk_goes_on(
    driven: Driver, farm_folder: Path, file: str, person: str
) -> None:
    (farm_folder / file).write_text("a = 1,5\n", encoding="utf-8")
    async with driven(farm_folder, person_id=person) as walker:
        lines = [line.strip() for line in walker.text.splitlines() if line.strip()]
        assert f"{file} can't be used: there are no doses." in lines[1]
        assert f"{file}, line 1, column 6 can't be read: write 1.5, not 1,5" in walker.words
        assert "Reservoir one" in walker.text
        await walker.press("enter", "+")
        assert "Reservoir one" in walker.text
        await walker.type("6.8 1.3 21 31", "enter")
        await walker.type("buffer 7 strainer y drums y", "enter")
        await walker.press("+")
        if "Enter walks on" in walker.text:
            await walker.press("enter")
        assert "Channel one" in walker.text
        told = walker.app.notices_now
        assert any(f"Reservoir one: {file}, line 1, column 6 can't be read" in each for each in told), told
        records = walker.app.session.history.records()
        assert {r.item for r in records if r.kind == "reading"} >= {"ph", "ec"}
        assert not [r for r in records if r.kind == "correction"]


async def test_what_is_left_out_stands_before_what_is_due(driven: Driver, farm_folder: Path) -> None:
    path = farm_folder / "farm.toml"
    path.write_text(path.read_text(encoding="utf-8").replace("= 180", "= 900"), encoding="utf-8")
    async with driven(farm_folder) as walker:
        assert walker.words.index("3 stations are left out") < walker.words.index(" due at ")
