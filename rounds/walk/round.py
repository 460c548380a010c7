"""A round: started, broken off, taken up again, closed. All of it is read from the history."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from rounds.book.entries import RoundMark, entry_of
from rounds.checklist.due import ROUND_STARTS
from rounds.history.record import Draft, Record
from rounds.walk.session import Session

STARTED, CLOSED = "started", "closed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Round:
    """One walk over the farm by one person."""

    id: str
    name: str
    started_at: datetime
    person: str
    day: date
    """The day it belongs to, however late it is walked."""


def open_round(session: Session, name: str) -> Round | None:
    """The round of that name that was started today and not closed."""
    last = _last_of_today(session, name)
    return _round_of(session, last) if last is not None and last.value == STARTED else None


def left_open(session: Session) -> list[Round]:
    """The rounds of earlier days that nobody closed, oldest first. No month is opened for it."""
    newest = (session.history.latest_by_item().get(("", name)) for name in ROUND_STARTS)
    open_ones = [_round_of(session, r) for r in newest if r is not None and (r.kind, r.value) == ("round", STARTED)]
    earlier = [walk for walk in open_ones if walk.day < session.now().date()]
    return sorted(earlier, key=lambda walk: walk.started_at)


def closed_today(session: Session, name: str) -> bool:
    """Whether today's round of that name has been closed; one closed after midnight was yesterday's."""
    last = _last_of_today(session, name)
    return last is not None and last.value == CLOSED


def current_round(session: Session) -> str:
    """The round that comes next: the morning's until it is closed, then the one of this time of day."""
    return session.round_name() if closed_today(session, "morning") else "morning"


def _last_of_today(session: Session, name: str) -> Record | None:
    """The newest word on the round of that name which was started today."""
    last, today = session.history.latest_by_item().get(("", name)), session.now().date()
    if (
        last is None
        or not isinstance(entry_of(last), RoundMark)
        or last.measured_at.astimezone(session.zone).date() < today
    ):
        return None
    if _day_started(session, last) == today:
        return last
    found = [r for r in _round_records(session, days=1) if r.item == name and _day_started(session, r) == today]
    return found[-1] if found else None


def _day_started(session: Session, record: Record) -> date:
    """The day a round belongs to: its id begins with it."""
    try:
        return date.fromisoformat((record.round_id or "")[:10])
    except ValueError:
        return record.measured_at.astimezone(session.zone).date()


def start_round(session: Session, name: str) -> Round:
    """Start a round, or take up the one that is open."""
    existing = open_round(session, name)
    if existing is not None:
        return existing
    now = session.now()
    before = {record.round_id for record in _round_records(session, days=2)}
    base = f"{now.date().isoformat()}-{name}"
    numbered = [base, *(f"{base}-{n}" for n in range(2, 100))]
    round_id = next((each for each in numbered if each not in before), f"{base}-{now.timestamp():.0f}")
    draft = Draft(
        kind="round", measured_at=now, item=name, value=STARTED, person=session.person_name(), round_id=round_id
    )
    (record,) = session.save(draft)
    return _round_of(session, record)


def close_round(session: Session, walk: Round, summary: dict[str, Any]) -> Record:
    """Close a round, with what it left open in its record."""
    draft = Draft(
        kind="round",
        measured_at=session.now(),
        item=walk.name,
        value=CLOSED,
        person=session.person_name(),
        round_id=walk.id,
        data=summary,
    )
    (record,) = session.save(draft)
    session.history.afterwards(lambda: _sign(session))
    return record


def _sign(session: Session) -> None:
    from rounds.trust.signing import sign_quietly  # it comes into play beside everything else

    sign_quietly(session.history, session.now())


def _round_of(session: Session, record: Record) -> Round:
    return Round(
        id=record.round_id or record.id,
        name=record.item,
        started_at=record.measured_at,
        person=record.person,
        day=_day_started(session, record),
    )


def _round_records(session: Session, *, days: int) -> list[Record]:
    return session.history.records(kind="round", since=session.now() - timedelta(days=days))
