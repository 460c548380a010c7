"""One thing that is still to sort, and who can tell of such things."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import datetime
from typing import Literal

import msgspec

from rounds.checklist.model import WORST_FIRST as WORST_FIRST
from rounds.checklist.model import Loses as Loses
from rounds.walk.session import Session

Closes = Literal["reading in band", "read again", "check well", "step poured", "walked", "undone", "reason", "passes"]
"""What closes it; "passes": it ends with its own time, such as a waiting time."""


class OpenMatter(msgspec.Struct, frozen=True, kw_only=True):
    """Something that is still to sort."""

    id: str
    """Stable from round to round while it is the same thing: `off:channel-3:wilt`."""
    code: str
    """What kind of thing it is; stable, for programs and tests."""
    station: str
    """Id of its station; empty for the farm as a whole."""
    what: str
    """One sentence without its point, the verb first, with its number: "Look for a leak: 64 L gone in 24 hours"."""
    since: datetime
    last: datetime | None = None
    """When it was last found so, where that is later: what was said before does not settle it."""
    loses: Loses
    what_is_lost: str = ""
    """In words: "the crop of channel 3"."""
    closes_by: tuple[Closes, ...] = ("reason",)
    closing: str = ""
    """What closes it, in words."""
    items: tuple[str, ...] = ()
    """The items of the checklist at its station that are asked outright, and whose answer may close it."""
    cause: str = ""
    """Matters with the same cause are joined into one; empty where it stands alone."""
    parkable: bool = True
    """Whether it may be left for later; never of people or animals, never half a pair."""
    leads: str = ""
    """The key on the first screen that leads to it; empty where the station does."""
    brief: str = ""
    """The same in a few words, for a line with little room; empty for `what`."""
    seen: tuple[str, ...] = ()
    """What it rests on, line by line."""
    could_be: str = ""
    """Likely causes, and what to do."""
    reasons: tuple[str, ...] = ()
    """Why it may be closed, the likeliest first."""
    of: tuple[OpenMatter, ...] = ()
    """The matters that are joined in it, the worst first; empty where it stands alone."""

    @property
    def ids(self) -> tuple[str, ...]:
        """The ids under which it is settled: its own, or those of what is joined in it."""
        return tuple(each.id for each in self.of) or (self.id,)

    @property
    def stations(self) -> tuple[str, ...]:
        """The stations that it is about."""
        return tuple(dict.fromkeys(each.station for each in self.of)) or (self.station,)

    @property
    def found(self) -> datetime:
        """When it was last found so."""
        return self.last or self.since

    @property
    def rank(self) -> tuple[int, datetime]:
        """Its place: the worst first, then the oldest."""
        return WORST_FIRST.index(self.loses), self.since


Source = Callable[[Session], Iterable[OpenMatter]]
"""Tells what is open of one kind; parked and closed ones are taken out by `open_matters`."""
SOURCES: list[Source] = []


def register(source: Source) -> None:
    """Let a source be asked, after those that are there."""
    SOURCES.append(source)
