"""The screens beside the walk, by name; each is imported when it is first opened."""

from __future__ import annotations

from importlib import import_module
from typing import Any

from textual.screen import Screen

from rounds.walk.round import Round
from rounds.walk.session import Session

SCREENS = {
    "daybook": "rounds.screens.daybook",
    "to_sort": "rounds.screens.to_sort",
    "shelf": "rounds.screens.shelf",
    "markout": "rounds.screens.markout",
    "slow_change": "rounds.screens.slow_change",
    "relief": "rounds.screens.relief",
}
"""Each module has a function `build(session, round) -> Screen`."""


def open_screen(name: str, session: Session, walk: Round | None) -> Screen[Any]:
    """Build the screen of that name."""
    screen = import_module(SCREENS[name]).build(session, walk)
    assert isinstance(screen, Screen)
    return screen
