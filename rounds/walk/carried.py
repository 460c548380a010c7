"""What an earlier round left open and comes first now: things put off, stations left out or not reached."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from rounds.book.entries import Check, Reading, RoundMark, Skip, entry_of
from rounds.history.record import Record
from rounds.walk.session import Session

LOOK_BACK_DAYS = 7
_DONE_SINCE = ("kind:dose", "kind:correction", "ph", "ec")
"""What takes a correction that was put off out of the list."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Carried:
    """One thing that an earlier round left open."""

    station_id: str
    what: str
    since: datetime
    brief: str = ""
    """The same in fewer words, for a narrow screen; empty where there are none."""


def carried_over(session: Session) -> list[Carried]:
    """Everything that is still open from before, oldest first. No month is opened for it."""
    newest = session.history.latest_by_item() | session.history.latest_marks()
    earliest = session.now() - timedelta(days=LOOK_BACK_DAYS)
    found = [*_put_off(newest), *_left_out(newest), *_not_reached(session, newest)]
    return sorted((each for each in found if each.since >= earliest), key=lambda carried: carried.since)


Newest = dict[tuple[str, str], Record]


def _put_off(newest: Newest) -> list[Carried]:
    """Corrections that were put off, and after which nothing was read or done at that station."""
    found = []
    for (station, mark), record in newest.items():
        since = (newest.get((station, each)) for each in _DONE_SINCE)
        later = any(each is not None and each.measured_at > record.measured_at for each in since)
        if mark == "kind:put-off" and not later:
            reason = f" ({record.note})" if record.note else ""
            brief = f"put off{reason}"
            found.append(Carried(station_id=station, what=f"correction {brief}", brief=brief, since=record.measured_at))
    return found


def _left_out(newest: Newest) -> list[Carried]:
    return [
        Carried(station_id=station, what=f"left out: {record.note or 'no reason'}", since=record.measured_at)
        for (station, mark), record in newest.items()
        if mark == "kind:skip" and not record.item and not _looked_at_since(newest, station, record.measured_at)
    ]


def _not_reached(session: Session, newest: Newest) -> list[Carried]:
    last = newest.get(("", "kind:round"))
    mark = RoundMark(last) if last is not None else None
    if mark is None or not mark.is_closed:
        return []
    return [
        Carried(station_id=station, what="not reached on the last round", since=mark.measured_at)
        for station in mark.left_open
        if station in session.farm.stations and not _looked_at_since(newest, station, mark.measured_at)
    ]


def _looked_at_since(newest: Newest, station: str, moment: datetime) -> bool:
    return any(
        place == station and record.measured_at > moment and isinstance(entry_of(record), Reading | Check | Skip)
        for (place, _), record in newest.items()
    )
