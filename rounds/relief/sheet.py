"""The relief sheet: everything a helper needs in the hand, for one person and some days."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from rounds.checklist.load import ALIVE
from rounds.errors import NotFound, OutOfRange, Refused, RoundsError
from rounds.farm.model import Person
from rounds.farm.stations import Reservoir
from rounds.history.record import Record
from rounds.relief.days import days_between, due_by_day
from rounds.relief.doses import dose_section, how_to_dose
from rounds.relief.model import Grid, ReliefSheet, SheetSection, tidy
from rounds.relief.normal import normal_sections
from rounds.relief.prepared import prepared_line
from rounds.relief.tables import DoseTable, dose_table
from rounds.relief.walk_grid import walk_sections
from rounds.relief.words import FIRST_OF_ALL, MUST_NOTS, all_cautions, emergencies
from rounds.walk.missing import missing_lines
from rounds.walk.session import Session

RECORD_DAYS = 60
MOST_AHEAD_DAYS = 92
NOTE_ROWS = 4
NOTE_HEADS = ("Day", "Poured: where, what, how much, when", "Noticed")
PLACES = {
    "water": "Water", "isolators": "Isolators", "first_aid": "First aid", "eyewash": "Eyewash",
    "acid_cupboard": "Acid cupboard", "spare_pump": "Spare pump", "ration": "Ration", "feed": "Feed",
    "generator": "Generator",
}  # fmt: skip
Tables = list[DoseTable | Refused]


@dataclass(frozen=True, slots=True, kw_only=True)
class Relief:
    """A sheet asked for: whom it is for, and which days."""

    person: Person
    days: tuple[date, ...]


def relief_for(session: Session, name: str, first: date, last: date) -> Relief:
    """Check whom a sheet is for, and when.

    Raises
    ------
    NotFound
        Where the farm knows nobody of that name.
    BadInput
        Where the days are the wrong way round.
    OutOfRange
        Where the first day is more than three months ahead.
    """
    people = session.farm.people
    found = [p for p in people if name.casefold() in (p.id.casefold(), p.name.casefold())]
    if not found:
        known = ", ".join(person.id for person in people) or "nobody yet: add [[people]] to farm.toml"
        raise NotFound(f"Nobody called “{tidy(name)[:40]}” walks this farm.", f"There are: {known}.")
    if (first - session.now().date()).days > MOST_AHEAD_DAYS:
        raise OutOfRange(
            f"{first.isoformat()} is too far ahead: what is due, and how strong the feed will be, cannot be said yet.",
            f"Expected a first day within {MOST_AHEAD_DAYS} days.",
        )
    return Relief(person=found[0], days=days_between(first, last))


def relief_sheet(session: Session, relief: Relief, tables: Tables | None = None) -> ReliefSheet:
    """Put a sheet together, with dose tables that are there already or new ones.

    Raises
    ------
    Refused
        Where the farm's files have mistakes: what is left out would be missing for days, and nobody would know.
    """
    if missing := missing_lines(session):
        raise Refused(f"{missing[0]} A helper would not know of it.", "Put it right (`rounds check`), then print.")
    farm, days = session.farm, relief.days
    due = due_by_day(session, days)
    span = f"{_day(days[0])} to {_day(days[-1])} {days[-1].year}"
    return ReliefSheet(
        title=tidy(f"{farm.name}: relief sheet for {relief.person.name}"),
        subtitle=f"{span} · made {session.now():%d %b %Y %H:%M} · keep it dry, bring it back filled in",
        foot=tidy(f"{farm.name} · {relief.person.name} · {span}"),
        sections=(
            _contacts(session),
            _emergencies(session),
            _where(session),
            *_alive(session),
            _must_nots(session),
            *walk_sections(session, due, days),
            *_dose_sections(session, relief, sheet_tables(session, relief) if tables is None else tables),
            *normal_sections(session, due),
            _cautions(),
            _notes(),
        ),
    )


def sheet_tables(session: Session, relief: Relief) -> Tables:
    """The table of every reservoir, or why there is none."""
    records = records_for_doses(session)
    at = moment_of(session, relief.days[0])
    made: Tables = []
    for station in session.farm.stations.values():
        if isinstance(station, Reservoir):
            try:
                made.append(dose_table(session.farm, records, station.id, at, relief.days[0], relief.days[-1]))
            except Refused as refused:
                made.append(refused)
            except RoundsError as error:
                made.append(Refused(f"There is no dose table for {station.name}: {error.sentence}", error.hint))
    return made


def records_for_doses(session: Session) -> Sequence[Record]:
    """The records that doses are worked out from, as the app does."""
    counted = [product.counted_on for product in session.farm.shelf.values()]
    first = datetime.combine(min(counted, default=session.now().date()), time(), session.zone)
    return session.history.records(since=min(first, session.now() - timedelta(days=RECORD_DAYS)))


def moment_of(session: Session, first: date) -> datetime:
    """When the tables are worked out for: the first morning, or now where that is over."""
    return max(session.now(), datetime.combine(first, time(7), session.zone))


def _dose_sections(session: Session, relief: Relief, tables: Tables) -> list[SheetSection]:
    farm, records = session.farm, records_for_doses(session)
    sections = []
    for table in tables:
        line = ""
        if not isinstance(table, Refused):
            line = prepared_line(farm, records, table.reservoir, len(relief.days), session.now())
        sections.append(dose_section(farm, table, farm.limits.helper, line))
    return [how_to_dose(), *sections] if sections else []


def _contacts(session: Session) -> SheetSection:
    rows = tuple((tidy(c.name), tidy(c.what), tidy(c.phone)) for c in session.farm.contacts)
    rows = rows or (("Nobody is entered", "Write the numbers here before the grower leaves", ""),)
    return SheetSection(
        title="Call, in this order",
        lines=(FIRST_OF_ALL,),
        grids=(Grid(heads=("Who", "For what", "Number"), rows=rows, widths=(34, 46, 20), large=True),),
    )


def _emergencies(session: Session) -> SheetSection:
    rows = tuple((what, tidy(text)) for what, text in emergencies(session.farm.where))
    return SheetSection(title="If something goes wrong", grids=(Grid(rows=rows, widths=(22, 78)),))


def _where(session: Session) -> SheetSection:
    where = session.farm.where
    rows = tuple((PLACES.get(key, key.replace("_", " ").capitalize()), tidy(text)) for key, text in where.items())
    rows = rows or (("Nothing is entered", "Show the helper water, isolators, first aid, spare pump and feed."),)
    return SheetSection(title="Where things are", grids=(Grid(rows=rows, widths=(22, 78)),))


def _alive(session: Session) -> list[SheetSection]:
    """What every round begins with, before any reading."""
    checklist = session.checklists.of(ALIVE)
    lines = tuple(tidy(item.label) for item in checklist.items) if checklist else ()
    title = "First on every round: is everything alive and running? Where not, see above"
    return [SheetSection(title=title, lines=lines, two_columns=True)] if lines else []


def _must_nots(session: Session) -> SheetSection:
    limits = session.farm.limits.helper
    names = [session.farm.shelf[p].name if p in session.farm.shelf else p for p in limits.products]
    allowed = ", ".join(names) or "nothing but water"
    return SheetSection(
        title="What you must not do",
        lines=MUST_NOTS,
        after=(
            tidy(f"Yours to pour: {allowed}. At most {limits.step_ml:g} mL of one thing in one step, "
                 f"{limits.day_ml:g} mL in a day of everything together."),
        ),
        two_columns=True,
    )  # fmt: skip


def _cautions() -> SheetSection:
    return SheetSection(title="Cautions in full", lines=all_cautions(), two_columns=True)


def _notes() -> SheetSection:
    grid = Grid(heads=NOTE_HEADS, rows=(("", "", ""),) * NOTE_ROWS, widths=(12, 48, 40), tall=True)
    return SheetSection(title="Poured and noticed: it is typed in when the grower is back", grids=(grid,))


def _day(day: date) -> str:
    return f"{day:%a} {day.day} {day:%b}"
