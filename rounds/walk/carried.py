"""What an earlier round left open and comes first now: things put off, stations left out or not reached."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from rounds.history.record import Record
from rounds.walk.round import last_closed
from rounds.walk.session import Session

LOOK_BACK_DAYS = 7


@dataclass(frozen=True, slots=True, kw_only=True)
class Carried:
    """One thing that an earlier round left open."""

    station_id: str
    what: str
    since: datetime


def carried_over(session: Session) -> list[Carried]:
    """Everything that is still open from before, oldest first."""
    since = session.now() - timedelta(days=LOOK_BACK_DAYS)
    records = session.history.records(since=since)
    found = [*_put_off(records), *_skipped_last_time(session), *_left_open(session)]
    return sorted(found, key=lambda carried: carried.since)


def _put_off(records: list[Record]) -> list[Carried]:
    """Corrections that were put off, and after which nothing was done at that station."""
    found = []
    for record in records:
        if record.kind != "put-off":
            continue
        later = [r for r in records if r.station == record.station and r.measured_at > record.measured_at]
        if not any(r.kind in ("dose", "correction", "reading") for r in later):
            reason = f" ({record.note})" if record.note else ""
            found.append(
                Carried(station_id=record.station, what=f"correction put off{reason}", since=record.measured_at)
            )
    return found


def _skipped_last_time(session: Session) -> list[Carried]:
    last = last_closed(session)
    if last is None:
        return []
    skips = session.history.records(kind="skip", round_id=last.round_id, since=last.measured_at - timedelta(days=1))
    return [
        Carried(station_id=skip.station, what=f"left out: {skip.note or 'no reason'}", since=skip.measured_at)
        for skip in skips
        if not _looked_at_since(session, skip)
    ]


def _left_open(session: Session) -> list[Carried]:
    last = last_closed(session)
    stations = last.data.get("open", ()) if last is not None else ()
    return [
        Carried(station_id=str(station), what="not reached on the last round", since=last.measured_at)
        for station in stations
        if last is not None
        and not session.history.records(station=str(station), since=last.measured_at + timedelta(seconds=1))
    ]


def _looked_at_since(session: Session, skip: Record) -> bool:
    later = session.history.records(station=skip.station, since=skip.measured_at + timedelta(microseconds=1))
    return any(record.kind in ("reading", "check") for record in later)
