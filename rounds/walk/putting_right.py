"""Putting an entry of the daybook right: the right answer is judged as if it had been typed into its field.

The record never changes: what is right replaces what was wrong, with the reason, and both stay.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import msgspec

from rounds.book.entries import Check, Count, Dose, Reading, entry_of
from rounds.book.entry import REASON, data_beside
from rounds.book.last_answers import ALL_WELL, KEPT
from rounds.checklist.answers import seen_text
from rounds.checklist.check_words import CheckEntry, answers_of, part_checks, read_check, word_for
from rounds.checklist.judgement import Judgement, judge
from rounds.checklist.load import ALIVE
from rounds.checklist.model import Item
from rounds.errors import BadInput, OutOfRange, Refused
from rounds.farm.stations import StationBase
from rounds.history.record import DOUBTED, Draft, Record
from rounds.text import clean_line
from rounds.units import parse_quantity
from rounds.walk.error_texts import in_words
from rounds.walk.session import Session
from rounds.walk.stops import ALIVE_STATION

MOST = 1_000_000
REASONS = ("mistyped", "misread", "wrong station", "the meter was off")
"""What is put right most often, by the digit that is typed for it."""


def is_rightable(session: Session, record: Record) -> bool:
    """Whether a record holds one answer that can be put right: a number, a check, or an all-well."""
    entry = entry_of(record)
    if record.void or isinstance(entry, Reading | Dose | Count):
        return not record.void
    return isinstance(entry, Check) and bool(_covered(session, record) or _answered(session, record))


def refuse_what_is_not_theirs(session: Session, record: Record) -> None:
    """Say that a helper puts right what they wrote themselves, and nothing else.

    Raises
    ------
    Refused
        With who may.
    """
    if session.is_helper and record.person not in ("", session.person_name()):
        raise in_words(Refused, "not-yours", person=record.person)


def question_of(session: Session, record: Record) -> str:
    """What is asked for in place of an entry, with the answers there are."""
    covered, item = _covered(session, record), _answered(session, record)
    if covered:
        words = ", ".join(word_for(each, covered) for each in covered)
        return f"Which of these was not well? Type it as on the walk: {words}"
    if item is None:
        return f"What is right, in {record.unit or 'numbers'}?"
    if item.type == "yes_no":
        return f"What is right?  y {seen_text(item, True)}   n {seen_text(item, False)}"
    return f"What is right?  {answers_of(item)}"


def read_reason(text: str) -> str:
    """A reason in words; a digit stands for one of the usual ones."""
    typed = clean_line(text.strip(), 200)
    return REASONS[int(typed) - 1] if typed in {str(n) for n in range(1, len(REASONS) + 1)} else typed


def right_answer(session: Session, record: Record, text: str) -> str:
    """Read what an entry should have been, and say why it is hard to believe; empty where it is not.

    Raises
    ------
    BadInput
        For what is no answer to it, and for a value that cannot be.
    """
    if _covered(session, record):
        _parted(session, record, text)
        return ""
    item = _answered(session, record)
    if item is None:
        return right_value(session, record, text)[1]
    read_check(text, item)
    return ""


def right_value(session: Session, record: Record, text: str) -> tuple[float, str]:
    """Read what a reading, a dose or a stock should have been.

    Returns
    -------
    float
        In the unit of the record.
    str
        Why it is hard to believe; empty where it is not.

    Raises
    ------
    BadInput
        For what is no number in that unit, and for a value that cannot be.
    """
    value = parse_quantity(text, usual=record.unit or "", gallon=session.farm.place.gallon)
    if not isinstance(entry_of(record), Reading):
        _refuse_impossible_amount(record, value)
        return value, ""
    judgement = _judged(session, record, value)
    if judgement is None:
        _refuse_impossible_reading(value)
        return value, ""
    if judgement.verdict == "impossible":
        raise in_words(OutOfRange, "right-impossible", why=judgement.text)
    return value, judgement.text if judgement.verdict == "doubtful" else ""


def put_right(session: Session, record: Record, text: str, why: str = "") -> Record:
    """Write the right answer down in place of a wrong one, which stays in the record.

    Parameters
    ----------
    why : str
        The reason, as it was given.

    Returns
    -------
    Record
        What was written down; of an "all well" the first check that was not.

    Raises
    ------
    BadInput
        For a value that cannot be.
    Refused
        Where it is not theirs.
    """
    if not is_rightable(session, record):
        raise in_words(BadInput, "right-no-number")
    refuse_what_is_not_theirs(session, record)
    if _covered(session, record):
        return session.save(*_instead_of_all_well(session, record, text, why))[0]
    item = _answered(session, record)
    if item is not None:
        return session.save(_anew(session, record, why, value=read_check(text, item), typed=text))[0]
    value, doubt = right_value(session, record, text)
    marks = tuple(mark for mark in record.marks if mark != KEPT) + ((KEPT,) if doubt else ())
    return session.save(_anew(session, record, why, value=value, typed=text, marks=marks))[0]


def _anew(session: Session, record: Record, why: str, **changed: Any) -> Draft:
    """The draft of what replaces a record."""
    fields = {name: getattr(record, name) for name in Draft.__struct_fields__}
    data = data_beside(record, **({REASON: why} if why else {}))
    return Draft(**fields | {"person": session.person_name(), "data": data, "replaces": record.id} | changed)


def _instead_of_all_well(session: Session, record: Record, text: str, why: str) -> list[Draft]:
    """The checks that were not well, and the "all well" without them; where none is left, a check takes its place."""
    said = _parted(session, record, text)
    named = {entry.item.id for entry in said}
    rest = [item for item in Check(record).covers if item not in named]
    checks = [
        _anew(session, record, why, item=entry.item.id, value=entry.value, typed=entry.typed,
              data={REASON: why} if why else {}, replaces=None)
        for entry in said
    ]  # fmt: skip
    if not rest:
        return [msgspec.structs.replace(checks[0], replaces=record.id), *checks[1:]]
    beside = data_beside(record, covers=rest, **({REASON: why} if why else {}))
    return [*checks, _anew(session, record, why, data=beside)]


def _parted(session: Session, record: Record, text: str) -> tuple[CheckEntry, ...]:
    """The checks of an "all well" that a line says were not."""
    covered = _covered(session, record)
    parted = part_checks(text, covered)
    if parted.problems:
        raise in_words(BadInput, "right-not-clear", why=parted.problems[0])
    if parted.rest or not parted.entries or len({e.item.id for e in parted.entries}) < len(parted.entries):
        known = ", ".join(word_for(each, covered) for each in covered)
        raise in_words(BadInput, "right-which", text=clean_line(parted.rest or text, 40), known=known)
    return parted.entries


def _covered(session: Session, record: Record) -> Sequence[Item]:
    """The checks that an "all well" answered, as far as the checklist still has them."""
    entry = entry_of(record)
    if not isinstance(entry, Check) or record.item != ALL_WELL:
        return ()
    found = (session.checklists.item(_kind(session, record), item) for item in entry.covers)
    return [item for item in found if item is not None and item.type != "note"]


def _answered(session: Session, record: Record) -> Item | None:
    """The item that a check answered, where it takes an answer."""
    if not isinstance(entry_of(record), Check):
        return None
    item = session.checklists.item(_kind(session, record), record.item)
    return item if item is not None and item.type in ("yes_no", "choice", "count") else None


def _station(session: Session, record: Record) -> StationBase | None:
    return session.farm.stations.get(record.station) if record.station else ALIVE_STATION


def _kind(session: Session, record: Record) -> str:
    """The checklist that a record answers; that of the farm as a whole where there is no such station."""
    station = session.farm.stations.get(record.station)
    return station.kind if station is not None else ALIVE


def _refuse_impossible_amount(record: Record, value: float) -> None:
    if not 0 <= value <= MOST:
        raise in_words(OutOfRange, "right-amount", amount=value, unit=record.unit or "", most=MOST)


def _refuse_impossible_reading(value: float) -> None:
    if not -MOST <= value <= MOST:
        raise in_words(OutOfRange, "right-reading", value=value)


def _judged(session: Session, record: Record, value: float) -> Judgement | None:
    """What its field would say; None where the farm has no such item any more."""
    station = _station(session, record)
    item = session.checklists.item(_kind(session, record), record.item)
    if station is None or item is None:
        return None
    before = session.history.latest(record.station, record.item, kind="reading", before=record.measured_at)
    while before is not None and (KEPT in before.marks or DOUBTED in before.marks):
        before = session.history.latest(record.station, record.item, kind="reading", before=before.measured_at)
    return judge(value, item, session.farm, station, before.value if before is not None else None)
