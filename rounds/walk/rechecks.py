"""Rechecks on the walk: which reservoir has mixed and wants to be read again, or to have its next step."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from rounds.book.entries import Dose, PutOff, Skip, entries_of, only
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
    found = [
        Call(station_id=each.station_id, since=_last_done(each), what="next step")
        for each in open_corrections(session)
        if each.station_id not in mixing and each.done
    ]
    taken = {call.station_id for call in found} | mixing
    found += [
        Call(station_id=station, since=due, what="read again")
        for station, due in _rechecks(session)
        if due <= now and station not in taken
    ]
    return sorted(found, key=lambda call: call.since)


def _last_done(correction: OpenCorrection) -> datetime:
    return max((record.measured_at for record in correction.done.values()), default=correction.offered_at)


def _rechecks(session: Session) -> list[tuple[str, datetime]]:
    """Reservoirs whose last dose has not been tested yet, and when it can be. Put off or left out, they do not call."""
    now = session.now()
    entries = entries_of(session.history.records(since=now - timedelta(hours=LOOK_BACK_H)))
    unfinished = {each.station_id for each in open_corrections(session)}
    dosed = {dose.station for dose in only(Dose, entries) if dose.correction_id}
    found = []
    for station in session.farm.stations.values():
        if not isinstance(station, Reservoir) or station.id not in dosed - unfinished:
            continue
        from rounds.advice.rechecks import recheck_due  # the chemistry is not needed before something was poured

        mixed = [each for each in recheck_due(session.farm, entries, station.id, now) if each.stage == "mixed"]
        last_dose = max(dose.measured_at for dose in only(Dose, entries, station.id))
        left = [e for e in entries if e.station == station.id and isinstance(e, PutOff | Skip)]
        if mixed and not any(each.measured_at >= last_dose for each in left):
            found.append((station.id, mixed[0].due_at))
    return found
