"""What a relief sheet is made of, whatever it is printed on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from rounds.text import clean


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """A table: heads, rows and how wide the columns are."""

    heads: tuple[str, ...] = ()
    rows: tuple[tuple[str, ...], ...]
    widths: tuple[float, ...]
    """Shares of the width of the page."""
    large: bool = False
    """In large letters, to be read in a hurry."""
    bold_marks: bool = False
    """Whether what stands between two pairs of stars is meant bold."""
    tall: bool = False
    """With room to write in."""
    headed: bool = False
    """Whether the first row heads those below it, so that all stay together."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetSection:
    """One part of the sheet, kept together on a page where it fits."""

    title: str
    lines: tuple[str, ...] = ()
    grids: tuple[Grid, ...] = ()
    after: tuple[str, ...] = ()
    new_page: bool = False
    two_columns: bool = False
    """Whether the lines may stand in two columns."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReliefSheet:
    """A whole sheet."""

    title: str
    subtitle: str
    foot: str
    sections: tuple[SheetSection, ...]

    def texts(self) -> Sequence[str]:
        """Every text on it."""
        found = [self.title, self.subtitle, self.foot]
        for section in self.sections:
            found += [section.title, *section.lines, *section.after]
            for grid in section.grids:
                found += [*grid.heads, *(cell for row in grid.rows for cell in row)]
        return found


def tidy(text: str) -> str:
    """A text from the farm's files or the history, harmless on paper."""
    return clean(text).strip()
