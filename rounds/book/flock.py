"""How many birds there are now: what the farm's files say, with what died, came and went since."""

from __future__ import annotations

from collections.abc import Mapping

import msgspec

from rounds.book.doings import Doing
from rounds.farm.stations import Flock

MOVES: Mapping[str, int] = {"dead": -1, "fox": -1, "culled": -1, "sold": -1, "hatched": 1, "bought": 1}
"""What one bird more in a doing of that verb is for the flock. [birds]"""


class Birds(msgspec.Struct):
    """What changed in one flock since its file was written."""

    filed: int | None = None
    """What the file said then: where it says something else by now, it is newer. [birds]"""
    change: int = 0


def with_doing(birds: Birds, doing: Doing) -> Birds:
    """Take in what happened to a flock; what is no move of one changes nothing.

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> died = Doing(SimpleNamespace(item="dead", value=1, data={"filed": 23}))
    >>> with_doing(Birds(), died)
    Birds(filed=23, change=-1)
    """
    sign, number, filed = MOVES.get(doing.verb), doing.number, doing.filed_count
    if sign is None or number is None or doing.product:
        return birds
    if filed is not None and birds.filed != filed:
        birds = Birds(filed=filed)
    return Birds(filed=birds.filed, change=birds.change + sign * round(number))


def flock_now(flock: Flock, birds: Birds) -> Flock:
    """The flock as it is now; never below none. A file that was written anew since is newer than what was told."""
    if birds.filed not in (None, flock.birds) or not birds.change:
        return flock
    return msgspec.structs.replace(flock, birds=max(0, flock.birds + birds.change))
