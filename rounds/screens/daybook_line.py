"""One entry of the daybook opened: its story, and the keys that put it right or take it back."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Static

from rounds.widgets.key_line import KeyLine


class LineScreen(ModalScreen[str]):
    """Shows the story of one entry, and hands back what is to be done with it: `right`, `back`, or nothing."""

    CSS_PATH = "daybook_line.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("e", "do('right')", "put right", id="line.right"),
        Binding("x", "do('back')", "take back", id="line.back"),
        Binding("escape,enter", "do('')", "close", id="line.close", key_display="Esc"),
    ]

    def __init__(self, story: Sequence[str]) -> None:
        super().__init__()
        self._story = story

    def compose(self) -> ComposeResult:
        """The story, and the keys."""
        with VerticalScroll(id="window"):
            title, *rest = self._story
            yield Static(Content(title), id="entry")
            yield Static(Content("\n".join(rest)), id="story")
        yield KeyLine()

    def on_mount(self) -> None:
        """Let the arrows scroll it."""
        self.query_one("#window").focus()

    def action_do(self, what: str) -> None:
        """Close it."""
        self.dismiss(what)
