"""Taking back what whoever walks wrote last: found in the record, said in words, taken back once that is confirmed."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from rounds.book.entries import (
    Check,
    Count,
    Doing,
    Done,
    Dose,
    GivenUp,
    Note,
    PutOff,
    Reading,
    Settled,
    Skip,
    entry_of,
)
from rounds.errors import RoundsError
from rounds.history.record import Record
from rounds.walk.answering import take_back
from rounds.walk.asked_first import ITEMS, SKIPPED
from rounds.walk.carrying_out import BY_THEMSELVES, WRITTEN_AS
from rounds.walk.daybook.sentences import record_text
from rounds.walk.dialogue import Aside, Reply
from rounds.walk.session import Session
from rounds.walk.wording import when

SAID = Reading | Check | Skip | Note | Count | Dose | Done | Doing | Settled | PutOff | GivenUp
"""What a person wrote down by saying it; what follows from it, such as a correction, goes with it."""
NOTHING = "You have written nothing down today that can be taken back."
_ANSWERED = frozenset(WRITTEN_AS.get(action, action) for action in ITEMS)
_MOST_TOLD = 6


def last_written(session: Session, *, station_id: str | None = None, correction_id: str = "") -> tuple[Record, ...]:
    """What this person wrote down last today, all that was saved in one go, the newest first.

    Parameters
    ----------
    station_id : str, optional
        Only what was written at one station.
    correction_id : str
        Only the steps of one correction, and the answers to what corrections ask.
    """
    records = session.history.records(since=session.day_began(), station=station_id)
    mine = [each for each in records if isinstance(entry_of(each), SAID) and each.person == session.person_name()]
    if correction_id:
        mine = [each for each in mine if _is_of(each, correction_id)]
    newest = sorted(mine, key=lambda each: each.rank, reverse=True)
    count = next((n for n, each in enumerate(newest) if not _follows(each)), 0)
    return (*newest[:count], *_saved_with(newest[count], newest)) if newest else ()


def ask_to_take_back(session: Session, found: Sequence[Record], then: Callable[[Reply], Reply]) -> Aside:
    """The question whether it is taken back, with what it is; Enter alone says yes.

    Parameters
    ----------
    then : callable
        Gets what is replied once it is taken back, and says where that leads.
    """
    told = [record_text(session, each) for each in reversed(found) if not _follows(each)]
    what = "; ".join(told[:_MOST_TOLD]) + (f"; and {len(told) - _MOST_TOLD} more" if len(told) > _MOST_TOLD else "")
    poured = any(isinstance(entry_of(each), Dose) for each in found)
    at = when(found[-1].measured_at, session.now(), session.zone)
    return Aside(
        code="undo",
        text=f"Take back what was written at {at}? {what}",
        hint=("Only if it was not poured. " if poured else "") + "Enter takes it back; Esc leaves it.",
        settle=poured,
        enter_confirms=True,
        take=lambda _: _taken_back(session, found, then),
    )


def _taken_back(session: Session, found: Sequence[Record], then: Callable[[Reply], Reply]) -> Reply:
    again: list[Record] = []
    try:
        for record in found:
            again += take_back(session, record)
    except RoundsError as error:
        return Reply(message=f"✗ {error}", accepted=False)
    told = f" It counts again: {'; '.join(record_text(session, each) for each in again)}." if again else ""
    return then(Reply(message=f"Taken back; the record keeps both.{told}"))


def _is_of(record: Record, correction_id: str) -> bool:
    """Whether it is a step of a correction, or an answer to what corrections ask."""
    entry = entry_of(record)
    if isinstance(entry, Reading):
        return entry.item in ITEMS.values()
    return isinstance(entry, Dose | Done) and entry.correction_id == correction_id


def _follows(record: Record) -> bool:
    """Whether it was written by itself behind the one before: a pump that runs, a question that is answered."""
    if not isinstance(entry_of(record), Done):
        return False
    return record.item in BY_THEMSELVES or (record.item in _ANSWERED and SKIPPED not in record.marks)


def _saved_with(record: Record, among: Sequence[Record]) -> list[Record]:
    if record.saved_with is None:
        return [record]
    first, last = record.saved_with
    return [each for each in among if each.device == record.device and first <= each.seq <= last]
