"""Reading TOML that a person wrote: where it cannot be read, the spot, what stands there, and how to write it."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from typing import Any

from rounds.farm.toml_spot import Spot
from rounds.text import clean_line
from rounds.toml_bounds import beyond

_PLACE = re.compile(r"\(at (?:line (\d+), column (\d+)|end of document)\)\Z")
_BYTE_ORDER_MARK = b"\xef\xbb\xbf"
_WIDEST = 66


@dataclass(frozen=True, slots=True)
class Slip:
    """The first thing in a file that keeps it from being read. Lines and columns count from 1."""

    line: int
    column: int
    text: str
    """The whole line as it stands."""
    how: str
    """How to write it, such as `write 53.6, not 53,6`."""

    @property
    def picture(self) -> str:
        """The line with a mark under the spot, in two lines."""
        first = max(0, min(self.column - _WIDEST // 2, len(self.text) - _WIDEST))
        part = self.text[first : first + _WIDEST]
        shown = "".join(c if c.isprintable() else " " if c == "\t" else "\ufffd" for c in part)
        return f"    {shown}\n    {' ' * (self.column - 1 - first)}^"


def read_tables(data: bytes) -> dict[str, Any] | Slip:
    """The tables of a TOML file, or its first slip.

    Examples
    --------
    >>> slip = read_tables(b"latitude = 53,6")
    >>> slip.line, slip.column, slip.how
    (1, 14, 'write 53.6, not 53,6')
    """
    body = data.removeprefix(_BYTE_ORDER_MARK)
    if data[:2] in (b"\xff\xfe", b"\xfe\xff") or b"\0" in body[:4]:
        return _in_two_bytes(data)
    try:
        text = body.decode("utf-8")
    except UnicodeDecodeError as error:
        return _in_another_encoding(body, error.start)
    bound = beyond(text)
    if bound is not None:
        return _at(text, bound.at, bound.how)
    try:
        return tomllib.loads(text)
    except ValueError as error:
        return _slip(text, str(error))


def _in_two_bytes(data: bytes) -> Slip:
    mark = {b"\xff\xfe": "utf-16", b"\xfe\xff": "utf-16"}.get(
        data[:2], "utf-16-le" if data[:1] != b"\0" else "utf-16-be"
    )
    first = data.decode(mark, errors="replace").lstrip("\ufeff").split("\n")[0].rstrip("\r")
    return Slip(1, 1, first, "the file is saved as UTF-16 (“Unicode”): save it as UTF-8")


def _in_another_encoding(body: bytes, at: int) -> Slip:
    before, _, _ = body[:at].rpartition(b"\n")
    line = before.count(b"\n") + (2 if b"\n" in body[:at] else 1)
    row = body.split(b"\n")[line - 1].rstrip(b"\r")
    start = at - (body.rfind(b"\n", 0, at) + 1)
    column = len(row[:start].decode("utf-8", errors="replace")) + 1
    letter = body[at : at + 1].decode("cp1252", errors="replace")
    text = row.decode("cp1252", errors="replace")
    if letter.isprintable() and letter.isalpha():
        return Slip(line, column, text, f"“{letter}” is not saved as UTF-8: save the file as UTF-8")
    return Slip(line, column, text, "there are bytes that are no UTF-8: save the file as UTF-8")


def _slip(text: str, message: str) -> Slip:
    """What the reader's message means; it counts lines by their newlines alone."""
    place = _PLACE.search(message)
    if place is None:
        return _at(text, 0, "this cannot be read")
    unified = text.replace("\r\n", "\n")
    lines = unified.split("\n")
    if place[1] is None:
        return _told(Spot(message, lines, *_end(lines)))
    return _told(Spot(message, lines, int(place[1]) - 1, int(place[2]) - 1))


def _end(lines: list[str]) -> tuple[int, int]:
    row = next((n for n in range(len(lines) - 1, -1, -1) if lines[n].strip()), 0)
    return row, len(lines[row].rstrip())


def _at(text: str, at: int, how: str) -> Slip:
    before = text[:at].replace("\r\n", "\n").split("\n")
    line = text.replace("\r\n", "\n").split("\n")[len(before) - 1]
    return Slip(len(before), len(before[-1]) + 1, line, how)


def _told(spot: Spot) -> Slip:
    from rounds.farm.toml_hints import hint_for  # not needed where all is well

    where, how = hint_for(spot)
    return Slip(where.row + 1, where.column + 1, where.text, clean_line(how))
