"""What is mixing, and until when: read from the steps that were done, so that a power cut stops no clock."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from rounds.book.actions import LONGEST_WAIT_H
from rounds.book.entries import Done, Dose, GivenUp, PutOff, entries_of
from rounds.book.offer import Step
from rounds.book.offered import Offer
from rounds.walk.session import Session


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
    entries = entries_of(session.history.records(since=since))
    last: dict[str, Wait | None] = {}
    for entry in entries:
        if isinstance(entry, Dose | Done):
            last[entry.station] = _wait_of(session, entry)
        elif isinstance(entry, Offer | PutOff | GivenUp):
            last[entry.station] = None
    running = (wait for wait in last.values() if wait is not None and wait.station_id in session.farm.stations)
    return sorted(running, key=lambda wait: wait.until)


def _wait_of(session: Session, done: Dose | Done) -> Wait | None:
    steps, number = _steps_of(session, done), done.step_number or 0
    step, following = steps.get(number), steps.get(number + 1)
    if step is None or following is None or step.wait_min <= 0 or following.action == "recheck":
        return None
    until = done.measured_at + timedelta(minutes=step.wait_min)
    what = "then read it again" if following.action == "read_again" else "then the next step"
    return Wait(station_id=done.station, until=until, what=what)


def _steps_of(session: Session, done: Dose | Done) -> dict[int, Step]:
    """The steps of the correction that this belongs to, by number."""
    record = session.history.get(done.correction_id) if done.correction_id is not None else None
    return {step.number: step for step in Offer(record).steps} if record is not None else {}
