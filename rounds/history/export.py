"""The record for other programs: cells a spreadsheet cannot run, and JSON of a stated form."""

import csv
import re
from collections.abc import Iterable
from io import StringIO

import msgspec

from rounds.errors import BadInput
from rounds.history.record import Record, Value
from rounds.text import clean, clean_line

FORM = "rounds-history"
VERSION = 1
COLUMNS = (
    "measured_at", "station", "item", "kind", "value", "unit", "typed", "meter", "person", "note", "marks",
    "entered_at", "round_id", "replaces", "void", "id", "device", "seq", "data",
)  # fmt: skip
APOSTROPHE = "'"
"""Before a text that a spreadsheet would run, that begins so itself, or that would be read back as something else."""
YES, NO = "yes", "no"
_NUMBER = re.compile(r"-?[0-9]{1,40}(?:[.,][0-9]{1,40})?(?:e[+-]?[0-9]{1,3})?\Z", re.ASCII)
_RUNS_AS_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")


def to_csv(records: Iterable[Record], decimal_mark: str = ".", *, header: bool = True) -> str:
    """Write records as CSV (RFC 4180), separated by commas, or by semicolons where the comma is the decimal mark.

    Parameters
    ----------
    records : iterable of Record
        In the order wanted.
    decimal_mark : str
        "." or ",".

    Returns
    -------
    str
        Numbers stay numbers; a text that a spreadsheet would run as a formula gets a leading apostrophe.
    """
    if decimal_mark not in (".", ","):
        raise BadInput(f"The decimal mark is {clean_line(decimal_mark, 20)!r}.", 'It is "." or ",".')
    out = StringIO()
    writer = csv.writer(out, delimiter=";" if decimal_mark == "," else ",", lineterminator="\r\n")
    if header:
        writer.writerow(COLUMNS)
    for record in records:
        cells = (_cell(_column(record, name), decimal_mark) for name in COLUMNS)
        writer.writerow(
            [_as_text(record, cell) if name == "value" else cell for name, cell in zip(COLUMNS, cells, strict=True)]
        )
    return out.getvalue()


def to_json(records: Iterable[Record]) -> str:
    """Write records as JSON: `form` "rounds-history", `version` 1, and `records` with the fields of `Record`.

    Times are RFC 3339 with their zone; a field that has its default (null, empty, false) is left out; fields of a newer
    version stand under `extra`.
    """
    return msgspec.json.encode({"form": FORM, "version": VERSION, "records": list(records)}).decode()


def safe_cell(text: str) -> str:
    """Make a text harmless in a spreadsheet.

    Examples
    --------
    >>> safe_cell("=1+1"), safe_cell("6.4"), safe_cell("'tis")
    ("'=1+1", '6.4', "''tis")
    """
    shown = clean(text)
    return (
        APOSTROPHE + shown if any(each.startswith((APOSTROPHE, *_RUNS_AS_FORMULA)) for each in (text, shown)) else shown
    )


def _column(record: Record, name: str) -> Value:
    if name in ("measured_at", "entered_at"):
        moment = record.measured_at if name == "measured_at" else record.entered_at
        return moment.isoformat(timespec="seconds")
    if name == "marks":
        return "; ".join(record.marks)
    if name == "data":
        return msgspec.json.encode(record.data).decode() if record.data else None
    value: Value = getattr(record, name)
    return value


def is_number(cell: str) -> bool:
    """Tell whether a cell of values is a number as it is written here, whatever its decimal mark."""
    return _NUMBER.match(cell) is not None


def _as_text(record: Record, cell: str) -> str:
    """The cell of a value: a text that looks like a number, a yes or a no is marked as a text."""
    looks_else = cell in ("", YES, NO) or is_number(cell)
    return APOSTROPHE + cell if isinstance(record.value, str) and looks_else else cell


def _cell(value: Value, decimal_mark: str) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return YES if value else NO
    if isinstance(value, int | float):
        return repr(value).replace(".", decimal_mark)
    return safe_cell(value)
