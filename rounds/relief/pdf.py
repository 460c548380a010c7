"""The sheet as PDF: A4, black on white, no table row ever cut, and no row alone on a page."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rounds.errors import BadInput
from rounds.relief.model import Grid, ReliefSheet, SheetSection
from rounds.relief.printable import in_built_in_fonts, in_latin_1, refuse_unprintable
from rounds.relief.room_on_paper import (
    BODY_PT,
    PAD_X_MM,
    PAD_Y_MM,
    RoomOnPaper,
    in_left_column,
    kept_together,
    least_row_mm,
    letters_pt,
    line_mm,
)

if TYPE_CHECKING:
    from fpdf import FPDF

MARGIN_MM = 10.0
HEAD_PT, TITLE_PT, FOOT_PT = 12.5, 17.0, 8.0
_FOOT_MM = 8.0
"""Height of the foot within the lower margin: printers do not reach the last 5 mm. [mm]"""
_GAP_MM = 1.0
"""Around heads, below lines and between tables. [mm]"""
_FEW_LINES = 3
"""So many lines are read as text, more as a list."""
_BEGUN_MM = 3 * MARGIN_MM
"""Above this line stands the title at most: a page that ends here is not begun yet. [mm]"""


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
    paper.lines((sheet.subtitle,))
    for section in sheet.sections:
        paper.section(section)
    return bytes(document.output())


def _document(sheet: ReliefSheet, font: Path | None) -> FPDF:
    from fpdf import FPDF

    foot = sheet.foot if font else in_latin_1(sheet.foot)
    family = "own" if font else "Helvetica"

    class Document(FPDF):
        def footer(self) -> None:
            self.set_y(self.page_break_trigger)
            self.set_font(family, size=FOOT_PT)
            self.cell(0, _FOOT_MM, f"{foot} · page {self.page_no()} of {{nb}}", align="C")

    document = Document(format="A4", unit="mm")
    document.set_margin(MARGIN_MM)
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
        self._room = RoomOnPaper(self._width, document.epw)

    def has(self, character: str) -> bool:
        """Whether the font can print a character."""
        if not self._own:
            return in_built_in_fonts(character)
        fonts: Any = self.document.fonts
        return ord(character) in fonts["own"].cmap

    def section(self, section: SheetSection) -> None:
        """One section; its head stays with what follows it."""
        if section.new_page:
            self._turn_page()
        parts = [part for grid in section.grids for part in kept_together(grid)]
        before = _before(section)
        columns = self._halves(before) if section.two_columns else [before]
        self._keep(self._head_mm(columns) + sum(self._room.table(part, heads=True) for part in parts[:1]))
        self.heading(section.title)
        if section.two_columns:
            self._columns(columns)
        else:
            self.lines(before)
        self._tables(parts)
        self._keep(self._text_mm(section.after, "B", columns=1))
        self.lines(section.after, style="B")

    def heading(self, text: str, size: float = HEAD_PT) -> None:
        """A line of large letters with a rule below."""
        self.document.ln(_GAP_MM)
        self.document.set_font(self._family, "B", size)
        self._write(text, size, border="B")
        self.document.ln(_GAP_MM)

    def lines(self, lines: Sequence[str], *, style: str = "") -> None:
        """Lines of text."""
        self.document.set_font(self._family, style, BODY_PT)
        for line in lines:
            self._write(line, BODY_PT)
        self.document.ln(_GAP_MM)

    def _write(self, text: str, size: float, border: str = "") -> None:
        self.document.multi_cell(
            self.document.epw, line_mm(size), self._text(text), border=border or 0, new_x="LMARGIN", new_y="NEXT",
            align="L",
        )  # fmt: skip

    def _columns(self, columns: Sequence[Sequence[str]]) -> None:
        self.document.set_font(self._family, "", BODY_PT)
        with self.document.table(
            borders_layout="NONE", text_align="L", first_row_as_headings=False, line_height=line_mm(BODY_PT),
            v_align="T",
        ) as table:  # fmt: skip
            table.row(["\n".join(map(self._text, column)) for column in columns])

    def _halves(self, lines: Sequence[str]) -> list[Sequence[str]]:
        left = in_left_column([self._text_mm((line,), "", columns=2) for line in lines])
        return [lines[:left], lines[left:]]

    def _tables(self, parts: Sequence[Grid]) -> None:
        """Parts of tables below one another; heads are said anew where they change, and on every page."""
        heads: tuple[str, ...] = ()
        page = 0
        for part in parts:
            other = part.heads != heads
            if page:
                self.document.ln(_GAP_MM if other else 0.0)
                self._keep(self._room.table(part, heads=other))
            self._table(part, heads=other or self.document.page != page)
            heads, page = part.heads, self.document.page

    def _keep(self, height_mm: float) -> None:
        """Begin a new page if what is written next does not fit on this one."""
        if self.document.will_page_break(height_mm):
            self._turn_page()

    def _turn_page(self) -> None:
        if self.document.y > _BEGUN_MM:
            self.document.add_page()

    def _head_mm(self, columns: Sequence[Sequence[str]]) -> float:
        """Height of a section's head and of the lines below it. [mm]"""
        lines = max(self._text_mm(column, "", columns=len(columns)) for column in columns)
        return line_mm(HEAD_PT) + lines + 3 * _GAP_MM

    def _text_mm(self, lines: Sequence[str], style: str, *, columns: int) -> float:
        """Height of lines of text in one of so many columns. [mm]"""
        return self._room.text(lines, BODY_PT, style, self.document.epw / columns - 2 * self.document.c_margin)

    def _width(self, word: str, size: float, style: str) -> float:
        self.document.set_font(self._family, style, size)
        return self.document.get_string_width(self._text(word))

    def _table(self, block: Grid, *, heads: bool) -> None:
        from fpdf.fonts import FontFace

        size = letters_pt(block)
        self.document.set_font(self._family, "", size)
        bold = FontFace(emphasis="BOLD")
        said = block.heads if heads else ()
        with self.document.table(
            col_widths=block.widths, text_align="L", line_height=line_mm(size), padding=(PAD_Y_MM, PAD_X_MM),
            v_align="M", first_row_as_headings=bool(said), headings_style=bold, min_row_height=least_row_mm(block),
            markdown=block.bold_marks,
        ) as table:  # fmt: skip
            if said:
                table.row([self._text(head) for head in said])
            self._rows(table, block, bold)

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


def _before(section: SheetSection) -> Sequence[str]:
    """The lines of a section before its tables; a list has bullets."""
    listed = section.two_columns or len(section.lines) > _FEW_LINES
    return [f"- {line}" for line in section.lines] if listed else section.lines
