"""One entry's story: what was typed, when and by whom it was entered, what it was worked out from, what it replaced."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from rounds.book.entries import Check, Dose, entry_of
from rounds.book.last_answers import ALL_WELL
from rounds.book.offered import Offer
from rounds.checklist.load import ALIVE
from rounds.history.record import Record
from rounds.units import show
from rounds.walk.daybook.sentences import place_name, sentence
from rounds.walk.daybook.signs import told
from rounds.walk.session import Session
from rounds.walk.wording import DAYS


def story_of(session: Session, record: Record) -> list[str]:
    """All that is known of one entry, a line each; what is empty is left out."""
    place = place_name(session, record.station) or "The farm"
    said = told(session, record)
    entry = entry_of(record)
    lines = [f"{place}: {said.sign} {said.text}", "", *_entered(session, record)]
    if isinstance(entry, Check) and entry.item == ALL_WELL:
        lines += [f"Looked at: {', '.join(_labels(session, entry))}."]
    if isinstance(entry, Dose):
        lines += _poured(session, entry)
    if isinstance(entry, Offer):
        lines += _worked_out(session, entry)
    return [*lines, *_replaced(session, record)]


def moment_text(session: Session, record: Record) -> str:
    """When something was, with its day, such as "Tue 24 Nov 07:12"."""
    at = record.measured_at.astimezone(session.zone)
    return f"{DAYS[at.weekday()]} {at.day} {at:%b %H:%M}"


def _entered(session: Session, record: Record) -> list[str]:
    at, entered = (each.astimezone(session.zone) for each in (record.measured_at, record.entered_at))
    late = "" if abs((entered - at).total_seconds()) < 60 else f", entered {entered.day} {entered:%b %Y %H:%M}"
    lines = [f"{moment_text(session, record)} {at.year}, by {_person(session, record)}{late}."]
    if record.typed:
        lines.append(f"Typed: “{record.typed}”.")
    if record.meter:
        meter = next((each.name for each in session.farm.meters.values() if each.id == record.meter), record.meter)
        lines.append(f"Read with {meter}.")
    return lines


def _person(session: Session, record: Record) -> str:
    return next(
        (each.name for each in session.farm.people if each.id == record.person), record.person or "nobody named"
    )


def _labels(session: Session, check: Check) -> list[str]:
    station = session.farm.stations.get(check.station)
    kind = station.kind if station else ALIVE
    found = ((item, session.checklists.item(kind, item)) for item in check.covers)
    return [item.label if item else covered for covered, item in found]


def _poured(session: Session, dose: Dose) -> list[str]:
    """What was advised, and by which correction."""
    offer = session.history.get(dose.correction_id) if dose.correction_id else None
    advised = "" if dose.advised is None else f"Advised: {show(dose.advised, dose.unit or dose.usual_unit)}"
    by = "" if offer is None else f"the correction of {moment_text(session, offer)}"
    if advised and by:
        return [f"{advised} by {by}."]
    return [f"{advised}."] if advised else [f"It belongs to {by}."] if by else []


def _worked_out(session: Session, offer: Offer) -> list[str]:
    """What a correction was worked out from, its steps, what was said beside them, and its working."""
    used = [*_records(session, offer.used), *_records(session, offer.answers)]
    lines = [f"Worked out from {', '.join(sentence(session, each) for each in used)}."] if used else []
    lines += [f"{step.number}. {step.text or step.action}" for step in offer.steps]
    beside = (*offer.findings, *offer.refusals, *offer.explain, offer.answer)
    return [*lines, *(text for text in beside if text)]


def _records(session: Session, ids: Mapping[str, Any] | None) -> Iterable[Record]:
    found = (session.history.get(each) for each in dict.fromkeys((ids or {}).values()) if isinstance(each, str))
    return [record for record in found if record is not None]


def _replaced(session: Session, record: Record) -> list[str]:
    """What stood in its place before, the oldest first."""
    earlier = [each for each in session.history.chain(record.id) if each.id != record.id]
    return [
        f"{'Before' if each.rank < record.rank else 'Then'}: {sentence(session, each, came_out=False)}"
        f"{f', typed “{each.typed}”' if each.typed else ''}, by {_person(session, each)}, entered "
        f"{(at := each.entered_at.astimezone(session.zone)).day} {at:%b %H:%M}."
        for each in earlier
    ]
