"""The rows of the filled walk card: a reading each, and one per station for what was crossed as off."""

from __future__ import annotations

from abc import abstractmethod
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.content import Content
from textual.events import Resize
from textual.widgets import Static

from rounds.checklist.check_words import answers_of, word_for
from rounds.checklist.model import Item
from rounds.walk.stops import ItemLine
from rounds.walk.visit import Taken, Visit
from rounds.walk.wording import answer_text
from rounds.widgets.quick_line import QuickLine

NARROW = 76
"""Columns below which not every part of a row has room."""


class GridField(QuickLine):
    """A field of the card; Enter takes it and goes on."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("enter", "submit", "next", id="grid.next")]


class GridRow(Horizontal):
    """One line of the card."""

    def __init__(self, visit: Visit, label: str, before: str = "") -> None:
        super().__init__()
        self.visit = visit
        self._label, self._before = label, before
        self._doubted = ""
        """What was typed and is hard to believe: the same again keeps it."""

    def compose(self) -> ComposeResult:
        """Station, item, field, last value, judgement."""
        yield Static(Content(self.visit.stop.station.name), classes="station")
        yield Static(Content(self._label), classes="label")
        yield GridField(select_on_focus=True)
        yield Static(Content(self._before), classes="last")
        yield Static("", classes="said")

    def on_resize(self, event: Resize) -> None:
        """Where there is little room the last value goes first."""
        self.set_class(event.size.width < NARROW, "-narrow")

    @property
    def hint(self) -> str:
        """What can be typed here."""
        return ""

    def take(self, text: str) -> Taken:
        """Write down what was typed.

        Raises
        ------
        NotSaved
            Where it could not be made durable.
        """
        taken = self._taken(text)
        if taken.doubtful and self._doubted == text:
            kept = [self.visit.keep(answer) for answer in taken.doubtful]
            saved = tuple(each for one in (taken, *kept) for each in one.saved)
            taken = Taken(saved=saved, problems=tuple(problem for one in kept for problem in one.problems))
        self._doubted = text if taken.doubtful else ""
        return taken

    def say(self, text: str) -> None:
        """Show what became of the field."""
        self.query_one(".said", Static).update(Content(text))

    def refuse(self, text: str) -> None:
        """Show that it was not taken; the next key begins anew."""
        self.say(text)
        self.query_one(GridField).offer_again()

    @abstractmethod
    def _taken(self, text: str) -> Taken:
        """What became of what stands in the field."""


class ReadingRow(GridRow):
    """One reading of one station."""

    def __init__(self, visit: Visit, line: ItemLine) -> None:
        unit = f" ({line.item.unit})" if line.item.unit else ""
        super().__init__(visit, f"{line.item.label}{unit}", answer_text(line.item, line.last))
        self.item: Item = line.item

    def _taken(self, text: str) -> Taken:
        return self.visit.take_field(self.item, text)


class OffRow(GridRow):
    """Whatever was crossed at one station, by its names."""

    def __init__(self, visit: Visit) -> None:
        super().__init__(visit, "off, by its name")
        self.add_class("-off")

    @property
    def hint(self) -> str:
        """The words that are taken, those first that "all well" does not answer."""
        asked = [f"{self._word(line)} ({answers_of(line.item)})" for line in self._asked()]
        others = [self._word(line) for line in self._checks() if not line.asked_outright]
        parts = [f"Asked: {', '.join(asked)}." if asked else "", f"Words: {', '.join(others)}." if others else ""]
        return " ".join(part for part in (*parts, "A name alone: not well.") if part)

    @property
    def still_asked(self) -> int:
        """How many checks are open that "all well" does not answer."""
        return len(self._asked())

    def _taken(self, text: str) -> Taken:
        return self.visit.take_line(text, named_only=True)

    def _asked(self) -> list[ItemLine]:
        return [line for line in self._checks() if line.asked_outright and line.item.id not in self.visit.answers]

    def _checks(self) -> list[ItemLine]:
        return [line for line in self.visit.stop.open_lines if not _is_typed(line.item)]

    def _word(self, line: ItemLine) -> str:
        return word_for(line.item, self.visit.items)


def rows_of(visits: list[Visit]) -> list[GridRow]:
    """The readings in the order of the walk, then one row per station for what was off."""
    rows: list[GridRow] = []
    for visit in visits:
        rows += [ReadingRow(visit, line) for line in visit.stop.open_lines if _is_typed(line.item)]
    return rows + [OffRow(d) for d in visits if any(not _is_typed(line.item) for line in d.stop.open_lines)]


def _is_typed(item: Item) -> bool:
    return item.is_number and bool(item.names) and item.ask == "always"
