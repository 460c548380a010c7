"""What there is to tell of a farm: one registry of all that can tell something, asked by whoever shows it.

A provider is a function of the session. It belongs to one place, such as what stands above all else; there the
providers are asked in the order in which they were registered. One that fails costs one line, never the rest.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from datetime import datetime
from typing import Any, Literal

import msgspec

from rounds.walk.session import Session

Place = Literal["first", "missing", "to sort", "carried", "left open", "slow", "files", "walker", "shelf", "ahead"]
"""Above all else; missing from the farm; what is still to sort; carried over, for programs; rounds nobody closed; slow
changes; the state of the files; who walks; the shelf; what falls due later."""
Severity = Literal["alarm", "warning", "begun", "carried", "note"]
SIGNS: Mapping[Severity, str] = {"alarm": "!", "warning": "!", "begun": "⧗", "carried": "↪", "note": ""}


class Matter(msgspec.Struct, frozen=True, kw_only=True):
    """Something to tell or to do."""

    code: str
    """What kind of thing it is; stable, for programs and tests."""
    text: str
    severity: Severity = "note"
    station_id: str = ""
    leads: str = ""
    """The key on the first screen that leads to it; empty where none does."""
    brief: str = ""
    """The same in fewer words, for a narrow screen; empty where there are none."""
    age: str = ""
    """Since when it is so, in words; empty where nothing is said of that."""
    facts: Mapping[str, Any] = {}
    """The same for programs."""

    @property
    def line(self) -> str:
        """Its sign and its text."""
        return f"{SIGNS[self.severity]} {self.text}".lstrip()


class Ahead(msgspec.Struct, frozen=True, kw_only=True):
    """Something that falls due later."""

    code: str
    text: str
    station_id: str
    due_at: datetime

    def seconds_left(self, now: datetime) -> float:
        """How long it still takes; negative once it is due. [s]"""
        return (self.due_at - now).total_seconds()


class Figure(msgspec.Struct, frozen=True, kw_only=True):
    """One number with its label."""

    code: str
    label: str
    value: float
    unit: str


Told = Matter | Ahead | Figure
Provider = Callable[[Session], Iterable[Told]]

REGISTRY: dict[Place, list[Provider]] = {}


def register(place: Place, provider: Provider) -> None:
    """Let a provider be asked at a place, after those that are there."""
    REGISTRY.setdefault(place, []).append(provider)
