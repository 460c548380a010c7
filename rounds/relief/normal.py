"""What is normal at each kind of station, how it is looked at, and what to do when it is not."""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import zip_longest

from rounds.checklist.model import Item
from rounds.relief.days import DueDays
from rounds.relief.model import Grid, SheetSection, tidy
from rounds.relief.walk_grid import numbered
from rounds.walk.session import Session


def normal_sections(session: Session, due: Sequence[DueDays]) -> list[SheetSection]:
    """One section with a table for each kind of station that is walked in these days."""
    wanted = {(session.farm.stations[d.station_id].kind, d.item.id) for d in due}
    kinds = list(dict.fromkeys(session.farm.stations[s].kind for s in session.walk_order()))
    grids = []
    for kind in kinds:
        checklist = session.checklists.of(kind)
        if checklist is None:
            continue
        entries = [_entry(session, kind, item) for item in checklist.items if (kind, item.id) in wanted]
        if entries:
            half = (len(entries) + 1) // 2
            rows = tuple(zip_longest(entries[:half], entries[half:], fillvalue=""))
            grids.append(Grid(heads=(tidy(checklist.title), ""), rows=rows, widths=(50, 50), bold_marks=True))
    line = "First what is normal; behind IF NOT what to do. In doubt: write it down, and call."
    return [SheetSection(title="What is normal, and what to do when it is not", lines=(line,), grids=tuple(grids))]


def _entry(session: Session, kind: str, item: Item) -> str:
    number = numbered(session, kind).get(item.id)
    label = f"{number}. {item.label}" if number else item.label
    normal, off = _plain(_normal(item)), _plain(item.off or "Write it down, and call.")
    return f"**{_plain(label)}** {normal.rstrip('.')}. **IF NOT:** {off}"


def _plain(text: str) -> str:
    """A text without what would be read as marks for bold and the like."""
    return re.sub(r"([*_~-])\1+", r"\1", tidy(text))


def _normal(item: Item) -> str:
    if item.type == "reading":
        return item.how or "As in the last days; see the band on the walk."
    if isinstance(item.well, tuple):
        return ", ".join(item.well)
    if isinstance(item.well, bool):
        return _yes_or_no(item.how, well=item.well)
    if isinstance(item.well, int):
        return f"at most {item.well}" if item.well else "none"
    if item.type == "note":
        return "a note: write it down"
    return item.how or "all of them"


def _yes_or_no(how: str, *, well: bool) -> str:
    if how:
        return how if well else f"not so; {how}"
    return "yes" if well else "no"
