"""Rechecks on the walk: which reservoir has mixed and wants to be read again, or to have its next step."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from rounds.history.record import Record
from rounds.walk.correcting import open_corrections
from rounds.walk.session import Session
from rounds.walk.waits import waits

LOOK_BACK_H = 20.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Call:
    """A reservoir that calls the grower back."""

    station_id: str
    since: datetime
    what: Literal["next step", "read again"]


def calls(session: Session) -> list[Call]:
    """Reservoirs that have mixed and where something is to be done now, oldest first."""
    now = session.now()
    mixing = {wait.station_id for wait in waits(session) if wait.until > now}
    found = [
        Call(station_id=each.station_id, since=_last_done(each.done, each.offered_at), what="next step")
        for each in open_corrections(session)
        if each.station_id not in mixing and each.done and each.next_step and each.next_step.action != "read_again"
    ]
    taken = {call.station_id for call in found}
    found += [call for call in _read_again(session) if call.station_id not in mixing | taken]
    return sorted(found, key=lambda call: call.since)


def _last_done(done: object, otherwise: datetime) -> datetime:
    records = list(done.values()) if isinstance(done, dict) else []
    return max((record.measured_at for record in records), default=otherwise)


def _read_again(session: Session) -> list[Call]:
    since = session.now() - timedelta(hours=LOOK_BACK_H)
    poured: dict[str, Record] = {}
    for record in session.history.records(since=since):
        if record.kind in ("dose", "step"):
            poured[record.station] = record
        elif record.kind in ("put-off", "skip") or record.item in ("ph", "ec"):
            poured.pop(record.station, None)
    return [Call(station_id=s, since=r.measured_at, what="read again") for s, r in poured.items()]
