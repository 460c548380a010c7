"""What a kind of station makes of the answers at one of its stations: figures and findings, if it has any."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from datetime import timedelta

from rounds.book.entries import Check, Reading, entries_of
from rounds.errors import RoundsError
from rounds.farm.station_base import Answer, Answers, StationBase
from rounds.walk.session import Session

Value = float | int | str | bool


def figures_at(session: Session, station: StationBase) -> tuple[str, ...]:
    """Its figures in a few words each; none where the answers allow none."""
    if not station.ANSWERS_DAYS:
        return ()
    try:
        return station.figures(_answers(session, station))
    except RoundsError:  # a figure that an odd old record does not allow
        return ()


def findings_at(session: Session, station_id: str) -> tuple[str, ...]:
    """Its findings as sentences, the most pressing first; none for the farm as a whole."""
    station = session.farm.stations.get(station_id)
    if station is None or not station.ANSWERS_DAYS:
        return ()
    try:
        return station.findings(_answers(session, station))
    except RoundsError:
        return ()


def _answers(session: Session, station: StationBase) -> Answers:
    now = session.now()
    since, until = now - timedelta(days=station.ANSWERS_DAYS), now + timedelta(seconds=1)
    booleans = {item.id: item.well for item in session.items(station) if isinstance(item.well, bool)}
    found: dict[str, list[Answer]] = defaultdict(list)
    for entry in entries_of(session.history.records(station=station.id, since=since, until=until)):
        if isinstance(entry, Reading | Check):
            at = entry.measured_at.astimezone(session.zone)
            for item, value in _given(entry, booleans):
                found[item].append(Answer(at, value))
    return found


def _given(entry: Reading | Check, booleans: dict[str, bool]) -> Iterator[tuple[str, Value]]:
    """The answers of one record. Of what "all well" covers, only yes and no can be told for sure."""
    if isinstance(entry, Check) and entry.covers:
        yield from ((item, booleans[item]) for item in entry.covers if item in booleans)
    elif entry.value is not None:
        yield entry.item, entry.value
