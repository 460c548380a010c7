"""How lines of the daybook stand in their columns: name, sign, text, time; who wrote them where there is room."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection
from dataclasses import dataclass, replace

from textual.content import Content

from rounds.walk.daybook.page import Line, Page, line_of, wrapped
from rounds.walk.session import Session

NAME, TEXT, TIME = 1, 30, 5
"""Columns of a name and a text, and the width of a time."""
PERSON, WIDE = 12, 118
"""Width of the column of people, and from which width there is one."""


@dataclass(frozen=True, slots=True)
class Row:
    """One place of the bar: a line of a page, with the name before it; without a line a heading or a gap."""

    line: Line | None = None
    name: str = ""
    inset: bool = False
    """Whether it is one of several that were folded."""
    by_another: bool = False
    """Whether somebody else wrote it than most of the page."""


def rows_of_page(session: Session, page: Page, unfolded: Collection[str]) -> list[Row]:
    """The lines of a day, with a gap before a station at which much was written down.

    Parameters
    ----------
    unfolded : collection of str
        Ids of the first of several entries that are shown one by one.
    """
    rows: list[Row] = []
    for section in page.sections:
        much = section.lines[0].is_off or len(section.lines) > 2
        rows += [Row()] if rows and much else []
        lines = [row for line in section.lines for row in _rows_of(session, line, unfolded)]
        rows += [replace(lines[0], name=section.name), *lines[1:]]
    people = Counter(row.line.person for row in rows if row.line is not None and row.line.person)
    most = people.most_common(1)[0][0] if people else ""
    return [replace(row, by_another=row.line is not None and row.line.person not in ("", most)) for row in rows]


def _rows_of(session: Session, line: Line, unfolded: Collection[str]) -> list[Row]:
    if not line.is_folded or line.records[0].id not in unfolded:
        return [Row(line)]
    return [Row(line_of(session, record), inset=True) for record in line.records]


def heading(text: str) -> Content:
    """A day among what was found."""
    return Content(f" {text}").stylize("bold")


def row_text(row: Row, width: int) -> Content:
    """One line in its columns, wrapped where it is longer; the width is that of the list without its scroll bar."""
    line = row.line
    assert line is not None
    person = PERSON if width >= WIDE else 0
    room = width - TEXT - TIME - 3 - person
    by = f", by {line.person}" if row.by_another and not person else ""
    texts = wrapped(f"{'· ' * row.inset}{line.text}{by}", room)
    names = wrapped(row.name, TEXT - NAME - 4)
    shown = []
    for place in range(max(len(texts), len(names))):
        name = names[place] if place < len(names) else ""
        text = texts[place] if place < len(texts) else ""
        sign = line.sign if place == 0 else ""
        who = line.person[: max(0, person - 2)] if place == 0 else ""
        at = f"{line.at:%H:%M}" if place == 0 else ""
        shown.append(f" {name:<{TEXT - 3}}{sign:<2}{text:<{room}}   {who:<{person}}{at}".rstrip())
    content = Content("\n".join(shown)).stylize("bold", 0, min(TEXT - 2, len(shown[0])))
    return content.stylize("bold") if line.is_off else content
