"""A spot in a TOML file where the reader gave up, and what can be seen from there."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace

_PAIR = re.compile(r"\s*([^=#\[\]{}]*?)\s*=\s*(.*?)\s*\Z")
BARE_KEY = re.compile(r"""(?:[A-Za-z0-9_-]+|"[^"]*")(?:\.[A-Za-z0-9_-]+)*\Z""")
BEGINS_A_TABLE = re.compile(r"\s*\[\[?\s*[A-Za-z]")


@dataclass(frozen=True, slots=True)
class Spot:
    """Where the reader gave up. Rows and columns count from 0."""

    message: str
    lines: list[str]
    row: int
    column: int

    @property
    def text(self) -> str:
        """The line."""
        return self.lines[self.row] if self.row < len(self.lines) else ""

    @property
    def here(self) -> str:
        """The character; empty at the end of the line."""
        return self.text[self.column : self.column + 1]

    @property
    def pair(self) -> tuple[str, str] | None:
        """Key and value of the line, where it has them."""
        found = _PAIR.match(self.text)
        return (found[1], found[2]) if found else None

    @property
    def begins_anew(self) -> bool:
        """Whether the line begins a pair or a table."""
        return is_pair(self.text) or BEGINS_A_TABLE.match(self.text) is not None

    def at(self, column: int, row: int | None = None) -> Spot:
        """Another spot of the same text."""
        return replace(self, column=column, row=self.row if row is None else row)


Told = tuple[Spot, str]
"""The spot of a slip, and how to write what stands there."""


def is_pair(text: str) -> bool:
    """Whether a line begins with a key and its `=`."""
    found = _PAIR.match(text)
    return bool(found and BARE_KEY.match(found[1]))


def in_text(text: str, column: int) -> bool:
    """Whether a column of a line lies between two quotes."""
    return text[:column].count('"') % 2 == 1


def odd_quotes(text: str) -> bool:
    """Whether a quote on a line has no partner."""
    return (text.count('"') - text.count('\\"')) % 2 == 1


def open_at(spot: Spot) -> tuple[int, str] | None:
    """The innermost bracket that is open before the spot, in the pair it belongs to."""
    found: list[tuple[int, str]] = []
    for row, text in _pair_before(spot):
        bare = re.sub(r"""("(?:\\.|[^"\\])*"|'[^']*')""", lambda m: " " * len(m[0]), text).partition("#")[0]
        for mark in bare:
            if mark in "[{":
                found.append((row, mark))
            elif mark in "]}" and found:
                found.pop()
    return found[-1] if found else None


def _pair_before(spot: Spot) -> Iterator[tuple[int, str]]:
    """The rows of the pair that a spot belongs to, the last one as far as the spot; none where a table begins first."""
    first = _row_of_pair(spot)
    if first is None:
        return
    yield from ((row, spot.lines[row]) for row in range(first, spot.row))
    if first == spot.row or not spot.begins_anew:
        yield spot.row, spot.text[: spot.column]


def _row_of_pair(spot: Spot) -> int | None:
    """The row with the key of the pair that a spot belongs to, else the first row of all."""
    if spot.column > 0 and is_pair(spot.text):
        return spot.row
    for row in range(spot.row - 1, 0, -1):
        if is_pair(spot.lines[row]):
            return row
        if BEGINS_A_TABLE.match(spot.lines[row]):
            return None
    return 0


def line_of(spot: Spot, pattern: str, *, within_table: bool = False, including: bool = False) -> int | None:
    """The nearest line above that looks like the pattern."""
    for row in range(spot.row if including else spot.row - 1, -1, -1):
        if re.match(pattern, spot.lines[row]):
            return row
        if within_table and re.match(r"\s*\[", spot.lines[row]):
            return None
    return None
