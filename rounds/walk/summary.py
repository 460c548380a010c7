"""The end of a round on one screen: what was done, what is off, what is carried over."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from rounds.book.entries import Check, Dose, Note, Reading, Skip, entries_of, only
from rounds.checklist.judgement import judge_as_it_is
from rounds.checklist.load import ALIVE
from rounds.walk.round import Round
from rounds.walk.session import Session
from rounds.walk.slow_change.notices import new_lines
from rounds.walk.stops import ALIVE_STATION


@dataclass(frozen=True, slots=True, kw_only=True)
class RoundSummary:
    """What one round came to."""

    stations_done: int
    stations_open: tuple[str, ...]
    """Ids of stations where something is still due."""
    readings: int
    checks: int
    doses: tuple[str, ...]
    off: tuple[str, ...]
    """By the newest answer of each item: what was read again and is well by now is none of it."""
    skipped: tuple[str, ...]
    notes: tuple[str, ...]
    slow: tuple[str, ...] = ()
    """What the readings of this round have made a slow change of."""

    def to_data(self) -> dict[str, Any]:
        """What the record of the closed round keeps."""
        return {
            "open": list(self.stations_open),
            "done": self.stations_done,
            "readings": self.readings,
            "checks": self.checks,
            "off": list(self.off),
        }


def summarise(session: Session, walk: Round) -> RoundSummary:
    """Look back over one round."""
    records = session.history.records(round_id=walk.id, since=walk.started_at)
    open_stations = tuple(each.station_id for each in session.due(walk.name, day=walk.day))
    entries = entries_of(records)
    answers = [entry for entry in entries if isinstance(entry, Reading | Check)]
    newest = {(answer.station, answer.item): answer for answer in answers}
    touched = {answer.station for answer in answers if answer.station}
    return RoundSummary(
        stations_done=len(touched - set(open_stations)),
        stations_open=open_stations,
        readings=len(only(Reading, entries)),
        checks=sum(len(check.covers) or 1 for check in only(Check, entries)),
        doses=tuple(_dose_text(session, dose) for dose in only(Dose, entries)),
        off=tuple(text for answer in newest.values() if (text := _off_text(session, answer))),
        skipped=tuple(f"{_name(session, skip.station)}: {skip.note}" for skip in only(Skip, entries)),
        notes=tuple(f"{_name(session, note.station)}: {note.note}" for note in only(Note, entries)),
        slow=tuple(new_lines(session, walk.started_at)),
    )


def _dose_text(session: Session, dose: Dose) -> str:
    product = session.farm.shelf.get(dose.item) or session.farm.waters.get(dose.item)
    what = product.name if product else (dose.action or dose.item).replace("_", " ")
    amount = f"{dose.number:g} {dose.unit or ''}" if dose.number is not None else ""
    return f"{_name(session, dose.station)}: {what} {amount}".rstrip()


def _off_text(session: Session, record: Reading | Check) -> str:
    station = session.farm.stations.get(record.station)
    if record.item == "all-well":
        return ""
    item = session.checklists.item(station.kind if station else ALIVE, record.item)
    if item is None:
        return ""
    judgement = judge_as_it_is(record.value, item, session.farm, station or ALIVE_STATION)
    label = item.label if item.type == "reading" else f"“{item.label}”"
    return f"{_name(session, record.station)}: {label} {judgement.sign} {judgement.text}" if judgement.is_off else ""


def _name(session: Session, station_id: str) -> str:
    station = session.farm.stations.get(station_id)
    return station.name if station else station_id or session.farm.name
