"""One thing that is still to sort, and who can tell of such things."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import datetime
from typing import Literal

import msgspec

from rounds.walk.session import Session

Loses = Literal["people", "animals", "30 minutes", "2 hours", "tonight", "tomorrow", "days"]
"""What would be lost, and roughly how soon: people and animals first, then a crop by the time it has."""
WORST_FIRST: tuple[Loses, ...] = ("people", "animals", "30 minutes", "2 hours", "tonight", "tomorrow", "days")
Closes = Literal["reading in band", "check well", "step poured", "reason", "passes"]
"""What closes it beside a reason spoken; "passes": it ends with its own time, such as a waiting time."""


class OpenMatter(msgspec.Struct, frozen=True, kw_only=True):
    """Something that is still to sort."""

    id: str
    """Stable from round to round while it is the same thing: `off:channel-3:wilting`."""
    code: str
    """What kind of thing it is; stable, for programs and tests."""
    station: str
    """Id of its station; empty for the farm as a whole."""
    what: str
    """One sentence, the verb first, with its number: "Look for a leak: 64 L gone in one night"."""
    since: datetime
    loses: Loses
    what_is_lost: str = ""
    """In words: "the crop of channel 3"."""
    closes_by: tuple[Closes, ...] = ("reason",)
    items: tuple[str, ...] = ()
    """The items of the checklist at its station that are asked outright, and whose answer may close it."""
    cause: str = ""
    """Matters with the same cause are joined into one; empty where it stands alone."""
    parkable: bool = True
    """Whether it may be left for later; never of people or animals, never half a pair."""
    leads: str = ""
    """The key on the first screen that leads to it; empty where the station does."""


Source = Callable[[Session], Iterable[OpenMatter]]
"""Tells what is open of one kind; parked and closed ones are taken out by `open_matters`."""
SOURCES: list[Source] = []


def register(source: Source) -> None:
    """Let a source be asked, after those that are there."""
    SOURCES.append(source)
