"""A small window that asks for one line: a reason, a note, an amount."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Vertical
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Input, Static


class PromptScreen(ModalScreen[str | None]):
    """Asks one question and hands the typed line back, or None where it was left."""

    CSS_PATH = "prompt.tcss"
    BINDINGS = [Binding("escape", "leave", "leave it", id="prompt.leave")]

    def __init__(self, question: str, hint: str = "", *, value: str = "", may_be_empty: bool = False) -> None:
        super().__init__()
        self._question, self._hint, self._value = question, hint, value
        self._may_be_empty = may_be_empty

    def compose(self) -> ComposeResult:
        """The question, a line, a hint."""
        with Vertical(id="window"):
            yield Static(Content(self._question), id="question")
            yield Input(self._value, id="answer", compact=True)
            yield Static(Content(self._hint or "Enter takes it, Esc leaves it."), id="hint")

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Hand the line back, unless something is wanted and nothing stands there."""
        event.stop()
        if event.value.strip() or self._may_be_empty:
            self.dismiss(event.value.strip())
        else:
            self.query_one("#hint", Static).update(Content("A few words are expected; Esc leaves it."))

    def action_leave(self) -> None:
        """Go back without an answer."""
        self.dismiss(None)
