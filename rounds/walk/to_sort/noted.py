"""Still to sort: a note that names a day, from that day on; before, it is something to come."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime, time

from rounds.book.dated_notes import CODE, Noted
from rounds.checklist.still_off import matter_id
from rounds.text import clean_line
from rounds.walk.matters import Ahead
from rounds.walk.session import Session
from rounds.walk.to_sort.day_said import day_said
from rounds.walk.to_sort.model import OpenMatter
from rounds.walk.to_sort.words import day_text, lost_at

LONGEST = 100
_WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


def notes_of_their_day(session: Session) -> Iterator[OpenMatter]:
    """Each note whose day has come."""
    today = session.now().date()
    for id, noted, day in _dated(session):
        if day <= today:
            yield _matter(session, id, noted, day)


def notes_to_come(session: Session) -> Iterator[Ahead]:
    """Each note whose day has not come yet."""
    today = session.now().date()
    for _, noted, day in _dated(session):
        if day > today:
            at = datetime.combine(day, time(0), session.zone)
            yield Ahead(code=CODE, text=_short(noted.text), station_id=noted.station, due_at=at)


def _dated(session: Session) -> Iterator[tuple[str, Noted, date]]:
    for id, noted in session.unsettled().notes.of.items():
        day = day_said(noted.text, noted.at.astimezone(session.zone).date())
        if day is not None and (not noted.station or noted.station in session.farm.stations):
            yield id, noted, day


def _matter(session: Session, id: str, noted: Noted, day: date) -> OpenMatter:
    today, written = session.now().date(), noted.at.astimezone(session.zone).date()
    named = f"{_WEEKDAYS[day.weekday()]} {day_text(day, today)}"
    return OpenMatter(
        id=matter_id(CODE, noted.station, id), code=CODE, station=noted.station,
        what=f"Do what was noted for {'today' if day == today else named}: {_short(noted.text)}",
        since=datetime.combine(day, time(0), session.zone), loses="tomorrow",
        what_is_lost=lost_at(session, noted.station, "tomorrow"), closing="a reason: what came of it",
        brief=_short(noted.text), seen=(f"noted on {day_text(written, today)}: {clean_line(noted.text)}",),
        reasons=("done", "no longer needed", "another reason"),
    )  # fmt: skip


def _short(text: str) -> str:
    line = clean_line(text)
    return line if len(line) <= LONGEST else f"{line[: LONGEST - 1]}…"
