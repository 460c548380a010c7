"""How much room a text or a table takes on paper, worked out before it is written."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from functools import cache
from itertools import accumulate
from math import inf

from rounds.relief.model import Grid

BODY_PT, LARGE_PT = 9.0, 13.0
PAD_Y_MM, PAD_X_MM = 0.25, 0.8
"""Between the lines of a table and what stands in it. [mm]"""
TALL_MM = 6.0
"""Height of a row with room to write in. [mm]"""
_LINE = 0.3528 * 1.16
"""Height of a line by its letters. [mm/pt]"""
_TOGETHER = 3
"""How many rows of a table stay together where no row heads them."""
WidthOf = Callable[[str, float, str], float]
"""How wide a word is, by the size of its letters [pt] and their style, B for bold. [mm]"""


class RoomOnPaper:
    """Heights in a column of paper, as the printer will break the lines.

    Parameters
    ----------
    width_of : callable
        Asked once for each word.
    width_mm : float
        Width of the column. [mm]
    """

    def __init__(self, width_of: WidthOf, width_mm: float) -> None:
        self._width_of = cache(width_of)
        self._width_mm = width_mm

    def text(self, lines: Sequence[str], size: float, style: str, width_mm: float) -> float:
        """Height of lines of text, broken between words. [mm]"""
        return sum(self._lines(line, size, style, width_mm) for line in lines) * line_mm(size)

    def table(self, grid: Grid, *, heads: bool) -> float:
        """Height of the rows of a table, with its heads or without; bold throughout, which is the wider. [mm]"""
        rows = [grid.heads, *grid.rows] if heads and grid.heads else grid.rows
        return sum(self._row(grid, row) for row in rows)

    def _row(self, grid: Grid, row: Sequence[str]) -> float:
        whole, size = sum(grid.widths), letters_pt(grid)
        cells = [
            self.text((cell,), size, "B", self._width_mm * share / whole - 2 * PAD_X_MM)
            for cell, share in zip(row, grid.widths, strict=True)
        ]
        return max(max(cells) + 2 * PAD_Y_MM, least_row_mm(grid))

    def _lines(self, text: str, size: float, style: str, width_mm: float) -> int:
        space, count = self._width_of(" ", size, style), 0
        for paragraph in text.split("\n"):
            used = inf
            for word in paragraph.split(" "):
                wide = self._width_of(word, size, style)
                used += space + wide
                if used > width_mm:
                    used, count = wide, count + 1
        return count


def line_mm(size: float) -> float:
    """Height of a line by the size of its letters in points. [mm]"""
    return size * _LINE


def letters_pt(grid: Grid) -> float:
    """Size of the letters of a table. [pt]"""
    return LARGE_PT if grid.large else BODY_PT


def least_row_mm(grid: Grid) -> float:
    """What a row of a table is high, however little stands in it. [mm]"""
    return TALL_MM * grid.tall


def in_left_column(heights: Sequence[float]) -> int:
    """How many of some lines stand in the left of two columns: the fewest that reach half of their height.

    Examples
    --------
    >>> in_left_column([4.0, 4.0, 4.0])
    2
    """
    return sum(2 * end < sum(heights) for end in accumulate(heights)) + 1


def kept_together(grid: Grid) -> Iterator[Grid]:
    """Parts of a table that each stay on one page: a headed group as a whole, else a few rows; never one at the end."""
    starts = [0] if grid.headed else [0, *range(_TOGETHER, len(grid.rows) - 1, _TOGETHER)]
    for start, end in zip(starts, [*starts[1:], len(grid.rows)], strict=True):
        yield replace(grid, rows=grid.rows[start:end])
