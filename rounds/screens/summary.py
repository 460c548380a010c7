"""The end of a round on one screen; Enter closes it."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Static

from rounds.screens.asking import ask_in_between
from rounds.screens.messages import Lead
from rounds.walk.at_summary import AtSummary
from rounds.walk.dialogue import Reply
from rounds.widgets.bound_keys import bindings_of
from rounds.widgets.head import Head
from rounds.widgets.key_line import KeyLine


class SummaryScreen(Screen[None]):
    """Shows what the round came to and what is carried over."""

    CSS_PATH = "summary.tcss"
    PAGE: ClassVar[str] = "summary"
    BINDINGS: ClassVar[list[BindingType]] = bindings_of("summary", {"on": "close"})

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

    def action_undo(self) -> None:
        """Take back what was written last, once it is confirmed."""
        self._answer(self.dialogue.press("u"))

    def _answer(self, said: Reply) -> None:
        if said.message:
            self.query_one("#message", Static).update(Content(said.message))
        ask_in_between(self, self.dialogue, self._answer)
        if said.way is not None:
            self.post_message(Lead(said.way))
