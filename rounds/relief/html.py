"""The sheet as one HTML page that needs nothing else and prints black on white."""

from __future__ import annotations

import re
from html import escape

from rounds.relief.model import Grid, ReliefSheet, SheetSection

_STYLE = """
body { font: 15px/1.35 sans-serif; color: #000; background: #fff; margin: 1.2em auto; max-width: 62em; padding: 0 1em }
h1 { font-size: 1.7em; margin: 0 } h2 { font-size: 1.25em; border-bottom: 2px solid #000; margin: 1.1em 0 .4em }
table { border-collapse: collapse; width: 100%; margin: .4em 0 } th, td { border: 1px solid #000; padding: .15em .35em }
th, td { text-align: left; vertical-align: middle } .large { font-size: 1.35em } .tall td { height: 1.9em }
tr, h2 { break-inside: avoid } h2 { break-after: avoid } thead { display: table-header-group }
.after { font-weight: bold } footer { margin-top: 1em }
@media print { body { font-size: 12px; margin: 0; max-width: none } .new { break-before: page } }
"""


def as_html(sheet: ReliefSheet) -> str:
    """Write a sheet as HTML; every text in it is only text."""
    body = "".join(_section(section) for section in sheet.sections)
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">"
        f"<title>{_text(sheet.title)}</title><style>{_STYLE}</style></head><body>\n"
        f"<h1>{_text(sheet.title)}</h1><p>{_text(sheet.subtitle)}</p>\n{body}"
        f"<footer>{_text(sheet.foot)}</footer></body></html>\n"
    )


def _section(section: SheetSection) -> str:
    lines = "".join(f"<li>{_text(line)}</li>" for line in section.lines)
    after = "".join(f'<p class="after">{_text(line)}</p>' for line in section.after)
    grids = "".join(_grid(grid) for grid in section.grids)
    place = ' class="new"' if section.new_page else ""
    listed = f"<ul>{lines}</ul>" if lines else ""
    return f"<section{place}><h2>{_text(section.title)}</h2>{listed}{grids}{after}</section>\n"


def _grid(grid: Grid) -> str:
    kinds = " ".join(name for name in ("large", "tall") if getattr(grid, name))
    columns = "".join(f'<col style="width:{width:.1f}%">' for width in grid.widths)
    heads = "".join(f"<th>{_text(head)}</th>" for head in grid.heads)
    rows = "".join(_row(row, marks=grid.bold_marks, head=grid.headed and n == 0) for n, row in enumerate(grid.rows))
    top = f"<thead><tr>{heads}</tr></thead>" if heads else ""
    return f'<table class="{kinds}"><colgroup>{columns}</colgroup>{top}<tbody>{rows}</tbody></table>'


def _row(row: tuple[str, ...], *, marks: bool, head: bool) -> str:
    if head:
        return f'<tr><th colspan="{len(row)}">{_text(row[0])}</th></tr>'
    return "<tr>" + "".join(f"<td>{_marked(cell) if marks else _text(cell)}</td>" for cell in row) + "</tr>"


def _text(text: str) -> str:
    return escape(text).replace("\n", "<br>")


def _marked(text: str) -> str:
    return re.sub(r"\*\*(.+?)\*\*", r"<b>\1</b>", _text(text))
