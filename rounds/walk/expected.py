"""What an answer is held against: the last value that may be believed, and whether two readings agree."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta

from rounds.book.entries import BUFFER_4, Check, Dose, Reading, entry_of
from rounds.book.last_answers import KEPT
from rounds.book.level import inside_after
from rounds.checklist.model import Item
from rounds.errors import RoundsError
from rounds.farm.stations import Reservoir, StationBase
from rounds.farm.volumes import dip_to_litres, litres_to_dip
from rounds.history.record import DOUBTED, Record
from rounds.walk.session import Session

Value = float | int | str | bool | None
SAME: Mapping[str, float] = {"ph": 0.2, "ec": 0.1}
"""Two readings no further apart agree; as the advice has it. [-, mS/cm]"""
AGAIN_H = 6.0
"""A reading of the last hours and one that follows it are two looks at the same water. [h]"""
APART_S = 5.0
"""Typed sooner after the first, the same is the same line once more, and no second look. [s]"""
IN_BUFFER = ("buffer", BUFFER_4)
_CALIBRATED = ("calibrated", "did:calibrated")
"""The answer to the check, and the mark of what somebody did unasked."""
_MOST_PASSED_OVER = 50


def last_value(session: Session, station: StationBase, item: Item) -> Value:
    """What an item is expected to be near: its last value at a station; of a dip the level that it has become.

    Passed over for the one before are values that cannot be and those that were doubted. What a probe showed in buffer
    before it was calibrated expects nothing.
    """
    last = last_believed(session, station, item)
    if last is None:
        return None
    if item.id in IN_BUFFER and last.measured_at < _calibrated_at(session):
        return None
    level = level_now(session, station, last) if item.id == "dip" else None
    return last.value if level is None else level


def last_believed(session: Session, station: StationBase, item: Item) -> Record | None:
    """The last answer to an item that may be believed."""
    before = session.now() + timedelta(seconds=1)
    for _ in range(_MOST_PASSED_OVER):
        last = session.history.latest(station.id, item.id, before=before)
        if last is None or not isinstance(entry_of(last), Reading | Check):
            return None
        if _can_be_believed(last, item):
            return last
        before = last.measured_at
    return None


def level_now(session: Session, station: StationBase, dip: Record) -> float | None:
    """The dip that a level has become by what was poured and drained since; None where nothing was. [cm]"""
    if not isinstance(station, Reservoir) or isinstance(dip.value, str | bool) or dip.value is None:
        return None
    since = session.history.records(station=station.id, kind="dose", since=dip.measured_at)
    doses = [dose for dose in map(Dose, since) if dip.measured_at < dose.measured_at <= session.now()]
    if not doses:
        return None
    try:
        litres, outside_l = dip_to_litres(station, float(dip.value))[0], session.farm.outside_volume_l(station)
        for dose in doses:
            litres = inside_after(litres, dose, outside_l)
        return round(litres_to_dip(station, min(max(litres, 0.0), station.full_volume_l)), 1)
    except RoundsError:
        return None


def read_before(session: Session, station: StationBase, item: Item) -> Record | None:
    """The reading that a new one is a second look after: of the last hours, or kept though doubted; none poured on."""
    if item.id not in SAME:
        return None
    now = session.now()
    last = session.history.latest(station.id, item.id, kind="reading", before=now + timedelta(seconds=1))
    if last is None or DOUBTED in last.marks or now - last.measured_at < timedelta(seconds=APART_S):
        return None
    poured = session.history.latest_marks().get((station.id, "kind:dose"))
    if poured is not None and last.measured_at <= poured.measured_at <= now:
        return None
    is_young = now - last.measured_at <= timedelta(hours=AGAIN_H)
    return last if is_young or KEPT in last.marks else None


def agree(item: Item, first: Value, second: Value) -> bool:
    """Whether two readings of an item say the same."""
    if item.id not in SAME or not _is_number(first) or not _is_number(second):
        return False
    return abs(float(first) - float(second)) <= SAME[item.id] + 1e-9  # type: ignore[arg-type]


def _is_number(value: Value) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _can_be_believed(last: Record, item: Item) -> bool:
    if DOUBTED in last.marks or KEPT in last.marks:
        return False
    if item.limits is None or isinstance(last.value, str | bool) or last.value is None:
        return True
    return item.limits[0] <= last.value <= item.limits[1]


def _calibrated_at(session: Session) -> datetime:
    """When a probe was calibrated last, as far as it is on record: said unasked, or answered."""
    latest = {**session.history.latest_by_item(), **session.history.latest_marks()}
    found = [
        record.measured_at
        for (_, item), record in latest.items()
        if item in _CALIBRATED and record.value is not False and record.measured_at <= session.now()
    ]
    return max(found, default=datetime.min.replace(tzinfo=session.zone))
