"""Records of a kind that this version does not know, as far as they may have changed what is in a reservoir.

A newer version says in `data["touches"]` what a record of its kind changes. One that says level or composition, or that
lies at the reservoir or at one of its channels and does not say, makes the book of that reservoir a guess: nothing is
poured on it. So does one that says a word which this version does not know. It ends with a newer program, which reads
the record, with its being taken back, or with a change-out after it: then what it told of is gone.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from rounds.book.entries import Dose, Unknown, entries_of, only
from rounds.book.entry import Entry, RecordLike
from rounds.farm.farm import Farm
from rounds.farm.stations import Reservoir

CODE = "newer-record"
INSTEAD = (
    "Bring this laptop up to date. If that entry is a mistake, take it back in the daybook. A change-out after it ends "
    "it, too."
)
_THE_WATER = frozenset({"level", "composition"})
_NOT_THE_WATER = frozenset({"stock", "flock"})


def standing(farm: Farm, reservoir: Reservoir, records: Iterable[RecordLike | Entry]) -> list[Unknown]:
    """What makes a reservoir uncertain, in the order given; empty where nothing does.

    Parameters
    ----------
    records : iterable of record
        Effective ones. One of a later moment than now counts as well: the clock of another device may be ahead.
    """
    entries = entries_of(records)
    unknown = [each for each in only(Unknown, entries) if may_touch(farm, reservoir, each)]
    renewed = last_renewed(reservoir, entries) if unknown else None
    return [each for each in unknown if renewed is None or each.measured_at >= renewed]


def may_touch(farm: Farm, reservoir: Reservoir, entry: Unknown) -> bool:
    """Whether a record of an unknown kind may have changed what is in a reservoir."""
    said = entry.says_it_touches
    if entry.station in places(farm, reservoir):
        return said is None or not said <= _NOT_THE_WATER
    return entry.station == "" and said is not None and bool(said & _THE_WATER)


def places(farm: Farm, reservoir: Reservoir) -> frozenset[str]:
    """The stations that its water runs through: itself and its channels."""
    return frozenset({reservoir.id, *(channel.id for channel in farm.channels_of(reservoir.id))})


def last_renewed(reservoir: Reservoir, entries: Iterable[Entry]) -> datetime | None:
    """When it was changed out last, with an amount that is known."""
    fills = [d.measured_at for d in only(Dose, entries, reservoir.id) if d.renews and d.litres > 0.0]
    return max(fills, default=None)


def told(entry: Unknown, now: datetime) -> str:
    """What it is and why nothing is poured, in one sentence without its point.

    Parameters
    ----------
    now : datetime
        In the zone in which the time is told.
    """
    at = entry.measured_at.astimezone(now.tzinfo)
    return (
        f"“{entry.name}” of {at.day} {at:%B}, {at:%H:%M}, was written by a newer version of this program: it may have "
        "changed what is in the reservoir, so nothing is poured"
    )
