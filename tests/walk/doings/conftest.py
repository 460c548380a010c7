"""The small farm with a second water, and places of its walk where doings are typed."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from rounds.walk.at_station import AtStation
from rounds.walk.dialogue import Reply
from rounds.walk.session import Session
from rounds.walk.stops import stop_at
from rounds.walk.visit import Visit

RAIN = """
[[waters]]
id = "rain"
name = "Rain water"
ph = 6.4
ec_ms_cm = 0.02
alkalinity_meq_l = 0.1
ca_mg_l = 2

[[stations]]"""


@pytest.fixture
def two_waters(farm_folder: Path, clock: Any) -> Session:
    """Reservoir one has well water and rain water at hand."""
    path = farm_folder / "farm.toml"
    text = path.read_text(encoding="utf-8").replace("\n[[stations]]", RAIN, 1)
    path.write_text(text.replace('waters = ["well"]', 'waters = ["well", "rain"]'), encoding="utf-8")
    return Session.open(farm_folder, clock=clock)


At = Callable[[Session, str], AtStation]


@pytest.fixture
def at() -> At:
    """The dialogue of a station."""

    def begun(session: Session, station: str) -> AtStation:
        return AtStation(Visit(session=session, stop=stop_at(session, "morning", station), round_id="r1"))

    return begun


@pytest.fixture
def does(clock: Any, at: At) -> Callable[..., Reply]:
    """Type lines at a station, a minute apart; give the last reply."""

    def type_them(session: Session, station: str, *lines: str) -> Reply:
        dialogue, said = at(session, station), Reply()
        for line in lines:
            clock.go_on(minutes=1)
            said = dialogue.press(line) if line in ("esc", "f6", "+") else dialogue.answer(line)
        return said

    return type_them
