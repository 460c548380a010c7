"""From the record to series: readings of each item, what was put right meanwhile, and what lies between readings."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta, tzinfo
from statistics import median

from rounds.book.entries import Check, Reading, Seen, entries_of, entry_of, only
from rounds.book.entry import RecordLike
from rounds.checklist.answers import band_of
from rounds.checklist.model import Item
from rounds.farm.stations import Reservoir, StationBase
from rounds.history.columns import Number
from rounds.history.query import order
from rounds.history.record import Record
from rounds.walk.session import Session
from rounds.walk.slow_change.derived import drift_points, drunk_points
from rounds.walk.slow_change.point import Point
from rounds.walk.slow_change.series import LONGEST_LOOK_BACK, Series

SEEN = "seen"
"""The kind of a record that says a slow change was looked at; `data.put_right` where something was done about it."""
MARK = "slow:"
"""Stands before the item in such a record, so that it is no answer to the item itself."""
BESIDE_NUMBERS = frozenset({"dose", SEEN})
"""Kinds of record that a series hangs on beside its numbers."""
SAME_TIME_H = 4.5
"""A reading made further than this from the usual time of day is not compared: noon is warmer than dawn. [h]"""


def all_series(session: Session, *, station_id: str | None = None) -> list[Series]:
    """The series of every numeric reading, in the order of the walk; what several stations share comes last.

    Parameters
    ----------
    station_id : str, optional
        Only those of this station.
    """
    by_station = _by_station(session, station_id)
    stations = [session.farm.station(each) for each in (session.walk_order() if station_id is None else [station_id])]
    found = [series for station in stations for series in _own_series(session, station, by_station[station.id])]
    if station_id is None:
        found += _shared_series(session, stations, by_station)
    return [series for series in found if series.points]


def _own_series(session: Session, station: StationBase, records: Sequence[RecordLike]) -> list[Series]:
    """The series of what is read at a station for itself."""
    items = (item for item in session.items(station) if item.is_number and item.follows is None and item.share is None)
    return [series for item in items for series in _series_of(session, station, item, records)]


def _shared_series(
    session: Session, stations: Iterable[StationBase], by_station: Mapping[str, Sequence[RecordLike]]
) -> list[Series]:
    """One series for each item that one station of a kind answers for all."""
    found: dict[tuple[str, str], Series] = {}
    for station in stations:
        for item in session.items(station):
            if item.is_number and item.share is not None and (station.kind, item.id) not in found:
                found[station.kind, item.id] = _shared(session, station, item, by_station)
    return list(found.values())


def _by_station(session: Session, station_id: str | None) -> dict[str, list[RecordLike]]:
    """The records that are looked over, by station."""
    now = session.now()
    since, until = now - LONGEST_LOOK_BACK, now + timedelta(seconds=1)
    numbers = session.history.numbers(since=since, until=until, station=station_id)
    others = session.history.records(since=since, until=until, station=station_id, kinds=BESIDE_NUMBERS)
    both: list[Number | Record] = [*numbers, *others]
    found: dict[str, list[RecordLike]] = defaultdict(list)
    for record in sorted(both, key=order):
        found[record.station].append(record)
    return found


def _series_of(session: Session, station: StationBase, item: Item, records: Sequence[RecordLike]) -> list[Series]:
    meter = session.farm.meter_for(item.id) if isinstance(station, Reservoir) else None
    again = {each.id for each in session.items(station) if each.follows == item.id and each.unit == item.unit}
    plain = Series(
        station_id=station.id, place=station.name, item=item, figure="value", label=item.label, unit=item.unit,
        decimals=item.decimals if item.type == "reading" else 0,
        band=band_of(item, session.farm, station) if item.type == "reading" else None,
        tolerance=meter.tolerance.get(item.id, 0.0) if meter else 0.0,
        points=_points(item, again, records, session.zone), seen_at=_seen(records, item),
        as_of=session.now(),
    )  # fmt: skip
    derived = _derived(station, item, plain, records)
    return [plain, derived] if derived is not None else [plain]


def _derived(station: StationBase, item: Item, plain: Series, records: Sequence[RecordLike]) -> Series | None:
    figure = item.slow.figure if item.slow else "value"
    put_right = _put_right_at(records, item)
    if figure == "drift":
        points, label, unit, decimals = drift_points(item.id, records), f"{item.label} drift", "a day", item.decimals
    elif figure == "drunk" and isinstance(station, Reservoir):
        points, label, unit, decimals = drunk_points(station, records), "Litres drunk", "L a day", 1
    else:
        return None
    told = tuple(replace(p, counts=put_right is None or p.at >= put_right) for p in points)
    return replace(
        plain, figure=figure, label=label, unit=unit, decimals=decimals, band=None, tolerance=0.0, points=told
    )


def _shared(
    session: Session, station: StationBase, item: Item, by_station: Mapping[str, Sequence[RecordLike]]
) -> Series:
    """One series for what is read once for all stations of a kind, wherever it was written down."""
    homes = ("", *(each.id for each in session.farm.stations_of(station.kind)))
    records = sorted((r for home in homes for r in by_station[home]), key=lambda r: r.measured_at)
    meter = session.farm.meter_for(item.id)
    (series, *_) = _series_of(session, station, item, records)
    return replace(series, station_id="", place=meter.name if meter else session.farm.name)


def _points(item: Item, again: set[str], records: Sequence[RecordLike], zone: tzinfo) -> tuple[Point, ...]:
    """All readings of an item; those at the usual time of day since it was last put right count, one a day."""
    mine = [r for r in records if r.item == item.id or r.item in again]
    read = [Point(at=r.measured_at, value=float(r.value or 0)) for r in mine if _is_number(r, item)]
    since = _put_right_at(records, item, again)
    counted = _one_a_day(read, since, zone)
    return tuple(replace(point, counts=point.at in counted) for point in read)


def _one_a_day(read: Sequence[Point], since: datetime | None, zone: tzinfo) -> set[datetime]:
    """When the reading of each day was made that counts: the last at the usual time, or the one it was put right by."""
    usual = _usual_hour(read, zone)
    of_day: dict[date, datetime] = {}
    for point in read:
        local = point.at.astimezone(zone)
        is_usual = abs(_hour(local) - usual) <= SAME_TIME_H
        if point.at == since or (is_usual and (since is None or point.at > since)):
            of_day[local.date()] = point.at
    return set(of_day.values())


def _usual_hour(points: Iterable[Point], zone: tzinfo) -> float:
    """When on a day it is read first, as a rule."""
    first: dict[date, float] = {}
    for point in points:
        local = point.at.astimezone(zone)
        first.setdefault(local.date(), _hour(local))
    return median(first.values()) if first else 0.0


def _hour(local: datetime) -> float:
    return local.hour + local.minute / 60.0


def _put_right_at(records: Iterable[RecordLike], item: Item, again: Collection[str] = ()) -> datetime | None:
    """When something was last done about it: told so, or read once more afterwards."""
    times = [
        entry.measured_at
        for entry in entries_of(records)
        if (isinstance(entry, Seen) and entry.item == MARK + item.id and entry.put_right)
        or (isinstance(entry, Reading) and entry.item in again)
    ]
    return max(times, default=None)


def _seen(records: Iterable[RecordLike], item: Item) -> datetime | None:
    mine = [seen for seen in only(Seen, entries_of(records)) if seen.item == MARK + item.id]
    times = [seen.measured_at for seen in mine if not seen.put_right]
    return max(times, default=None)


def _is_number(record: RecordLike, item: Item) -> bool:
    """Whether a number in the item's unit was read: of another unit are those from before the checklist was changed."""
    is_read = isinstance(entry_of(record), Reading | Check) and not isinstance(record.value, bool)
    return is_read and isinstance(record.value, int | float) and (record.unit or item.unit) == item.unit
