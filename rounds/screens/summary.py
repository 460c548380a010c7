"""The end of a round on one screen; Enter closes it."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Static

from rounds.screens.messages import Lead
from rounds.walk.at_summary import AtSummary
from rounds.walk.dialogue import Reply
from rounds.widgets.head import Head
from rounds.widgets.key_line import KeyLine


class SummaryScreen(Screen[None]):
    """Shows what the round came to and what is carried over."""

    CSS_PATH = "summary.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "close", "close the round", id="summary.close"),
        Binding("escape", "back", "back to the walk", id="summary.back"),
    ]

    def __init__(self, dialogue: AtSummary) -> None:
        super().__init__()
        self.dialogue = dialogue

    def compose(self) -> ComposeResult:
        """One page of text."""
        yield Head(self.dialogue.title, self.dialogue.begun)
        with VerticalScroll(id="page"):
            yield Static(Content(self.dialogue.page))
        yield Static("", id="message")
        yield KeyLine()

    def action_close(self) -> None:
        """Write down that the round is closed."""
        self._answer(self.dialogue.answer(""))

    def action_back(self) -> None:
        """Leave it open."""
        self._answer(self.dialogue.press("esc"))

    def _answer(self, said: Reply) -> None:
        if said.message:
            self.query_one("#message", Static).update(Content(said.message))
        if said.way is not None:
            self.post_message(Lead(said.way))
