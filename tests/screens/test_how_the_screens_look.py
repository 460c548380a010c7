"""Every screen as plain text at two sizes, and a handful as pictures, against looks that were approved by eye.

`ROUNDS_APPROVE=1 python -m pytest tests/screens/test_how_the_screens_look.py -n 0` writes them anew: look at the
difference before it is committed.
"""

from __future__ import annotations

import os
import re
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from rounds.history.record import Draft
from rounds.history.store import History
from tests import keyboard

Driver = Any
LOOKS = Path(__file__).parent / "looks"
STEPS = [
    {
        "action": "top_up", "product": "well", "amount": 25.0, "unit": "L", "text": "Add 25 L of Well water.",
        "why": "25 L are missing to the working level.",
        "after": {
            "ph": {"value": 6.7, "low": 6.6, "high": 6.9},
            "ec_ms_cm": {"value": 1.2, "low": 1.1, "high": 1.3},
            "volume_l": {"value": 198, "low": 193, "high": 203},
        },
        "cautions": ["Rinse hands, probe and jug before the next reservoir."],
    },
    {"action": "circulate", "wait_min": 10, "text": "Let the pump run 10 minutes."},
    {"action": "recheck", "text": "Read pH and EC again."},
]  # fmt: skip
HOSE = [*"dip", "space", *"32", "enter", *"hose", "space", *"12", "enter", "enter"]
KEYS = {
    "walk": [],
    "alive": ["enter"],
    "station": ["enter", "plus"],
    "station-off": ["enter", "plus", *"6", "full_stop", *"6", "space", *"1", "full_stop", *"7", "enter"],
    "station-doubt": ["enter", "plus", *"ph", "space", *"60", "enter"],
    "prompt": ["enter", "plus", "f4"],
    "grid": ["i"],
    "daybook": ["enter", "plus", "escape", "d"],
    "shelf": ["b"],
    "keys": ["f1"],
    "summary": ["enter", "plus", "escape", "c"],
    "hose-left": ["enter", "plus", *HOSE, "escape"],
    "round-left": ["enter", "plus", *HOSE, "escape", "y", "enter", "c", "enter"],
}


def compare(name: str, text: str, ending: str = "txt") -> None:
    """Hold a look against the approved one."""
    path = LOOKS / f"{name}.{ending}"
    if os.environ.get("ROUNDS_APPROVE"):
        path.write_text(text, encoding="utf-8")
    assert path.exists(), f"{path.name} has not been approved yet"
    assert text == path.read_text(encoding="utf-8")


def plain(text: str) -> str:
    """The screen without trailing blanks."""
    return "\n".join(line.rstrip() for line in text.splitlines()).rstrip() + "\n"


@keyboard.at_both_sizes
@pytest.mark.parametrize("name", KEYS)
async def test_a_screen_looks_as_approved(driven: Driver, farm_folder: Path, size: tuple[int, int], name: str) -> None:
    async with driven(farm_folder) as walker:
        await walker.press(*KEYS[name])
        compare(f"{name}-{size[0]}x{size[1]}", plain(walker.text))


@keyboard.at_both_sizes
async def test_a_correction_looks_as_approved(driven: Driver, farm_folder: Path, size: tuple[int, int]) -> None:
    async with driven(farm_folder) as walker:
        await walker.press("enter", "plus")
        await walker.type("6.6 1.3 21 31", "enter")
        session = walker.app.session
        data = {"steps": STEPS, "assumed": {"ph": 6.6, "ec_ms_cm": 1.3, "temperature_c": 21.0, "volume_l": 173.0}}
        session.save(Draft(kind="correction", measured_at=session.now(), station="res-1", data=data))
        await walker.press("f9")
        await walker.until(lambda: walker.screen == "CorrectionScreen")
        compare(f"correction-{size[0]}x{size[1]}", plain(walker.text))


@keyboard.at_both_sizes
@pytest.mark.parametrize("name", ["slow-change", "slow-change-large", "station-slow", "walk-slow"])
async def test_slow_change_looks_as_approved(
    driven: Driver, farm_folder: Path, clock: Any, size: tuple[int, int], name: str
) -> None:
    jug = enumerate([1.22, 1.20, 1.21, 1.17, 1.16, 11.3, 1.12, 1.09, 1.07, 1.05])
    with History.open(farm_folder / "history", now=clock) as history:
        history.add_bulk(
            Draft(
                kind="reading", station="ch-1", item="flow", value=value, measured_at=clock() - timedelta(weeks=10 - n)
            )
            for n, value in jug
        )
    async with driven(farm_folder) as walker:
        await walker.press(*{"station-slow": ["down", "o"], "walk-slow": []}.get(name, ["t"]))
        await walker.until(lambda: "1.23 to 1.05" in walker.text)
        await walker.press(*["enter"][: name.endswith("large")])
        await walker.settle()
        compare(f"{name}-{size[0]}x{size[1]}", plain(walker.text))


@pytest.mark.parametrize("name", ["walk", "station-off"])
async def test_a_picture_looks_as_approved(driven: Driver, farm_folder: Path, name: str) -> None:
    async with driven(farm_folder) as walker:
        await walker.press(*KEYS[name])
        svg = walker.app.export_screenshot(simplify=True)
        compare(name, re.sub(r"terminal-\d+", "terminal", svg), "svg")


async def test_nothing_needs_colour(driven: Driver, farm_folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    async with driven(farm_folder) as walker:
        await walker.press(*KEYS["station-off"])
        assert "▲" in walker.text
        assert "0.40 above" in walker.text
        assert "✓" in walker.text
