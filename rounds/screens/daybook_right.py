"""Asking what is right in place of an entry, and why; or why it does not count."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from textual.screen import Screen

from rounds.errors import BadInput, RoundsError
from rounds.history.record import Record
from rounds.screens.prompt import PromptScreen
from rounds.walk.answering import take_back
from rounds.walk.daybook.hanging import hanging_on, said_anew
from rounds.walk.daybook.sentences import record_text
from rounds.walk.putting_right import (
    REASONS,
    is_rightable,
    put_right,
    question_of,
    read_reason,
    refuse_what_is_not_theirs,
    right_answer,
)
from rounds.walk.session import Session
from rounds.widgets.background import in_background


class PuttingRight:
    """Asks in windows above a screen, and writes down what was answered.

    Parameters
    ----------
    screen : Screen
        Above which it asks.
    session : Session
        Whoever walks.
    after : callable
        Is told which record was replaced, and by which.
    say : callable
        Shows a sentence.
    """

    def __init__(
        self, screen: Screen[Any], session: Session, *, after: Callable[[Record, Sequence[Record]], None],
        say: Callable[[str], None],
    ) -> None:  # fmt: skip
        self._screen, self._session, self._after, self._say = screen, session, after, say

    def ask(self, record: Record) -> None:
        """Ask for the right answer, then for the reason."""
        if not is_rightable(self._session, record):
            self._say("A reading, a check, a dose or a stock can be put right; x takes anything back.")
        elif self._is_theirs(record):
            question = f"{record_text(self._session, record)}\n{question_of(self._session, record)}"
            prompt = PromptScreen(question, check=self._check_of(record))
            self._screen.app.push_screen(prompt, lambda text: self._ask_why(record, text))

    def ask_back(self, record: Record) -> None:
        """Ask why an entry does not count."""
        if self._is_theirs(record):
            question = f"Why does this not count? {record_text(self._session, record)}"
            self._screen.app.push_screen(PromptScreen(question), lambda why: self._take_back(record, why))

    def _ask_why(self, record: Record, text: str | None) -> None:
        if text is not None:
            usual = "   ".join(f"{digit} {reason}" for digit, reason in enumerate(REASONS, 1))
            prompt = PromptScreen(f"Why is it put right?\n{usual}   or a few words")
            self._screen.app.push_screen(prompt, lambda why: self._replace(record, text, why))

    def _check_of(self, record: Record) -> Callable[[str], None]:
        """What cannot be is refused; what is hard to believe is asked about once."""
        asked: set[str] = set()

        def check(text: str) -> None:
            doubt = right_answer(self._session, record, text)
            if doubt and text not in asked:
                asked.add(text)
                raise BadInput(f"It is {doubt}.", "Enter again keeps it as it is.")

        return check

    def _replace(self, record: Record, text: str, why: str | None) -> None:
        """Write it down; what hangs on it is worked out beside the screen."""
        if why is None:
            return
        session = self._session
        try:
            hanging = hanging_on(session, record)
            new = put_right(session, record, text, read_reason(why))
        except RoundsError as error:
            self._say(f"✗ {error}")
            return
        self._after(record, [new])
        done = f"Put right: {record_text(session, new)}."
        self._say(done)
        in_background(
            self._screen, "working out what hangs on it", lambda: said_anew(session, hanging, new),
            lambda told: self._say(" ".join([done, *told])), failed=self._say,
        )  # fmt: skip

    def _take_back(self, record: Record, why: str | None) -> None:
        if why is None:
            return
        try:
            again = take_back(self._session, record, why)
        except RoundsError as error:
            self._say(f"✗ {error}")
            return
        self._after(record, again)
        told = f" It counts again: {record_text(self._session, again[0])}." if again else ""
        self._say(f"Taken back; the record keeps both.{told}")

    def _is_theirs(self, record: Record) -> bool:
        try:
            refuse_what_is_not_theirs(self._session, record)
        except RoundsError as error:
            self._say(f"✗ {error}")
            return False
        return True
