"""A small window that asks for one line: a reason, a note, an amount."""

from __future__ import annotations

from collections.abc import Callable

from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Vertical
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Input, Static

from rounds.errors import RoundsError
from rounds.walk.dialogue import ENTER_TAKES_IT, NOTHING_TYPED


class PromptScreen(ModalScreen[str | None]):
    """Asks one question and hands the typed line back, or None where it was left."""

    CSS_PATH = "prompt.tcss"
    BINDINGS = [Binding("escape", "leave", "leave it", id="prompt.leave")]

    def __init__(
        self,
        question: str,
        hint: str = "",
        *,
        check: Callable[[str], object] | None = None,
        enter_confirms: bool = False,
    ) -> None:
        """Ask a question.

        Parameters
        ----------
        check : callable, optional
            Reads the line and raises a `RoundsError` where it cannot be: the line stays, with the sentence below it.
        enter_confirms : bool
            Whether Enter alone says yes, and nothing has to be typed.
        """
        super().__init__()
        self._question, self._hint, self._check = question, hint, check
        self._enter_confirms = enter_confirms

    def compose(self) -> ComposeResult:
        """The question, a line, a hint."""
        with Vertical(id="window"):
            yield Static(Content(self._question), id="question")
            yield Input(id="answer", compact=True)
            yield Static(Content(self._hint or ENTER_TAKES_IT), id="hint")

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Hand the line back, unless nothing stands there or it cannot be read."""
        event.stop()
        text = event.value.strip()
        try:
            if text and self._check is not None:
                self._check(text)
        except RoundsError as error:
            self._say(f"✗ {error}")
            return
        if text or self._enter_confirms:
            self.dismiss(text)
        else:
            self._say(NOTHING_TYPED)

    def _say(self, text: str) -> None:
        self.query_one("#hint", Static).update(Content(text))

    def action_leave(self) -> None:
        """Go back without an answer."""
        self.dismiss(None)
