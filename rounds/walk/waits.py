"""What is mixing, and until when: read from the steps that were done, so that a power cut stops no clock."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from rounds.history.record import Record
from rounds.walk.session import Session

LONGEST_WAIT_H = 6.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Wait:
    """One reservoir that has to turn over before the next thing is done to it."""

    station_id: str
    until: datetime
    what: str

    def seconds_left(self, now: datetime) -> float:
        """How long it still takes; negative once it is over. [s]"""
        return (self.until - now).total_seconds()


def mixing_waits(session: Session) -> list[Wait]:
    """Waits between two steps that were begun, where nothing has been done since, soonest first."""
    since = session.now() - timedelta(hours=LONGEST_WAIT_H)
    records = session.history.records(since=since)
    offers = {record.id: record for record in records if record.kind == "correction"}
    last: dict[str, Wait | None] = {}
    for record in records:
        if record.kind in ("dose", "step"):
            last[record.station] = _wait_of(record, offers)
        elif record.kind in ("correction", "put-off", "given-up"):
            last[record.station] = None
    running = (wait for wait in last.values() if wait is not None and wait.station_id in session.farm.stations)
    return sorted(running, key=lambda wait: wait.until)


def _wait_of(record: Record, offers: dict[str, Record]) -> Wait | None:
    offer = offers.get(str(record.data.get("correction")))
    number = record.data.get("step")
    steps = offer.data.get("steps", ()) if offer is not None else ()
    if not isinstance(number, int) or not 1 <= number <= len(steps):
        return None
    minutes = float(steps[number - 1].get("wait_min", 0.0))
    if minutes <= 0 or number >= len(steps) or steps[number].get("action") == "recheck":
        return None
    until = record.measured_at + timedelta(minutes=minutes)
    what = "then read it again" if steps[number].get("action") == "read_again" else "then the next step"
    return Wait(station_id=record.station, until=until, what=what)
