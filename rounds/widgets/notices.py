"""What the app has to say wherever one is, in the row above the keys: until its time is over, or its cause."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from time import monotonic

from rounds.text import clean_line

MOST = 3
"""So many messages are shown; of more, the newest."""


@dataclass(frozen=True, slots=True)
class Notice:
    """One message."""

    text: str
    until: float
    """When it goes by itself, by a clock that never goes back. [s]"""
    holds: Callable[[], bool] | None = None
    """Whether what it tells is still so; None where only time ends it."""


@dataclass(slots=True)
class Notices:
    """The messages that stand now."""

    _told: list[Notice] = field(default_factory=list)

    def add(self, text: str, seconds: float, holds: Callable[[], bool] | None = None) -> None:
        """Say something; the same again takes the place of what was said before."""
        line = clean_line(text)
        self._told = [each for each in self._told if each.text != line]
        self._told.append(Notice(line, monotonic() + seconds, holds))

    def now(self) -> tuple[str, ...]:
        """What stands now; what has run out or is no longer so is gone."""
        at = monotonic()
        self._told = [each for each in self._told if each.until > at and (each.holds is None or each.holds())]
        return tuple(each.text for each in self._told[-MOST:])
