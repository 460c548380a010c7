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


def look(session: Session, wanted: Wanted, months: Sequence[str]) -> Found:
    """Look through the first of some months; slow enough to be done beside the screen."""
    begin = datetime.strptime(months[0], "%Y-%m").replace(tzinfo=UTC)
    end = (begin + timedelta(days=31)).replace(day=1)
    records = session.history.records(since=begin, until=end, station=wanted.station, kind=wanted.kind)
    found = [r for r in reversed(records) if not isinstance(entry_of(r), RoundMark) and wanted.accepts(session, r)]
    return Found(records=tuple(found), left=tuple(months[1:]))


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
