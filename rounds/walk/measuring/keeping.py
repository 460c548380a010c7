"""What was entered of a measurement, durable answer by answer, and the number that it comes to."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any

import msgspec

from rounds.book.entries import Measuring, entry_of
from rounds.book.measurements import item_of, station_of
from rounds.history.record import Draft, Record
from rounds.walk.measuring.asking import Outcome
from rounds.walk.session import Session


class Answered(msgspec.Struct, frozen=True):
    """A line that was taken, and when."""

    text: str
    at: datetime


def keep_answers(
    session: Session, what: str, subject: str, answers: Sequence[Answered], before: Record | None, round_id: str | None
) -> Record:
    """Write down all that was entered so far, in place of what was written down before.

    Raises
    ------
    NotSaved, Refused
        Where it could not be written, or is not theirs to write.
    """
    draft = Draft(
        kind="measuring",
        measured_at=session.now(),
        station=station_of(what, subject),
        item=item_of(what, subject, begun=True),
        person=session.person_name(),
        typed=answers[-1].text if answers else "",
        round_id=round_id,
        replaces=None if before is None else before.id,
        data={
            "answers": [each.text for each in answers],
            "answered_at": [each.at.isoformat() for each in answers],
            "touches": [],
        },
    )
    return session.save(draft)[0]


def begun(session: Session, what: str, subject: str) -> tuple[Record | None, tuple[Answered, ...]]:
    """What stands of a measurement that was begun and not ended; nothing where none was."""
    place = station_of(what, subject), item_of(what, subject, begun=True)
    record = session.history.latest_marks().get(place)
    entry = None if record is None else entry_of(record)
    if record is None or not isinstance(entry, Measuring):
        return None, ()
    times = [each.astimezone(session.zone) for each in entry.answered_at]
    whole = len(times) == len(entry.answers)
    return record, tuple(map(Answered, entry.answers, times if whole else [record.measured_at] * len(entry.answers)))


def keep_outcome(
    session: Session, what: str, subject: str, outcome: Outcome, before: Record | None, round_id: str | None
) -> Record:
    """Write the number down: it counts from now on. Taken back, what was entered stands again.

    Raises
    ------
    NotSaved, Refused
        Where it could not be written, or is not theirs to write.
    """
    usual: dict[str, Any] = {"sd": outcome.sd, "how": outcome.how, "touches": []}
    draft = Draft(
        kind="measured",
        measured_at=session.now(),
        station=station_of(what, subject),
        item=item_of(what, subject),
        person=session.person_name(),
        value=outcome.value,
        unit=outcome.unit,
        meter=outcome.meter,
        round_id=round_id,
        replaces=None if before is None else before.id,
        data=usual | dict(outcome.beside),
    )
    return session.save(draft)[0]
