"""The drawing, the lists for the bench and a marking strip in true size, as PDF."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from rounds.markout.plan import ChannelPlan
from rounds.markout.report import as_lines
from rounds.markout.sheet import WIDTH_MM, Circle, Label, Shape, Stroke, sheet
from rounds.markout.sites import Hole

if TYPE_CHECKING:
    from fpdf import FPDF

STRIP_PAGE_MM = 260.0
"""Length of channel on one page of the marking strip."""
_LEFT = (WIDTH_MM - STRIP_PAGE_MM) / 2
_MIDDLE = 105.0


def as_pdf(plan: ChannelPlan, strip: bool = False) -> bytes:
    """Print the drawing to scale, the lists, and where wanted the marking strip in true size.

    Parameters
    ----------
    plan : Plan
        What to print.
    strip : bool
        Whether pages for taping along the channel follow, 260 mm of it on each.

    Returns
    -------
    bytes
        A PDF of lying A4 pages; lists stand on upright ones.
    """
    from fpdf import FPDF

    document = FPDF(orientation="landscape", unit="mm", format="A4")
    document.set_auto_page_break(False)
    document.set_title("Channel marked out")
    document.add_page()
    _draw(document, sheet(plan).shapes)
    _lists(document, as_lines(plan))
    if strip:
        _strip(document, plan)
    return bytes(document.output())


def strip_pages(length_mm: float) -> int:
    """How many pages the marking strip takes.

    Examples
    --------
    >>> strip_pages(4200)
    17
    """
    return math.ceil(length_mm / STRIP_PAGE_MM)


def printable(text: str) -> str:
    """A text in the characters of the built-in fonts; what they lack becomes a question mark.

    Examples
    --------
    >>> printable("20 °C, α")
    '20 °C, ?'
    """
    plain = text.replace("“", '"').replace("”", '"').replace("…", "...")
    return plain.encode("latin-1", "replace").decode("latin-1")


def _draw(document: FPDF, shapes: tuple[Shape, ...] | list[Shape]) -> None:
    document.set_line_width(0.25)
    for shape in shapes:
        if isinstance(shape, Label):
            _write(document, shape)
            continue
        document.set_dash_pattern(*((1.5, 1) if shape.dashed else (0, 0)))
        if isinstance(shape, Stroke):
            document.line(shape.x1, shape.y1, shape.x2, shape.y2)
        else:
            document.circle(x=shape.x, y=shape.y, radius=shape.diameter / 2)
    document.set_dash_pattern(0, 0)


def _write(document: FPDF, label: Label) -> None:
    document.set_font("Helvetica", size=label.size / 0.3528)
    text = printable(label.text)
    back = {"start": 0.0, "middle": 0.5, "end": 1.0}[label.anchor] * document.get_string_width(text)
    if label.turned:
        with document.rotation(90, label.x, label.y):
            document.text(label.x - back, label.y, text)
    else:
        document.text(label.x - back, label.y, text)


def _lists(document: FPDF, lines: list[str]) -> None:
    for first in range(0, len(wrapped := _wrapped(lines, 95)), 64):
        document.add_page(orientation="portrait")
        document.set_font("Courier", size=9)
        for i, line in enumerate(wrapped[first : first + 64]):
            document.text(15, 16 + i * 4.2, printable(line))


def _wrapped(lines: list[str], width: int) -> list[str]:
    import textwrap

    return [part for line in lines for part in textwrap.wrap(line, width, subsequent_indent="      ") or [""]]


def _strip(document: FPDF, plan: ChannelPlan) -> None:
    pages = strip_pages(plan.inputs.length_mm)
    for page in range(pages):
        document.add_page(orientation="landscape")
        _draw(document, strip_shapes(plan, page, pages))


def strip_shapes(plan: ChannelPlan, page: int, pages: int) -> list[Shape]:
    """One page of the marking strip in true size: line, ticks, holes and the marks where the pages meet."""
    start = page * STRIP_PAGE_MM
    end = min(start + STRIP_PAGE_MM, plan.inputs.length_mm)
    shapes: list[Shape] = [
        Label(x=_LEFT, y=12, text=f"Marking strip {page + 1} of {pages}, true size: print at 100 %. Line on the "
              "middle of the channel, inlet end at 0."),
        Stroke(x1=_LEFT, y1=18, x2=_LEFT + 100, y2=18),
        *(Stroke(x1=_LEFT + x, y1=16, x2=_LEFT + x, y2=20) for x in (0, 100)),
        Label(x=_LEFT + 103, y=19, text="100 mm: measure it. If it is not, the page was shrunk: do not use it."),
        Stroke(x1=_LEFT, y1=_MIDDLE, x2=_LEFT + end - start, y2=_MIDDLE),
    ]  # fmt: skip
    shapes += _ticks(start, end)
    for hole in plan.sites.holes:
        if start - hole.diameter_mm / 2 <= hole.at_mm <= end + hole.diameter_mm / 2:
            shapes += _hole(hole, start, end)
    return shapes + _seams(start, end, plan.inputs.length_mm)


def _ticks(start: float, end: float) -> list[Shape]:
    shapes: list[Shape] = []
    for at in range(math.ceil(start / 10) * 10, math.floor(end) + 1, 10):
        x, long = _LEFT + at - start, 5.0 if at % 50 == 0 else 2.5
        shapes.append(Stroke(x1=x, y1=185 - long, x2=x, y2=185))
        if at % 50 == 0:
            shapes.append(Label(x=x, y=190, text=str(at), anchor="middle"))
    return [Stroke(x1=_LEFT, y1=185, x2=_LEFT + end - start, y2=185), *shapes]


def _hole(hole: Hole, start: float, end: float) -> list[Shape]:
    x, inside = _LEFT + hole.at_mm - start, start <= hole.at_mm <= end
    shapes: list[Shape] = [Circle(x=x, y=_MIDDLE, diameter=hole.diameter_mm, dashed=hole.face == "floor")]
    if inside:
        shapes += [
            Stroke(x1=x, y1=_MIDDLE - 6, x2=x, y2=_MIDDLE + 6),
            Label(x=x, y=_MIDDLE + hole.diameter_mm / 2 + 6, anchor="middle", size=4, text=f"{hole.at_mm}"),
            Label(x=x, y=_MIDDLE + hole.diameter_mm / 2 + 11, anchor="middle",
                  text=f"{hole.what.split(' (')[0]}, {hole.diameter_mm:g} mm, {hole.face}"),
        ]  # fmt: skip
    return shapes


def _seams(start: float, end: float, length: float) -> list[Shape]:
    names = {start: "meets the page before", end: "meets the next page", 0.0: "inlet end", length: "outlet end"}
    shapes: list[Shape] = []
    for at in (start, end):
        x, inward = _LEFT + at - start, 2 if at == start else -2
        shapes.append(Stroke(x1=x, y1=30, x2=x, y2=180, dashed=True))
        shapes.append(
            Label(
                x=x + inward,
                y=34 if inward > 0 else 39,
                anchor="start" if inward > 0 else "end",
                text=f"{at:g} mm: {names[at]}",
            )
        )
    return shapes
