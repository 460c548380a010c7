"""From what was typed at a station to what is written down: judged, saved, taken back, skipped, noted."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any

import msgspec

from rounds.book.entries import Check, Reading, entry_of
from rounds.book.last_answers import ALL_WELL, KEPT
from rounds.checklist.judgement import Judgement, judge, judge_as_it_is
from rounds.checklist.model import Item
from rounds.farm.stations import Reservoir, StationBase
from rounds.history.record import DOUBTED, Draft, Record
from rounds.walk.asked_first import meter_of
from rounds.walk.session import Session

_MOST_PASSED_OVER = 50
Value = float | int | str | bool | None


@dataclass(frozen=True, slots=True, kw_only=True)
class JudgedAnswer:
    """One answer, judged but not yet written down."""

    item: Item
    value: Value
    typed: str
    judgement: Judgement


def judged(session: Session, station: StationBase, item: Item, value: Value, typed: str) -> JudgedAnswer:
    """Judge one value against its band and what was there last time."""
    before = last_value(session, station, item)
    return JudgedAnswer(
        item=item, value=value, typed=typed, judgement=judge(value, item, session.farm, station, before)
    )


def last_value(session: Session, station: StationBase, item: Item) -> Value:
    """The last value of an item at a station; one that cannot be, or was doubted, is passed over for the one before."""
    before = session.now() + timedelta(seconds=1)
    for _ in range(_MOST_PASSED_OVER):
        last = session.history.latest(station.id, item.id, before=before)
        if last is None or not isinstance(entry_of(last), Reading | Check):
            return None
        if _can_be_believed(last, item):
            return last.value
        before = last.measured_at
    return None


def _can_be_believed(last: Record, item: Item) -> bool:
    if DOUBTED in last.marks:
        return False
    if item.limits is None or isinstance(last.value, str | bool) or last.value is None:
        return True
    return item.limits[0] <= last.value <= item.limits[1]


def draft_of(
    session: Session,
    station: StationBase,
    answer: JudgedAnswer,
    *,
    at: datetime,
    round_id: str | None,
    kept: bool = False,
    data: Mapping[str, Any] | None = None,
) -> Draft:
    """The draft of one answer, with what belongs to it."""
    item = answer.item
    meter = meter_of(session, item.id) if isinstance(station, Reservoir) else None
    return Draft(
        kind="reading" if item.type == "reading" else "check",
        measured_at=at,
        station=station.id,
        item=item.id,
        person=session.person_name(),
        meter=meter.id if meter else None,
        typed=answer.typed,
        value=answer.value if item.type != "note" else None,
        note=str(answer.value) if item.type == "note" and answer.value else None,
        unit=item.unit or None,
        round_id=round_id,
        data=dict(data or {}),
        marks=(KEPT,) if kept else (),
    )


def all_well_draft(
    session: Session, station_id: str, items: Iterable[Item], *, at: datetime, round_id: str | None
) -> Draft:
    """One record that says: looked at all of these, all well."""
    return Draft(
        kind="check",
        measured_at=at,
        station=station_id,
        item=ALL_WELL,
        person=session.person_name(),
        value=True,
        round_id=round_id,
        data={"covers": [item.id for item in items], "apart": True},
    )


def skip_draft(
    session: Session, station_id: str, reason: str, *, at: datetime, round_id: str | None, item: str = ""
) -> Draft:
    """A station, or one of its items, left out on purpose, with the reason."""
    return Draft(
        kind="skip",
        measured_at=at,
        station=station_id,
        item=item,
        person=session.person_name(),
        note=reason,
        round_id=round_id,
    )


def note_draft(session: Session, station_id: str, text: str, *, at: datetime, round_id: str | None) -> Draft:
    """A note on anything."""
    return Draft(
        kind="note", measured_at=at, station=station_id, person=session.person_name(), note=text, round_id=round_id
    )


def take_back(session: Session, record: Record, why: str = "taken back") -> tuple[Record, ...]:
    """Undo one record: it stays in the history, replaced by one that says it does not count.

    Returns
    -------
    tuple of Record
        Where the record had replaced an earlier one, that one written down anew: it counts again.
    """
    return session.gate.take_back(record, by=session.person, why=why)


def still_there(record: Record, again: Mapping[str | None, Record]) -> Record:
    """What is taken back next for a record: itself, or what was written down anew for it, to the same end.

    Parameters
    ----------
    again : mapping of str to Record
        What counts again, by the id of the record that it was written down anew for.
    """
    restored = again.get(record.id)
    return record if restored is None else msgspec.structs.replace(restored, replaces=record.replaces)


def as_it_is(session: Session, station: StationBase, answer: JudgedAnswer) -> JudgedAnswer:
    """The same answer, judged by its band alone."""
    return replace(answer, judgement=judge_as_it_is(answer.value, answer.item, session.farm, station))
