"""A day as a page: headings by station, what was off before what was well, what is well folded into one line."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from itertools import groupby
from textwrap import wrap

from rounds.book.day import NIGHT_ENDS
from rounds.book.entries import Check, Dose, Reading, RoundMark, entries_of, entry_of, only
from rounds.book.last_answers import ALL_WELL
from rounds.history.record import Record
from rounds.units import show
from rounds.walk.daybook.sentences import item_of, place_name
from rounds.walk.daybook.signs import NOTED, WELL, told
from rounds.walk.daybook.wanted import Wanted
from rounds.walk.session import Session

THE_FARM = "The farm"
_LONG_LABEL = 9
_TOGETHER = "\u00a0"


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line of a page: one entry, or several that were well."""

    sign: str
    text: str
    at: datetime
    """In the farm's own zone; of several the last."""
    person: str
    records: tuple[Record, ...]
    is_off: bool = False

    @property
    def is_folded(self) -> bool:
        """Whether it tells several entries in one."""
        return len(self.records) > 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """What was written down at one station."""

    station: str
    name: str
    lines: tuple[Line, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """One day, or what was looked for of it."""

    day: date
    summary: str
    sections: tuple[Section, ...]


def day_page(session: Session, day: date, wanted: Wanted = Wanted()) -> Page:  # noqa: B008  # it cannot change
    """The page of a day; no more than its month is read."""
    records = records_of(session, day)
    return Page(day=day, summary=summary_of(session, records),
                sections=sections_of(session, [r for r in records if wanted.accepts(session, r)]))  # fmt: skip


def records_of(session: Session, day: date) -> list[Record]:
    """What was written down for a day; what a round did past midnight belongs to the day that it was started on."""
    since, until = span_of(session, day)
    return [r for r in session.history.records(since=since, until=until) if day_of(session, r) == day]


def span_of(session: Session, day: date) -> tuple[datetime, datetime]:
    """From when to when something may belong to a day: to the end of its night."""
    begin = datetime.combine(day, time(), session.zone)
    return begin, datetime.combine(day + timedelta(days=1), NIGHT_ENDS, session.zone)


def day_of(session: Session, record: Record) -> date:
    """The day that an entry belongs to."""
    local = record.measured_at.astimezone(session.zone)
    before = local.date() - timedelta(days=1)
    of_night = local.time() < NIGHT_ENDS and (record.round_id or "").startswith(before.isoformat())
    return before if of_night else local.date()


def sections_of(session: Session, records: Iterable[Record]) -> tuple[Section, ...]:
    """Entries by station, in the order of the walk; the farm as a whole first, stations that are gone last."""
    by_station: dict[str, list[Record]] = {}
    for record in records:
        if not isinstance(entry_of(record), RoundMark):
            by_station.setdefault(record.station, []).append(record)
    order = ["", *session.walk_order()]
    places = {station: place for place, station in enumerate(order)}
    stations = sorted(by_station, key=lambda each: (places.get(each, len(order)), each))
    return tuple(
        Section(station=each, name=place_name(session, each) or THE_FARM, lines=_lines(session, by_station[each]))
        for each in stations
    )


def wrapped(text: str, room: int) -> list[str]:
    """A text on lines of so many characters at most; what was read is not parted from its unit.

    Examples
    --------
    >>> wrapped("pH 6.00 · 21.0 °C · 31.0 cm", 20)
    ['pH 6.00 · 21.0 °C ·', '31.0 cm']
    """
    parts = text.split(" · ")
    if len(parts) > 1 and max(map(len, parts)) <= room:
        text = " · ".join(part.replace(" ", _TOGETHER) for part in parts)
    return [line.replace(_TOGETHER, " ") for line in wrap(text, max(room, 8))] or [""]


def line_of(session: Session, record: Record) -> Line:
    """One entry as a line."""
    said = told(session, record)
    return Line(sign=said.sign, text=said.text, at=record.measured_at.astimezone(session.zone), person=record.person,
                records=(record,), is_off=said.is_off)  # fmt: skip


def summary_of(session: Session, records: Sequence[Record]) -> str:
    """When the rounds of a day were walked, how many things were looked at, how many were off, and how many doses."""
    entries = entries_of(records)
    things = sum(len(e.covers) or 1 for e in only(Check, entries)) + len(only(Reading, entries))
    off = sum(line_of(session, r).is_off for r in records if isinstance(entry_of(r), Reading | Check))
    doses = len(only(Dose, entries))
    walked = ", ".join(_walked(session, name, list(marks)) for name, marks in _rounds(entries_of(records)))
    counted = f"{things} thing{'s' * (things != 1)}, {off} off" if things else ""
    poured = f"{doses} dose{'s' * (doses != 1)}" if doses else ""
    return " · ".join(part for part in (walked, counted, poured) if part)


def _rounds(entries: Iterable[object]) -> Iterable[tuple[str, Iterable[RoundMark]]]:
    marks = [e for e in entries if isinstance(e, RoundMark)]
    names = list(dict.fromkeys(mark.item for mark in marks))
    return groupby(sorted(marks, key=lambda mark: names.index(mark.item)), key=lambda mark: mark.item)


def _walked(session: Session, name: str, marks: Sequence[RoundMark]) -> str:
    times = [mark.measured_at.astimezone(session.zone) for mark in marks]
    if not marks[-1].is_closed:
        return f"{name} since {times[0]:%H:%M}"
    return f"{name} {times[0]:%H:%M} to {times[-1]:%H:%M}" if len(marks) > 1 else f"{name} closed {times[-1]:%H:%M}"


def _lines(session: Session, records: Sequence[Record]) -> tuple[Line, ...]:
    """What stands alone, what is off before the rest; then what is well, a line for each round."""
    lines = {record.id: line_of(session, record) for record in records}
    folded = [record for record in records if _folds(lines[record.id])]
    alone = [line for line in lines.values() if not _folds(line)]
    by_round = groupby(sorted(folded, key=_walk_key), key=_walk_key)
    wells = [[*group] for _, group in by_round]
    quiet = _all_wells_joined(sorted(wells, key=lambda group: group[-1].measured_at))
    told_well = [lines[g[0].id] if len(g) == 1 else _well_line(session, g) for g in quiet]
    return (*sorted(alone, key=lambda line: (not line.is_off, line.at)), *told_well)


def _walk_key(record: Record) -> str:
    return record.round_id or f"{record.measured_at:%H}"


def _folds(line: Line) -> bool:
    """Whether it may be told with others: well, or a reading that nobody judges, with nothing written beside it."""
    (record,) = line.records
    plain = isinstance(entry_of(record), Reading | Check) and not (record.void or record.note or record.replaces)
    return (
        plain
        and not record.marks
        and (line.sign == WELL or (line.sign == NOTED and isinstance(entry_of(record), Reading)))
    )


def _all_wells_joined(groups: Iterable[list[Record]]) -> list[list[Record]]:
    """Rounds of a station in which all was well and nothing was read become one."""
    joined: list[list[Record]] = []
    for group in groups:
        if joined and _only_checks(group) and _only_checks(joined[-1]):
            joined[-1] += group
        else:
            joined.append(group)
    return joined


def _only_checks(group: Iterable[Record]) -> bool:
    return all(isinstance(entry, Check) for entry in entries_of(group))


def _well_line(session: Session, group: Sequence[Record]) -> Line:
    """Several entries that were well: what was read, and how many checks."""
    checks = sum(len(check.covers) or 1 for check in only(Check, entries_of(group)))
    times = sum(record.item == ALL_WELL for record in group)
    counted = f"{checks} check{'s' * (checks != 1)}"
    first, last = (group[place].measured_at.astimezone(session.zone) for place in (0, -1))
    if _only_checks(group):
        text = f"all well {times} times since {first:%H:%M} ({counted})" if times > 1 else f"all well ({counted})"
    else:
        text = " · ".join([*_read(session, group), *([counted] if checks else [])])
    return Line(sign=WELL, text=text, at=last, person=group[-1].person, records=tuple(group))


def _read(session: Session, group: Iterable[Record]) -> list[str]:
    """What was read, each by its unit alone where that says enough."""
    readings = [record for record in group if isinstance(entry_of(record), Reading)]
    units = Counter(record.unit for record in readings)
    parts = []
    for record in readings:
        item = item_of(session, record)
        label = item.label if item else record.item
        number = entry_of(record).number
        value = "" if number is None else show(number, record.unit or "", item.decimals if item else None)
        by_unit = record.unit and units[record.unit] == 1 and (len(label) > _LONG_LABEL or record.unit == "cm")
        parts.append(value if by_unit else f"{label} {value}")
    return parts
