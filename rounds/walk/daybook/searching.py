"""Looking through the whole record for what is wanted: month by month, the newest first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from rounds.book.entries import RoundMark, entry_of
from rounds.history.record import Record
from rounds.walk.daybook.page import Section, day_of, line_of
from rounds.walk.daybook.sentences import place_name
from rounds.walk.daybook.wanted import Wanted
from rounds.walk.session import Session


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """What a month holds of what is wanted, and the months that are left."""

    records: tuple[Record, ...]
    """The newest first."""
    left: tuple[str, ...]


MONTHS_AT_ONCE = 4
"""So many months are read in one go where a station or kinds are named: only lines that may be wanted are decoded."""


def look(session: Session, wanted: Wanted, months: Sequence[str]) -> Found:
    """Look through the first of some months; slow enough to be done beside the screen.

    Parameters
    ----------
    months : sequence of str
        Such as "2026-11", in UTC, the newest first; at least one.
    """
    kinds = wanted.kinds
    is_narrow = wanted.station is not None or kinds is not None
    count = MONTHS_AT_ONCE if is_narrow and months[0] != session.history.months()[0] else 1
    some, left = months[:count], months[count:]
    since, until = _begin(some[-1]), (_begin(some[0]) + timedelta(days=31)).replace(day=1)
    records = session.history.records(since=since, until=until, station=wanted.station, kinds=kinds)
    found = [
        record
        for record in reversed(records)
        if not isinstance(entry_of(record), RoundMark) and wanted.accepts(session, record)
    ]
    return Found(records=tuple(found), left=tuple(left))


def _begin(month: str) -> datetime:
    return datetime.strptime(month, "%Y-%m").replace(tzinfo=UTC)


def sections_found(session: Session, records: Sequence[Record]) -> list[tuple[str, Section]]:
    """What was found, each with its day, which is empty where it is that of the one before."""
    shown, before = [], ""
    for record in records:
        day = day_of(session, record)
        told = f"{day:%A} {day.day} {day:%B %Y}"
        name = place_name(session, record.station) or "The farm"
        line = line_of(session, record)
        shown.append(("" if told == before else told, Section(station=record.station, name=name, lines=(line,))))
        before = told
    return shown
