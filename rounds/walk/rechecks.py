"""Rechecks on the walk: which reservoir has mixed and wants to be read again, or to have its next step."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from rounds.book.entries import Dose, PutOff, Skip, entries_of, only
from rounds.book.entry import Entry
from rounds.farm.stations import Reservoir
from rounds.walk.open_corrections import OpenCorrection, open_corrections
from rounds.walk.session import Session
from rounds.walk.waits import Wait, mixing_waits

LOOK_BACK_H = 20.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Call:
    """A reservoir that calls the grower back."""

    station_id: str
    since: datetime
    what: Literal["next step", "read again"]


def waits(session: Session) -> list[Wait]:
    """Everything that mixes and the time it takes, the soonest first."""
    between_steps = mixing_waits(session)
    taken = {wait.station_id for wait in between_steps}
    rechecks = [
        Wait(station_id=station, until=due, what="then read it again")
        for station, due in _rechecks(session)
        if station not in taken
    ]
    return sorted(between_steps + rechecks, key=lambda wait: wait.until)


def calls(session: Session) -> list[Call]:
    """Reservoirs that have mixed and where something is to be done now, oldest first."""
    now = session.now()
    mixing = {wait.station_id for wait in mixing_waits(session) if wait.until > now}
    steps = [call for call in _next_steps(session) if call.station_id not in mixing]
    taken = {call.station_id for call in steps} | mixing
    again = [call for call in _to_read_again(session, now) if call.station_id not in taken]
    return sorted(steps + again, key=lambda call: call.since)


def _next_steps(session: Session) -> list[Call]:
    return [
        Call(station_id=each.station_id, since=_last_done(each), what="next step")
        for each in open_corrections(session)
        if each.done
    ]


def _to_read_again(session: Session, now: datetime) -> list[Call]:
    return [Call(station_id=station, since=due, what="read again") for station, due in _rechecks(session) if due <= now]


def _last_done(correction: OpenCorrection) -> datetime:
    return max((record.measured_at for record in correction.done.values()), default=correction.offered_at)


def _rechecks(session: Session) -> list[tuple[str, datetime]]:
    """Reservoirs whose last dose has not been tested yet, and when it can be. Put off or left out, they do not call."""
    now = session.now()
    entries = entries_of(session.history.records(since=now - timedelta(hours=LOOK_BACK_H)))
    due = ((station, _due_at(session, entries, station, now)) for station in _untested(session, entries))
    return [(station, at) for station, at in due if at is not None and not _is_left(entries, station)]


def _untested(session: Session, entries: list[Entry]) -> list[str]:
    """Reservoirs with a dose of a correction of which no step is open any more."""
    unfinished = {each.station_id for each in open_corrections(session)}
    dosed = {dose.station for dose in only(Dose, entries) if dose.correction_id} - unfinished
    return [each.id for each in session.farm.stations.values() if isinstance(each, Reservoir) and each.id in dosed]


def _due_at(session: Session, entries: list[Entry], station_id: str, now: datetime) -> datetime | None:
    """When its last dose can be tested; None where that was done."""
    from rounds.advice.rechecks import recheck_due  # the chemistry is not needed before something was poured

    due = recheck_due(session.farm, entries, station_id, now)
    return next((each.due_at for each in due if each.stage == "mixed"), None)


def _is_left(entries: list[Entry], station_id: str) -> bool:
    """Whether it was put off or left out since its last dose."""
    last_dose = max(dose.measured_at for dose in only(Dose, entries, station_id))
    left = [e for e in entries if e.station == station_id and isinstance(e, PutOff | Skip)]
    return any(each.measured_at >= last_dose for each in left)
