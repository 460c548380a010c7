"""Places of the small farm where lines are typed, and what is still to sort there."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from rounds.walk.at_station import AtStation
from rounds.walk.dialogue import Reply
from rounds.walk.session import Session
from rounds.walk.stops import stop_at
from rounds.walk.visit import Visit

At = Callable[..., AtStation]


@pytest.fixture
def at() -> At:
    """The dialogue of a station."""

    def begun(session: Session, station: str, round_name: str = "morning") -> AtStation:
        return AtStation(Visit(session=session, stop=stop_at(session, round_name, station), round_id="r1"))

    return begun


@pytest.fixture
def types(clock: Any, at: At) -> Callable[..., Reply]:
    """Type lines at a station, a minute apart; give the last reply."""

    def type_them(session: Session, station: str, *lines: str) -> Reply:
        dialogue, said = at(session, station), Reply()
        for line in lines:
            clock.go_on(minutes=1)
            said = dialogue.press(line) if line in ("esc", "u", "+") else dialogue.answer(line)
        return said

    return type_them
