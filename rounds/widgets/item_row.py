"""One item of a station: its sign and label, a field for the answer, the last answer, and the judgement in words."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.content import Content
from textual.events import Resize
from textual.widgets import Static

from rounds.widgets.quick_line import QuickLine
from rounds.widgets.writing import write

NARROW = 61
"""Columns below which not every part of a row has room beside the label."""


class ItemRow(Horizontal):
    """A row of one line; its field can be focused."""

    DEFAULT_CSS = """
    ItemRow { height: 1; }
    ItemRow > .sign { width: 2; height: 1; text-style: bold; }
    ItemRow > .label {
        width: 1fr; min-width: 12; max-width: 54; padding: 0 1 0 0; text-wrap: nowrap; text-overflow: ellipsis;
    }
    ItemRow > QuickLine { width: 11; margin: 0 1 0 0; background: $surface; }
    ItemRow > .last { width: 18; padding: 0 1 0 0; color: $text-muted; }
    ItemRow > .said { width: 17; height: 1; }
    ItemRow.-narrow > QuickLine { width: 8; }
    ItemRow.-narrow > .last { display: none; }
    ItemRow.-narrow > .said { width: 12; }
    ItemRow:focus-within > .label { text-style: reverse; }
    """

    def __init__(self, item_id: str, label: str, expects: str, last: str, *, sign: str = " ", said: str = "") -> None:
        super().__init__(id=f"row-{item_id}")
        self.item_id = item_id
        self._parts = (sign, label, last, said)
        self._expects = expects
        self._saved = ""

    def compose(self) -> ComposeResult:
        """Sign, label, field, last answer, judgement."""
        sign, label, last, said = self._parts
        yield Static(Content(sign), classes="sign")
        yield Static(Content(label), classes="label")
        yield QuickLine(placeholder=self._expects, id=f"field-{self.item_id}", select_on_focus=True)
        yield Static(Content(last), classes="last")
        yield Static(Content(said), classes="said")

    def on_resize(self, event: Resize) -> None:
        """Where there is little room the last answer goes first."""
        self.set_class(event.size.width < NARROW, "-narrow")

    @property
    def field(self) -> QuickLine:
        """The field of this row."""
        return self.query_one(QuickLine)

    @property
    def has_new_text(self) -> bool:
        """Whether something stands in the field that was not taken yet."""
        return bool(self.field.value.strip()) and self.field.value != self._saved

    def judge(self, sign: str, said: str, value: str) -> None:
        """Show what was answered and what it means."""
        write(self.query_one(".sign", Static), Content(sign), same_room=True)
        write(self.query_one(".said", Static), Content(said), same_room=True)
        self._saved = value
        self.field.value = value
