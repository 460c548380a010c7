"""Old paper logs, typed into a table at some time, taken over with a mapping: seen first, then written as a whole."""

import csv
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo
from io import StringIO

from rounds.errors import BadInput
from rounds.history.record import Draft, Record, checked
from rounds.history.store import History
from rounds.text import clean, clean_line

MARK = "from a paper log"
MOST_ROWS = 200_000
MOST_BYTES = 32 << 20
_MISSING = {"", "-", "–", "—", "?", "n/a"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One column of readings, and what it means."""

    heading: str
    station: str
    item: str
    unit: str | None = None
    kind: str = "reading"
    is_text: bool = False
    """Whether the cell is words rather than a number."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mapping:
    """How to read a table.

    Attributes
    ----------
    time : tuple of str
        Headings of the columns which, joined by a space, give the time.
    time_format : str
        As of `datetime.strptime`, for example "%d.%m.%Y %H:%M".
    zone : tzinfo
        Zone in which the times were written.
    """

    time: tuple[str, ...]
    time_format: str
    zone: tzinfo
    columns: tuple[Column, ...]
    person: str = ""
    person_heading: str | None = None
    note_heading: str | None = None
    delimiter: str = ","


@dataclass(frozen=True, slots=True, kw_only=True)
class RefusedCell:
    """A cell that could not be read."""

    row: int
    """Row of the table, the headings being row 1."""
    heading: str
    sentence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperPreview:
    """What taking in a paper log would write."""

    drafts: tuple[Draft, ...]
    known: int
    """Cells that were taken in before."""
    refused: tuple[RefusedCell, ...]
    sentences: tuple[str, ...]


def preview(
    history: History, text: str, mapping: Mapping, judge: Callable[[Draft], None] = lambda _: None
) -> PaperPreview:
    """Read a table; nothing is written.

    Parameters
    ----------
    judge : callable
        Raises `BadInput` for what cannot be: that cell is refused, the others are not.

    Raises
    ------
    BadInput
        Where it is too large, or a heading of the mapping is missing.
    """
    rows = _rows(text, mapping)
    drafts: list[Draft] = []
    refused: list[RefusedCell] = []
    for number, row in rows:
        _read_row(number, row, mapping, judge, drafts, refused)
    known = _known(history, drafts)
    new = tuple(draft for draft in drafts if _what(draft) not in known)
    return PaperPreview(
        drafts=new,
        known=len(drafts) - len(new),
        refused=tuple(refused),
        sentences=tuple(_sentences(new, len(drafts) - len(new), refused)),
    )


def apply(history: History, paper: PaperPreview) -> int:
    """Write down what a preview showed, all or nothing; give how many records that were."""
    return history.add_bulk(paper.drafts)


def _rows(text: str, mapping: Mapping) -> Iterator[tuple[int, dict[str, str]]]:
    if len(text) > MOST_BYTES:
        raise BadInput(f"The table is {len(text)} characters long.", f"At most {MOST_BYTES} are taken in.")
    reader = csv.reader(StringIO(text.removeprefix("\ufeff"), newline=""), delimiter=mapping.delimiter, strict=True)
    try:
        headings = [clean_line(each).strip() for each in next(reader, [])]
        rows = list(enumerate(reader, 2))
    except csv.Error as error:
        raise BadInput(f"The table cannot be read: {error}.", "Comma-separated values are expected.") from error
    _check_headings(headings, mapping)
    if len(rows) > MOST_ROWS:
        raise BadInput(f"The table has {len(rows)} rows.", f"At most {MOST_ROWS} are taken in.")
    return ((number, dict(zip(headings, row, strict=False))) for number, row in rows if any(map(str.strip, row)))


def _check_headings(headings: Sequence[str], mapping: Mapping) -> None:
    wanted = [*mapping.time, *(column.heading for column in mapping.columns)]
    wanted += [each for each in (mapping.person_heading, mapping.note_heading) if each is not None]
    missing = [each for each in wanted if each not in headings]
    if missing:
        raise BadInput(f"The table has no column {', '.join(missing)}.", f"It has: {', '.join(headings)}.")


def _read_row(
    number: int,
    row: dict[str, str],
    mapping: Mapping,
    judge: Callable[[Draft], None],
    drafts: list[Draft],
    refused: list[RefusedCell],
) -> None:
    try:
        moment = _moment(row, mapping)
    except BadInput as error:
        refused.append(RefusedCell(row=number, heading=" ".join(mapping.time), sentence=str(error)))
        return
    for column in mapping.columns:
        typed = row.get(column.heading, "").strip()
        if typed.lower() in _MISSING:
            continue
        try:
            draft = _draft(row, typed, moment, column, mapping)
            judge(draft)
            drafts.append(draft)
        except BadInput as error:
            refused.append(RefusedCell(row=number, heading=column.heading, sentence=str(error)))


def _moment(row: dict[str, str], mapping: Mapping) -> datetime:
    typed = " ".join(row.get(heading, "").strip() for heading in mapping.time)
    try:
        return datetime.strptime(typed, mapping.time_format).replace(tzinfo=mapping.zone)
    except ValueError as error:
        sentence = f"The time {clean_line(typed, 40)!r} does not have the form {mapping.time_format}."
        raise BadInput(sentence) from error


def _draft(row: dict[str, str], typed: str, moment: datetime, column: Column, mapping: Mapping) -> Draft:
    from rounds.units import parse_number

    person = row.get(mapping.person_heading, "") if mapping.person_heading else mapping.person
    note = row.get(mapping.note_heading, "").strip() if mapping.note_heading else ""
    return checked(
        Draft(
            kind=column.kind,
            station=column.station,
            item=column.item,
            measured_at=moment,
            person=person.strip(),
            typed=typed,
            value=clean(typed) if column.is_text else parse_number(typed),
            unit=column.unit,
            note=note or None,
            marks=(MARK,),
        )
    )


def _known(history: History, drafts: Sequence[Draft]) -> set[tuple[object, ...]]:
    if not drafts:
        return set()
    since = min(draft.measured_at for draft in drafts)
    until = max(draft.measured_at for draft in drafts) + timedelta(seconds=1)
    return {_what(each) for each in history.records(since=since, until=until, replaced=True) if MARK in each.marks}


def _what(record: Draft | Record) -> tuple[object, ...]:
    return record.measured_at, record.station, record.item, record.kind, record.typed


def _sentences(new: Sequence[Draft], known: int, refused: Sequence[RefusedCell]) -> list[str]:
    told = [f"{len(new)} readings are new, {known} were taken in before."]
    if new:
        first, last = min(each.measured_at for each in new), max(each.measured_at for each in new)
        told.append(f"They are from {first:%Y-%m-%d} to {last:%Y-%m-%d}.")
    if refused:
        worst = refused[0]
        told.append(
            f"{len(refused)} cells are refused, the first in row {worst.row}, {worst.heading}: {worst.sentence}"
        )
    return told
