"""The sheet as PDF: A4, black on white, no table row ever cut, and no row alone on a page."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rounds.errors import BadInput
from rounds.relief.model import Grid, ReliefSheet, SheetSection
from rounds.relief.printable import in_latin_1, refuse_unprintable

if TYPE_CHECKING:
    from fpdf import FPDF

MARGIN_MM, FOOT_MM = 10.0, 10.0
BODY_PT, LARGE_PT, HEAD_PT, TITLE_PT = 9.0, 13.0, 12.5, 17.0
_LINE = 0.3528 * 1.16
"""Height of a line by its letters. [mm/pt]"""
_TALL_MM = 6.0
_PAD_Y, _PAD_X = 0.25, 0.8
_TOGETHER = 3
"""Rows of a table that stay together where nothing heads them."""


def as_pdf(sheet: ReliefSheet, made: datetime, font: Path | None = None) -> bytes:
    """Print a sheet.

    Parameters
    ----------
    made : datetime
        Written into the file as the time it was made.
    font : Path, optional
        A TrueType font for letters that the built-in ones lack.

    Raises
    ------
    BadInput
        Where the font lacks a character of the sheet, or is no font.
    """
    document = _document(sheet, font)
    document.set_creation_date(made)
    document.add_page()
    paper = _Paper(document, own_font=font is not None)
    refuse_unprintable(sheet.texts() if font else map(in_latin_1, sheet.texts()), paper.has)
    paper.heading(sheet.title, TITLE_PT)
    paper.lines((sheet.subtitle,), bullet="")
    for section in sheet.sections:
        paper.section(section)
    return bytes(document.output())


def _document(sheet: ReliefSheet, font: Path | None) -> FPDF:
    from fpdf import FPDF

    foot = sheet.foot if font else in_latin_1(sheet.foot)
    family = "own" if font else "Helvetica"

    class Document(FPDF):
        def footer(self) -> None:
            self.set_y(-FOOT_MM + 1.5)
            self.set_font(family, size=8)
            self.cell(0, 5, f"{foot} · page {self.page_no()} of {{nb}}", align="C")

    document = Document(format="A4", unit="mm")
    document.set_margins(MARGIN_MM, MARGIN_MM - 1, MARGIN_MM)
    document.set_auto_page_break(True, FOOT_MM)
    document.set_title(foot)
    document.set_lang("en")
    if font is not None:
        _add_font(document, font)
    return document


def _add_font(document: FPDF, font: Path) -> None:
    try:
        for style in ("", "B"):
            document.add_font("own", style, str(font))
    except Exception as error:
        raise BadInput(
            f"{font.name} is not a font that can be printed with.", "A .ttf or .otf file is expected."
        ) from error


class _Paper:
    """Writes sections onto pages."""

    def __init__(self, document: FPDF, *, own_font: bool) -> None:
        self.document = document
        self._family = "own" if own_font else "Helvetica"
        self._own = own_font
        self._heads: tuple[str, ...] = ()
        self._page = 0
        self._widths: dict[tuple[str, float, str], float] = {}

    def has(self, character: str) -> bool:
        """Whether the font can print a character."""
        if not self._own:
            return ord(character) < 256
        fonts: Any = self.document.fonts
        return ord(character) in fonts["own"].cmap

    def section(self, section: SheetSection) -> None:
        """One section; its head stays with what follows it."""
        if section.new_page and self.document.y > 3 * MARGIN_MM:
            self.document.add_page()
        blocks = [block for grid in section.grids for block in _blocks(grid)]
        self._heads = ()
        self._keep(self._head_height(section) + (self._height(blocks[0], heads=True) if blocks else 0.0))
        self.heading(section.title)
        self._lines_before(section)
        for number, block in enumerate(blocks):
            self._block(block, keep=number > 0)
        if section.after:
            self._keep(sum(self._lines_height(line, BODY_PT, "B", self.document.epw) for line in section.after) + 2.0)
            self.lines(section.after, bullet="", style="B")

    def _lines_before(self, section: SheetSection) -> None:
        if section.two_columns:
            self._columns(section.lines)
        else:
            self.lines(section.lines, bullet="" if len(section.lines) < 4 else "- ")

    def heading(self, text: str, size: float = HEAD_PT) -> None:
        """A line of large letters with a rule below."""
        document = self.document
        document.ln(1.6 if document.y > 2 * MARGIN_MM else 0)
        document.set_font(self._family, "B", size)
        document.multi_cell(0, size * _LINE, self._text(text), new_x="LMARGIN", new_y="NEXT")
        document.line(MARGIN_MM, document.y + 0.3, document.w - MARGIN_MM, document.y + 0.3)
        document.ln(1.2)

    def lines(self, lines: Sequence[str], *, bullet: str = "- ", style: str = "") -> None:
        """Lines of text."""
        self.document.set_font(self._family, style, BODY_PT)
        for line in lines:
            self.document.multi_cell(
                0, BODY_PT * _LINE, self._text(bullet + line), new_x="LMARGIN", new_y="NEXT", align="L"
            )
        self.document.ln(0.8 if lines else 0)

    def _columns(self, lines: Sequence[str]) -> None:
        self.document.set_font(self._family, "", BODY_PT)
        rows = [self._text(f"- {line}") for line in lines]
        width = self.document.epw / 2
        heights = [self._lines_height(row, BODY_PT, "", width) for row in rows]
        half = next(n for n in range(1, len(rows) + 1) if 2 * sum(heights[:n]) >= sum(heights))
        self.document.set_font(self._family, "", BODY_PT)
        with self.document.table(
            col_widths=(50, 50), borders_layout="NONE", text_align="L", first_row_as_headings=False,
            line_height=BODY_PT * _LINE, v_align="T",
        ) as table:  # fmt: skip
            table.row(["\n".join(rows[:half]), "\n".join(rows[half:])])

    def _block(self, block: Grid, *, keep: bool) -> None:
        if keep:
            self.document.ln(1.2 if block.heads and block.heads != self._heads else 0.0)
            self._keep(self._height(block, heads=block.heads != self._heads))
        self._table(block, heads=block.heads != self._heads or self.document.page != self._page)

    def _keep(self, height_mm: float) -> None:
        """Begin a new page where what is written next would not end on this one."""
        room = self.document.page_break_trigger - self.document.y
        if room < height_mm and self.document.y > 3 * MARGIN_MM:
            self.document.add_page()

    def _head_height(self, section: SheetSection) -> float:
        width = self.document.epw / (2 if section.two_columns else 1)
        lines = sum(self._lines_height(f"- {line}", BODY_PT, "", width) for line in section.lines)
        return 3.0 + HEAD_PT * _LINE + lines / (2 if section.two_columns else 1) * 1.1

    def _height(self, block: Grid, *, heads: bool) -> float:
        rows = [*([block.heads] if block.heads and heads else []), *block.rows]
        return 2.0 + sum(self._row_height(block, row) for row in rows)

    def _row_height(self, block: Grid, row: Sequence[str]) -> float:
        size = LARGE_PT if block.large else BODY_PT
        whole = sum(block.widths)
        heights = [
            self._lines_height(cell, size, "B", self.document.epw * share / whole - 2 * (_PAD_X + 1.1)) + 2 * _PAD_Y
            for cell, share in zip(row, block.widths, strict=False)
        ]
        return max(*heights, _TALL_MM if block.tall else 0.0)

    def _lines_height(self, text: str, size: float, style: str, width_mm: float) -> float:
        """How high a text will be: broken between words as the printer does, each word measured once."""
        count, space = 0, self._width(" ", size, style)
        for paragraph in self._text(text).split("\n"):
            used, count = 0.0, count + 1
            for word in paragraph.split(" "):
                wide = self._width(word, size, style)
                if used and used + space + wide > width_mm:
                    used, count = 0.0, count + 1
                used += wide + (space if used else 0.0)
        return count * size * _LINE

    def _width(self, word: str, size: float, style: str) -> float:
        key = (word, size, style)
        if key not in self._widths:
            self.document.set_font(self._family, style, size)
            self._widths[key] = self.document.get_string_width(word)
        return self._widths[key]

    def _table(self, block: Grid, *, heads: bool) -> None:
        from fpdf.fonts import FontFace

        size = LARGE_PT if block.large else BODY_PT
        self.document.set_font(self._family, "", size)
        bold = FontFace(emphasis="BOLD")
        with self.document.table(
            col_widths=block.widths, text_align="L", line_height=size * _LINE, padding=(_PAD_Y, _PAD_X), v_align="M",
            first_row_as_headings=bool(block.heads) and heads, headings_style=bold,
            min_row_height=_TALL_MM if block.tall else None, markdown=block.bold_marks,
        ) as table:  # fmt: skip
            if block.heads and heads:
                table.row([self._text(head) for head in block.heads])
            self._rows(table, block, bold)
        self._heads, self._page = block.heads, self.document.page

    def _rows(self, table: Any, block: Grid, bold: Any) -> None:
        for number, row in enumerate(block.rows):
            if block.headed and number == 0:
                table.row(style=bold).cell(self._text(row[0]), colspan=len(row))
            else:
                self._row(table, row, first=None if block.heads else bold)

    def _row(self, table: Any, cells: Sequence[str], *, first: Any) -> None:
        row = table.row()
        for number, cell in enumerate(cells):
            row.cell(self._text(cell), style=first if number == 0 else None)

    def _text(self, text: str) -> str:
        return text if self._own else in_latin_1(text)


def _blocks(grid: Grid) -> Iterator[Grid]:
    """Parts of a table that each stay on one page: a headed group as a whole, else a few rows; never one at the end."""
    count = len(grid.rows)
    if grid.headed or count <= _TOGETHER + 1:
        yield grid
        return
    starts = list(range(0, count, _TOGETHER))
    if count - starts[-1] < 2:
        starts.pop()
    for start, end in zip(starts, [*starts[1:], count], strict=True):
        yield replace(grid, rows=grid.rows[start:end])
