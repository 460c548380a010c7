"""Figures that lie between two readings: how far a value goes by itself in a day, and what a reservoir drinks.

A value that is dosed moves with every dose, so its own trend says nothing of the plants; what it does between two
doses does.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime, timedelta

from rounds.book.entries import Dose, Reading, entries_of
from rounds.book.entry import Entry, RecordLike
from rounds.errors import RoundsError
from rounds.farm.stations import Reservoir
from rounds.farm.volumes import dip_to_litres
from rounds.walk.slow_change.point import Point

SHORTEST, LONGEST = timedelta(hours=12), timedelta(hours=60)
"""Two readings further apart than this, or closer, say nothing of a day."""
AT_REST = timedelta(hours=12)
"""So long after a dose the CO2 it set free has mostly left."""
RENEWED = timedelta(hours=48)
"""So long after a change-out the fresh feed still settles."""
GAIN = 0.05
"""A reservoir that gained more than this share of its working volume by itself was topped up unwritten. [-]"""
_DAY = timedelta(days=1)


def drift_points(item_id: str, records: Iterable[RecordLike | Entry]) -> tuple[Point, ...]:
    """How far a dosed value went by itself in a day, between readings without a dose between or shortly before. [/d]"""
    found: list[Point] = []
    last: Point | None = None
    free_from: datetime | None = None
    for entry in sorted(entries_of(records), key=lambda e: e.measured_at):
        if isinstance(entry, Dose):
            at_rest = entry.measured_at + (RENEWED if entry.renews else AT_REST)
            free_from, last = max(free_from or entry.measured_at, at_rest), None
        read = _read(item_id, entry)
        if read is None or (free_from is not None and read.at < free_from):
            continue
        found += _drift(last, read)
        last = read if last is None or read.at - last.at >= SHORTEST else last
    return tuple(found)


def _drift(last: Point | None, read: Point) -> list[Point]:
    """How far it went in a day between two readings; nothing where they lie too near or too far apart. [/d]"""
    if last is None or not SHORTEST <= read.at - last.at <= LONGEST:
        return []
    return [Point(at=read.at, value=(read.value - last.value) / ((read.at - last.at) / _DAY))]


def _read(item_id: str, entry: Entry) -> Point | None:
    """A reading of the item, as a point; None for every other entry."""
    value = entry.number
    is_read = isinstance(entry, Reading) and entry.item == item_id and value is not None
    return Point(at=entry.measured_at, value=value) if is_read and value is not None else None


def drunk_points(reservoir: Reservoir, records: Sequence[RecordLike | Entry]) -> tuple[Point, ...]:
    """What a reservoir drank in a day, from one dip to the next. [L/d]"""
    return tuple(
        Point(at=until, value=litres / (hours / 24.0))
        for until, litres, hours in drunk_between_dips(reservoir, records)
        if SHORTEST <= timedelta(hours=hours) <= LONGEST
    )


def drunk_between_dips(
    reservoir: Reservoir, records: Iterable[RecordLike | Entry]
) -> Iterator[tuple[datetime, float, float]]:
    """When each dip was made, the litres gone since the one before, and the hours between.

    What was poured in is counted in; stretches with a change-out or an impossible gain are left out.
    """
    held: tuple[datetime, float] | None = None  # the dip, and what would be there by now had nothing been drunk
    for record in entries_of(records):
        if isinstance(record, Dose) and held is not None:
            poured = -record.litres if record.drains else record.litres
            held = None if record.renews else (held[0], held[1] + poured)
        litres = _dipped_l(reservoir, record)
        if litres is None:
            continue
        if held is not None and held[1] - litres > -GAIN * reservoir.working_volume_l:
            hours = (record.measured_at - held[0]).total_seconds() / 3600.0
            yield record.measured_at, held[1] - litres, hours
        held = (record.measured_at, litres)


def _dipped_l(reservoir: Reservoir, entry: Entry) -> float | None:
    value = entry.number
    if not isinstance(entry, Reading) or entry.item != "dip" or value is None:
        return None
    try:
        return dip_to_litres(reservoir, value)[0]
    except RoundsError:
        return None
