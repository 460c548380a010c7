"""The walk on paper: one row for each reading and each station's checks, one column for each day."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date

from rounds.checklist.answers import band_of
from rounds.checklist.model import Item
from rounds.farm.stations import Reservoir, StationBase
from rounds.relief.days import DueDays
from rounds.relief.model import Grid, SheetSection, tidy
from rounds.units import show
from rounds.walk.session import Session

NOT_DUE = "-"
WEEK = 7
ALIVE_FIRST = "First: alive and running?"
LABEL = 35.0
"""Width of the first column, in hundredths of the page."""
LINES = {
    "morning": "Station by station in this order. Readings: write them in. Checks: the numbers are those of the list "
    "“What is normal”; ring a number only where something is off, and write what. Behind a word such as flow: write "
    "the reading. Not due: -",
    "midday": "In heat, or once at noon: the numbers are those of the list “What is normal”.",
    "dusk": "Before dark. Count the hens twice, shut them in, look for leaks and levels.",
}


def walk_sections(session: Session, due: Sequence[DueDays], days: Sequence[date]) -> list[SheetSection]:
    """One section for each round and week with something due."""
    sections = []
    for name, line in LINES.items():
        for start in range(0, len(days), WEEK):
            grids = _grids(session, [d for d in due if d.round_name == name], days[start : start + WEEK], name)
            if grids:
                title = f"The walk: {name}" + (f", week {start // WEEK + 1}" if len(days) > WEEK else "")
                sections.append(SheetSection(title=title, lines=(line,), grids=grids, new_page=name == "morning"))
    return sections


def numbered(session: Session, kind: str) -> dict[str, int]:
    """The number of each check in the list of its kind."""
    checklist = session.checklists.of(kind)
    checks = [item for item in checklist.items if item.type != "reading"] if checklist else []
    return {item.id: number for number, item in enumerate(checks, 1)}


def _grids(session: Session, due: Sequence[DueDays], week: Sequence[date], name: str) -> tuple[Grid, ...]:
    """A grid for each station with several readings, and one for each run of others."""
    morning = name == "morning"
    heads = ("", *(f"{day:%a} {day.day}" for day in week))
    empty = Grid(heads=heads, rows=(), widths=(LABEL, *[(100.0 - LABEL) / WEEK] * len(week)))
    grids: list[Grid] = []
    for station, here in _stations(session, due, week):
        headed = morning and _has_several_readings(here)
        rows = _headed_rows(session, station, here, week) if headed else (_one_row(session, station, here, week),)
        if not headed and grids and not grids[-1].headed:
            rows = (*grids.pop().rows, *rows)
        grids.append(replace(empty, rows=rows if morning else _merged(rows), tall=morning, headed=headed))
    return _alive_first(grids, replace(empty, rows=((ALIVE_FIRST, *["[   ]"] * len(week)),)))


def _has_several_readings(due: Sequence[DueDays]) -> bool:
    return sum(each.item.type == "reading" for each in due) > 1


def _stations(
    session: Session, due: Sequence[DueDays], week: Sequence[date]
) -> Iterator[tuple[StationBase, list[DueDays]]]:
    """The stations of the walk at which something is due in a week, with what it is."""
    for station_id in session.walk_order():
        here = [d for d in due if d.station_id == station_id and d.days & set(week)]
        if here:
            yield session.farm.stations[station_id], here


def _alive_first(grids: list[Grid], alive: Grid) -> tuple[Grid, ...]:
    """What is alive and running comes first, in the first grid where that has no head of its own."""
    if grids and not grids[0].headed:
        return (replace(grids[0], rows=(*alive.rows, *grids[0].rows)), *grids[1:])
    return (alive, *grids) if grids else ()


def _headed_rows(
    session: Session, station: StationBase, due: Sequence[DueDays], week: Sequence[date]
) -> tuple[tuple[str, ...], ...]:
    """A head, a row for each reading, one for the checks, and room for what was poured."""
    to_write = [""] * len(week)
    rows = [(_title(station), *to_write)]
    for each in (each for each in due if each.item.type == "reading"):
        label = f"{_label(each.item)} {_wanted(session, station, each.item)}".strip()
        rows.append((label, *("" if day in each.days else NOT_DUE for day in week)))
    rows.append(("checks", *(_numbers(session, station, due, day) or NOT_DUE for day in week)))
    if isinstance(station, Reservoir):
        rows.append(("poured: water L / A mL / B mL", *to_write))
    return tuple(rows)


def _one_row(session: Session, station: StationBase, due: Sequence[DueDays], week: Sequence[date]) -> tuple[str, ...]:
    """Everything of a station in one row: the numbers of its checks, and the names of its readings to write behind."""
    readings = [each for each in due if each.item.type == "reading"]
    asides = [
        f"{each.item.names[0]} {each.item.unit} {_wanted(session, station, each.item)}".rstrip() for each in readings
    ]
    cells = []
    for day in week:
        names = [f"{each.item.names[0]}:" for each in readings if day in each.days]
        parts = [*([numbers] if (numbers := _numbers(session, station, due, day)) else []), *names]
        cells.append("\n".join(parts) or NOT_DUE)
    return ("; ".join([_title(station), *asides]), *cells)


def _aside(session: Session, station: StationBase, item: Item) -> str:
    return " ".join(filter(None, (item.names[0], item.unit, _wanted(session, station, item))))


def _merged(rows: Sequence[tuple[str, ...]]) -> tuple[tuple[str, ...], ...]:
    """Stations with the same checks on the same days share a row, unless something is written down for each."""
    merged: dict[tuple[str, ...], list[str]] = {}
    for row in rows:
        alone = (row[0],) if any(":" in cell for cell in row[1:]) else ()
        merged.setdefault((*row[1:], *alone), []).append(row[0])
    return tuple((", ".join(titles), *cells[: len(rows[0]) - 1]) for cells, titles in merged.items())


def _numbers(session: Session, station: StationBase, due: Sequence[DueDays], day: date) -> str:
    numbers = numbered(session, station.kind)
    return " ".join(str(numbers[d.item.id]) for d in due if day in d.days and d.item.id in numbers)


def _title(station: StationBase) -> str:
    return tidy(station.name) + (" (SICK: last, wash hands)" if station.sick else "")


def _label(item: Item) -> str:
    return f"{item.label}, {item.unit}" if item.unit else item.label


def _wanted(session: Session, station: StationBase, item: Item) -> str:
    band = band_of(item, session.farm, station)
    last = session.history.latest(station.id, item.id, kind="reading")
    parts = []
    if band is not None:
        parts.append(f"{show(band[0], '', item.decimals)} to {show(band[1], '', item.decimals)}")
    if last is not None and isinstance(last.value, int | float):
        parts.append(f"last {show(float(last.value), '', item.decimals)}")
    return f"({', '.join(parts)})" if parts else ""
