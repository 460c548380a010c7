"""A spot in a TOML file where the reader gave up, and what can be seen from there."""

from __future__ import annotations

import re
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

    def at(self, column: int, row: int | None = None) -> Spot:
        """Another spot of the same text."""
        return replace(self, column=column, row=self.row if row is None else row)


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
    first = spot.row
    while first > 0 and not (is_pair(spot.lines[first]) and (first != spot.row or spot.column > 0)):
        if first != spot.row and BEGINS_A_TABLE.match(spot.lines[first]):
            return None
        first -= 1
    found: list[tuple[int, str]] = []
    for row in range(first, spot.row + 1):
        text = spot.lines[row] if row < spot.row else spot.text[: spot.column]
        if row == spot.row != first and (is_pair(spot.text) or BEGINS_A_TABLE.match(spot.text)):
            break
        bare = re.sub(r"""("(?:\\.|[^"\\])*"|'[^']*')""", lambda m: " " * len(m[0]), text).partition("#")[0]
        for mark in bare:
            if mark in "[{":
                found.append((row, mark))
            elif mark in "]}" and found:
                found.pop()
    return found[-1] if found else None


def line_of(spot: Spot, pattern: str, *, within_table: bool = False, including: bool = False) -> int | None:
    """The nearest line above that looks like the pattern."""
    for row in range(spot.row if including else spot.row - 1, -1, -1):
        if re.match(pattern, spot.lines[row]):
            return row
        if within_table and re.match(r"\s*\[", spot.lines[row]):
            return None
    return None
