"""From what was typed at a station to what is written down: judged, saved, taken back, skipped, noted."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

import msgspec

from rounds.book.last_answers import ALL_WELL, KEPT
from rounds.checklist.judgement import Judgement, judge, judge_as_it_is
from rounds.checklist.model import Item
from rounds.farm.stations import Reservoir, StationBase
from rounds.history.record import Draft, Record
from rounds.units import show
from rounds.walk.asked_first import meter_of
from rounds.walk.expected import agree, last_value, read_before
from rounds.walk.session import Session
from rounds.walk.wording import when

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
    judgement = judge(value, item, session.farm, station, last_value(session, station, item))
    if judgement.verdict == "doubtful" and _is_confirmed(session, station, item, value):
        judgement = judge_as_it_is(value, item, session.farm, station)
    return JudgedAnswer(item=item, value=value, typed=typed, judgement=judgement)


def _is_confirmed(session: Session, station: StationBase, item: Item, value: Value) -> bool:
    """Whether a value that is hard to believe was read here before: two that agree confirm each other."""
    before = read_before(session, station, item)
    return before is not None and agree(item, before.value, value)


def second_look(session: Session, station: StationBase, answer: JudgedAnswer) -> str:
    """Which readings count, where this one comes after another of the same water; empty where it is the first."""
    item, before = answer.item, read_before(session, station, answer.item)
    if before is None or not isinstance(before.value, int | float) or not isinstance(answer.value, int | float):
        return ""
    first, second = (show(float(each), "", item.decimals) for each in (before.value, answer.value))
    at = when(before.measured_at, session.now(), session.zone)
    if agree(item, before.value, answer.value):
        return f"{item.label} {first} at {at} and {second} now agree: both count."
    return f"{item.label} {first} at {at} and {second} now do not agree: {second} counts. A third tells which is right."


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
