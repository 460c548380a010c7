"""Putting an entry of the daybook right: the new value is judged as if it had been typed into its field."""

from __future__ import annotations

import msgspec

from rounds.book.entries import Count, Dose, Reading, entry_of
from rounds.checklist.judgement import Judgement, judge
from rounds.checklist.load import ALIVE
from rounds.errors import BadInput, OutOfRange
from rounds.history.record import DOUBTED, Draft, Record
from rounds.units import parse_quantity
from rounds.walk.error_texts import in_words
from rounds.walk.expected import KEPT
from rounds.walk.session import Session
from rounds.walk.stops import ALIVE_STATION

MOST = 1_000_000


def is_rightable(record: Record) -> bool:
    """Whether a record holds one number that can be put right."""
    return isinstance(entry_of(record), Reading | Dose | Count)


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


def _refuse_impossible_amount(record: Record, value: float) -> None:
    if not 0 <= value <= MOST:
        raise in_words(OutOfRange, "right-amount", amount=value, unit=record.unit or "", most=MOST)


def _refuse_impossible_reading(value: float) -> None:
    if not -MOST <= value <= MOST:
        raise in_words(OutOfRange, "right-reading", value=value)


def put_right(session: Session, record: Record, text: str) -> Record:
    """Write the right value down in place of a wrong one, which stays in the record.

    Raises
    ------
    BadInput
        For a value that cannot be.
    """
    if not is_rightable(record):
        raise in_words(BadInput, "right-no-number")
    value, doubt = right_value(session, record, text)
    fields = {name: getattr(record, name) for name in Draft.__struct_fields__}
    marks = tuple(mark for mark in record.marks if mark != KEPT) + ((KEPT,) if doubt else ())
    draft = Draft(**fields | {"value": value, "typed": text, "person": session.person_name(), "marks": marks})
    return session.save(msgspec.structs.replace(draft, replaces=record.id))[0]


def _judged(session: Session, record: Record, value: float) -> Judgement | None:
    """What its field would say; None where the farm has no such item any more."""
    station = session.farm.stations.get(record.station) if record.station else ALIVE_STATION
    item = session.checklists.item(station.kind if record.station and station else ALIVE, record.item)
    if station is None or item is None:
        return None
    before = session.history.latest(record.station, record.item, kind="reading", before=record.measured_at)
    while before is not None and (KEPT in before.marks or DOUBTED in before.marks):
        before = session.history.latest(record.station, record.item, kind="reading", before=before.measured_at)
    return judge(value, item, session.farm, station, before.value if before is not None else None)
