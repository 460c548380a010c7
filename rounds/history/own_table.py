"""One's own export taken in again: what counted in it, written down anew by whoever takes it in."""

from __future__ import annotations

import csv
from collections.abc import Iterator, Sequence
from datetime import datetime
from io import StringIO
from typing import Any

import msgspec

from rounds.errors import BadInput, NotFound
from rounds.history.export import APOSTROPHE, COLUMNS, NO, YES, is_number
from rounds.history.paper_log import MOST_BYTES, MOST_ROWS, Judge, PaperPreview, RefusedCell, Told, sorted_out
from rounds.history.record import Draft, Value, checked
from rounds.history.store import History
from rounds.text import clean_line

_TEXTS = ("station", "item", "kind", "unit", "typed", "meter", "person", "note", "round_id")
_LEAST = COLUMNS[:-1]
"""The columns of an export without what belongs to its kind, as earlier versions wrote it."""


def is_own(text: str) -> bool:
    """Whether a table is an export of this program, whatever its decimal mark."""
    return _delimiter(text) is not None


def read_own(history: History, text: str, judge: Judge) -> PaperPreview:
    """Read an export; nothing is written. Records that another row replaces or takes back are left out.

    Raises
    ------
    BadInput
        Where it is too large, or no table.
    """
    read: list[Told] = []
    refused: list[RefusedCell] = []
    mark = "," if _delimiter(text) == ";" else "."
    for number, row in _standing(_rows(text)):
        try:
            draft = checked(_draft(row, mark))
            judge.refuse(draft)
            read.append(Told(draft=draft, row=number, heading=draft.item or draft.kind))
        except (BadInput, NotFound) as error:
            refused.append(RefusedCell(row=number, heading=clean_line(row["item"] or row["kind"]), sentence=str(error)))
    return sorted_out(history, read, refused, judge)


def _delimiter(text: str) -> str | None:
    head = text.removeprefix("\ufeff").partition("\n")[0].strip()
    return next((each for each in (",", ";") if head in (each.join(COLUMNS), each.join(_LEAST))), None)


def _rows(text: str) -> list[tuple[int, dict[str, str]]]:
    if len(text) > MOST_BYTES:
        raise BadInput(f"The table is {len(text)} characters long.", f"At most {MOST_BYTES} are taken in.")
    source = StringIO(text.removeprefix("\ufeff"), newline="")
    try:
        _, *rows = csv.reader(source, delimiter=_delimiter(text) or ",", strict=True)
    except csv.Error as error:
        raise BadInput(f"The table cannot be read: {error}.", "An export as it was written is expected.") from error
    if len(rows) > MOST_ROWS:
        raise BadInput(f"The table has {len(rows)} rows.", f"At most {MOST_ROWS} are taken in.")
    return [(n, dict(zip(COLUMNS, [*row, *[""] * len(COLUMNS)], strict=False))) for n, row in enumerate(rows, 2) if row]


def _standing(rows: Sequence[tuple[int, dict[str, str]]]) -> Iterator[tuple[int, dict[str, str]]]:
    replaced = {row["replaces"] for _, row in rows}
    return ((number, row) for number, row in rows if row["void"] != YES and row["id"] not in replaced)


def _draft(row: dict[str, str], mark: str) -> Draft:
    texts: dict[str, Any] = {name: _text(row[name]) for name in _TEXTS}
    for name in ("unit", "typed", "meter", "note", "round_id"):
        texts[name] = texts[name] or None
    try:
        at = datetime.fromisoformat(row["measured_at"])
        data = msgspec.json.decode(_text(row["data"]), type=dict[str, Any]) if row["data"] else {}
    except (ValueError, RecursionError) as error:  # msgspec's own error is a ValueError
        raise BadInput(f"This row is not as it was written: {clean_line(str(error), 80)}.") from error
    marks = tuple(each for each in _text(row["marks"]).split("; ") if each)
    return Draft(**texts, measured_at=at, value=_value(row["value"], mark), data=data, marks=marks)


def _text(cell: str) -> str:
    return cell.removeprefix(APOSTROPHE)


def _value(cell: str, mark: str) -> Value:
    if cell.startswith(APOSTROPHE):
        return cell[1:]
    if cell in ("", YES, NO):
        return None if not cell else cell == YES
    if not is_number(cell):
        return cell
    plain = cell.replace(mark, ".")
    return int(plain) if plain.lstrip("-").isdigit() else float(plain)
