"""Old paper logs, typed into a table at some time, taken over with a mapping: seen first, then written as a whole."""

import csv
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo
from io import StringIO
from typing import Protocol

import msgspec

from rounds.errors import BadInput, NotFound
from rounds.history.record import DOUBTED, Draft, Record, Value, checked
from rounds.history.store import History
from rounds.text import clean, clean_line

MARK = "from a paper log"
MOST_ROWS = 200_000
MOST_BYTES = 32 << 20
_FIRST_YEAR, _LAST_YEAR = 1970, 2199
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

    @property
    def is_reading(self) -> bool:
        """Whether its cells are measured values."""
        return self.kind == "reading"


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


class Judge(Protocol):
    """Who says what of a table may be written down."""

    def value_of(self, column: Column, typed: str) -> tuple[Value, str | None]:
        """The value of a cell and its unit. Raises `BadInput` where it is none."""

    def refuse(self, draft: Draft) -> None:
        """Raise `BadInput` or `NotFound` for what cannot be: that cell is refused, the others are not.

        Anything else ends the whole.
        """

    def doubts(self, drafts: Sequence[Draft]) -> Sequence[str]:
        """Why each is hard to believe; empty where it is not."""


class Trusting:
    """Takes every number and every text as it stands."""

    def value_of(self, column: Column, typed: str) -> tuple[Value, str | None]:
        from rounds.units import parse_number

        return (clean(typed) if column.is_text else parse_number(typed)), column.unit

    def refuse(self, draft: Draft) -> None:
        return

    def doubts(self, drafts: Sequence[Draft]) -> Sequence[str]:
        return [""] * len(drafts)


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """A draft, and where in the table it stands."""

    draft: Draft
    row: int
    heading: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperPreview:
    """What taking in a paper log would write."""

    drafts: tuple[Draft, ...]
    known: int
    """Cells that were taken in before."""
    refused: tuple[RefusedCell, ...]
    sentences: tuple[str, ...]
    doubted: tuple[RefusedCell, ...] = ()
    """Cells that are hard to believe."""
    kept: tuple[Draft, ...] = ()
    """These as they would be kept, with a mark: nothing is believed by them."""


def preview(history: History, text: str, mapping: Mapping, judge: Judge | None = None) -> PaperPreview:
    """Read a table; nothing is written.

    Parameters
    ----------
    judge : Judge, optional
        Refuses and doubts; every cell is taken as it stands where not given.

    Raises
    ------
    BadInput
        Where it is too large, or a heading of the mapping is missing.
    """
    judge = judge or Trusting()
    read: list[Told] = []
    refused: list[RefusedCell] = []
    for number, row in _rows(text, mapping):
        _read_row(number, row, mapping, judge, read, refused)
    return sorted_out(history, read, refused, judge)


def sorted_out(history: History, read: Sequence[Told], refused: Sequence[RefusedCell], judge: Judge) -> PaperPreview:
    """Part what was read into what is new, what was taken in before, and what is hard to believe."""
    known = _known(history, [each.draft for each in read])
    new = [each for each in read if _what(each.draft) not in known]
    doubts = judge.doubts([each.draft for each in new])
    sure = tuple(each.draft for each, doubt in zip(new, doubts, strict=True) if not doubt)
    doubted = [(each, doubt) for each, doubt in zip(new, doubts, strict=True) if doubt]
    return PaperPreview(
        drafts=sure,
        known=len(read) - len(new),
        refused=tuple(refused),
        sentences=tuple(_sentences(sure, len(read) - len(new), refused, len(doubted))),
        doubted=tuple(RefusedCell(row=each.row, heading=each.heading, sentence=doubt) for each, doubt in doubted),
        kept=tuple(msgspec.structs.replace(e.draft, marks=(*e.draft.marks, DOUBTED)) for e, _ in doubted),
    )


def apply(history: History, paper: PaperPreview) -> int:
    """Write down what a preview showed, all or nothing; give how many records that were."""
    return history.add_bulk(paper.drafts)


def _rows(text: str, mapping: Mapping) -> Iterator[tuple[int, dict[str, str]]]:
    if len(text) > MOST_BYTES:
        raise BadInput(f"The table is {len(text)} characters long.", f"At most {MOST_BYTES} are taken in.")
    if len(mapping.delimiter) != 1 or mapping.delimiter in '"\r\n':
        raise BadInput(f"The delimiter {clean_line(mapping.delimiter, 20)!r} cannot be.", 'It is one sign, as ";".')
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
    twice = next((each for each in wanted if headings.count(each) > 1), None)
    if twice is not None:
        raise BadInput(f"The table has the column {twice} more than once.", "Give each column a heading of its own.")
    missing = [each for each in wanted if each not in headings]
    if missing:
        raise BadInput(f"The table has no column {', '.join(missing)}.", f"It has: {', '.join(headings)}.")


def _read_row(
    number: int,
    row: dict[str, str],
    mapping: Mapping,
    judge: Judge,
    read: list[Told],
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
            draft = _draft(row, typed, moment, column, mapping, judge)
            judge.refuse(draft)
            read.append(Told(draft=draft, row=number, heading=column.heading))
        except (BadInput, NotFound) as error:
            refused.append(RefusedCell(row=number, heading=column.heading, sentence=str(error)))


def check_time_format(form: str) -> None:
    """Refuse a form that no time can be read by.

    Raises
    ------
    BadInput
        With what is wrong with it.
    """
    try:
        datetime.strptime("", form)
    except re.error as error:
        raise BadInput(f"time_format has a part twice: {clean_line(form, 40)}.", _A_FORM) from error
    except ValueError as error:
        if "does not match" not in str(error):
            raise BadInput(f"time_format cannot be read: {clean_line(str(error), 80)}.", _A_FORM) from error


_A_FORM = 'A form such as "%d.%m.%Y %H:%M" is expected.'


def _moment(row: dict[str, str], mapping: Mapping) -> datetime:
    typed = " ".join(row.get(heading, "").strip() for heading in mapping.time)
    try:
        moment = datetime.strptime(typed, mapping.time_format)
    except (ValueError, OverflowError) as error:
        sentence = f"The time {clean_line(typed, 40)!r} does not have the form {mapping.time_format}."
        raise BadInput(sentence) from error
    if not _FIRST_YEAR < moment.year < _LAST_YEAR:
        raise BadInput(f"The year {moment.year} cannot be.", f"Expected: after {_FIRST_YEAR}.")
    return moment if moment.tzinfo is not None else moment.replace(tzinfo=mapping.zone)


def _draft(row: dict[str, str], typed: str, moment: datetime, column: Column, mapping: Mapping, judge: Judge) -> Draft:
    person = row.get(mapping.person_heading, "") if mapping.person_heading else mapping.person
    note = row.get(mapping.note_heading, "").strip() if mapping.note_heading else ""
    value, unit = judge.value_of(column, typed)
    return checked(
        Draft(
            kind=column.kind,
            station=column.station,
            item=column.item,
            measured_at=moment,
            person=person.strip(),
            typed=typed,
            value=value,
            unit=unit,
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


def _sentences(new: Sequence[Draft], known: int, refused: Sequence[RefusedCell], doubted: int = 0) -> list[str]:
    told = [f"{len(new)} readings are new, {known} were taken in before."]
    if new:
        first, last = min(each.measured_at for each in new), max(each.measured_at for each in new)
        told.append(f"They are from {first:%Y-%m-%d} to {last:%Y-%m-%d}.")
    if doubted:
        told.append(f"{doubted} are hard to believe and left out: --keep keeps them, and nothing is believed by them.")
    if refused:
        worst = refused[0]
        told.append(
            f"{len(refused)} cells are refused, the first in row {worst.row}, {worst.heading}: {worst.sentence}"
        )
    return told
