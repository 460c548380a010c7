"""Asks all that can tell something of the farm; one that fails costs one line, never the rest."""

from __future__ import annotations

from rounds.text import clean_line
from rounds.walk import providers  # noqa: F401  # registers what this room itself can tell
from rounds.walk.matters import REGISTRY, Matter, Place, Provider, Told
from rounds.walk.session import Session

FAILED = "provider-failed"


def told(session: Session, place: Place) -> list[Told]:
    """Everything that is told at a place, in order; what fails is told in a line."""
    return [each for provider in REGISTRY.get(place, []) for each in _asked(provider, session)]


def matters(session: Session, place: Place) -> list[Matter]:
    """The matters told at a place."""
    return [each for each in told(session, place) if isinstance(each, Matter)]


def _asked(provider: Provider, session: Session) -> list[Told]:
    try:
        return list(provider(session))
    except Exception as error:  # noqa: BLE001  # whatever is wrong with one, the screen has the others to show
        what = getattr(provider, "__name__", "provider").replace("_", " ")
        text = clean_line(f"The {what} can't be told: {type(error).__name__}: {error}")
        return [Matter(code=FAILED, text=text, severity="warning")]
