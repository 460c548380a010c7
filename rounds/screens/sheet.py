"""A small sheet to choose from: what is typed filters it, the arrows move the bar, Enter chooses."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Input, OptionList, Static
from textual.widgets.option_list import Option


@dataclass(frozen=True, slots=True)
class Row:
    """One thing to choose."""

    id: str
    text: str


@dataclass(frozen=True, slots=True)
class Chosen:
    """What was chosen: a row, or a line that is none."""

    id: str = ""
    line: str = ""


class SheetScreen(ModalScreen[Chosen | None]):
    """Offers rows; where lines are taken, one that fits no row is handed on as it was typed."""

    CSS_PATH = "sheet.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "dismiss(None)", "back", id="sheet.back"),
        Binding("up", "move(-1)", show=False, priority=True, id="sheet.up"),
        Binding("down", "move(1)", show=False, priority=True, id="sheet.down"),
    ]

    def __init__(
        self, title: str, hint: str, rows: Callable[[str], Sequence[Row]], *, takes_lines: bool = False
    ) -> None:
        """Offer what fits a text.

        Parameters
        ----------
        rows : callable
            The rows that fit what is typed; all of them for an empty text.
        takes_lines : bool
            Whether a line that fits no row is taken.
        """
        super().__init__()
        self._title, self._hint, self._rows, self._takes_lines = title, hint, rows, takes_lines

    def compose(self) -> ComposeResult:
        """A title, the line, the rows, a hint."""
        with Vertical(id="window"):
            yield Static(Content(self._title), id="title")
            yield Input(id="typed", compact=True)
            yield Rows(id="rows", markup=False, compact=True)
            yield Static(Content(self._hint), id="hint")

    def on_mount(self) -> None:
        """Everything is offered while nothing is typed."""
        self.query_one("#typed", Input).focus()
        self._offer("")

    @on(Input.Changed)
    def filter(self, event: Input.Changed) -> None:
        """Offer what fits."""
        self._offer(event.value)

    @on(Input.Submitted)
    def take(self, event: Input.Submitted) -> None:
        """Choose what is under the bar; behind every key that was typed before Enter."""
        event.stop()
        text, fitting = event.value.strip(), list(self._rows(event.value.strip()))
        if fitting:
            at = self.query_one("#rows", OptionList).highlighted or 0
            self.dismiss(Chosen(id=fitting[min(at, len(fitting) - 1)].id))
        elif text and self._takes_lines:
            self.dismiss(Chosen(line=text))
        else:
            self.query_one("#hint", Static).update(Content("Nothing here is called so. Esc goes back."))

    def action_move(self, by: int) -> None:
        """Move the bar."""
        rows = self.query_one("#rows", OptionList)
        if by > 0:
            rows.action_cursor_down()
        else:
            rows.action_cursor_up()

    def _offer(self, text: str) -> None:
        rows = self.query_one("#rows", OptionList)
        rows.clear_options().add_options([Option(Content(row.text), id=row.id) for row in self._rows(text.strip())])
        if rows.option_count:
            rows.highlighted = 0


class Rows(OptionList, can_focus=False):
    """What is offered; the line keeps the keys."""
