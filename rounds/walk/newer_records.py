"""Records of a kind that this version does not know, on the walk: where they stand, nothing is poured."""

from __future__ import annotations

from datetime import datetime

from rounds.book.entries import Unknown, entry_of
from rounds.book.newer import INSTEAD, last_renewed, places, standing, told
from rounds.errors import Refused
from rounds.farm.stations import Reservoir
from rounds.history.record import Record
from rounds.record_kinds import KINDS
from rounds.walk.error_texts import in_words
from rounds.walk.session import Session

_MARK = "kind:"


def newer_records(session: Session, reservoir: Reservoir) -> list[Record]:
    """What may have changed a reservoir since its last change-out, however long ago; no month is opened for nothing."""
    marks = session.history.latest_marks()
    near = {"", *places(session.farm, reservoir)}
    found = {mark.removeprefix(_MARK) for place, mark in marks if place in near and mark.startswith(_MARK)}
    unknown = sorted(found - KINDS.keys())
    if not unknown:
        return []
    renewed = marks.get((reservoir.id, "action:change_out"))
    since = last_renewed(reservoir, [entry_of(renewed)]) if renewed is not None else None
    records = [r for kind in unknown for r in session.history.records(kind=kind, since=since)]
    ids = {each.id for each in standing(session.farm, reservoir, records)}
    return [record for record in records if record.id in ids]


def before(session: Session, moment: datetime) -> list[Record]:
    """Those of all reservoirs that what is read from a moment on does not hold, each once."""
    found = {r.id: r for reservoir in _reservoirs(session) for r in newer_records(session, reservoir)}
    return [record for record in found.values() if record.measured_at < moment]


def newer_lines(session: Session) -> list[str]:
    """A sentence for each reservoir at which nothing is poured for it."""
    found = ((reservoir, newer_records(session, reservoir)) for reservoir in _reservoirs(session))
    return [f"{reservoir.name}: {_text(session, records)}. {INSTEAD}" for reservoir, records in found if records]


def refuse_what_is_not_known(session: Session, reservoir_id: str) -> None:
    """Refuse to have anything made for a reservoir of which is not known what is in it.

    Raises
    ------
    Refused
        Where such a record stands.
    """
    records = newer_records(session, session.farm.reservoir(reservoir_id))
    if records:
        raise in_words(Refused, "newer-record", told=_text(session, records), instead=INSTEAD)


def _text(session: Session, records: list[Record]) -> str:
    return told(Unknown(records[-1]), session.now())


def _reservoirs(session: Session) -> list[Reservoir]:
    return [station for station in session.farm.stations.values() if isinstance(station, Reservoir)]
