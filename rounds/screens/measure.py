"""A number of the farm itself measured: one question at a time, what was entered above it, cautions below."""

from __future__ import annotations

from time import monotonic
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Static

from rounds.screens.messages import Lead
from rounds.walk.dialogue import Reply
from rounds.walk.measuring.at_measurement import ANEW, AtMeasurement
from rounds.widgets.bound_keys import bindings_of
from rounds.widgets.head import Head
from rounds.widgets.key_line import KeyLine
from rounds.widgets.step_line import StepLine
from rounds.widgets.writing import write


class MeasureScreen(Screen[None]):
    """Guides through one measurement; letters are text."""

    CSS_PATH = "measure.tcss"
    settle_s: ClassVar[float] = 0.7
    """Where Enter alone says that something was done, one so soon after the question was meant for another. [s]"""
    PAGE: ClassVar[str] = "measuring"
    BINDINGS: ClassVar[list[BindingType]] = bindings_of("measuring", {"back": "leave"}, elsewhere=("enter",))

    def __init__(self, dialogue: AtMeasurement) -> None:
        super().__init__()
        self.dialogue = dialogue
        self._quiet_until = monotonic() + self.settle_s

    def compose(self) -> ComposeResult:
        """Head, what was entered, the question, how it is done, a message, the line, keys."""
        yield Head(self.dialogue.title)
        with VerticalScroll(id="entered", can_focus=False):
            yield Static("", id="answers")
        yield Static("", id="question")
        with VerticalScroll(id="about", can_focus=False):
            yield Static("", id="how")
        yield Static("", id="message")
        with Vertical(id="foot"):
            with Horizontal(id="entry"):
                yield Static("▶ ", id="mark")
                yield StepLine(id="typed")
            yield KeyLine()

    def on_mount(self) -> None:
        """Show where it stands, and let a wait run down."""
        self.set_focus(self._line)
        self._show()
        self.say(self.dialogue.taken_up)
        self.set_interval(1.0, self._show_how)

    def typed_commands(self) -> list[tuple[str, str]]:
        """What is typed and ends with Enter."""
        choices = self.dialogue.question.choices
        return [(f"{each.key} Enter", each.word) for each in choices if each.key == ANEW]

    def action_take(self) -> None:
        """Take the line, behind every key that was typed before Enter."""
        text = self._line.value.strip()
        if text or not self.dialogue.question.settle or monotonic() >= self._quiet_until:
            self._answer(self.dialogue.answer(text))
        else:
            self.say("That Enter came before this could be read. Read it, then Enter again.")

    def action_undo(self) -> None:
        """Take the last answer back."""
        self._answer(self.dialogue.press("u"))

    def help_lines(self) -> tuple[str, ...]:
        """What is asked, and how it is done."""
        return self.dialogue.help()

    def action_leave(self) -> None:
        """Leave it; it is taken up where it stands."""
        self._answer(self.dialogue.press("esc"))

    def action_move(self, by: int) -> None:
        """Move through what was entered."""
        self.query_one("#entered").scroll_relative(y=by, animate=False)

    def action_read_on(self) -> None:
        """Show what has no room; behind the end it begins again."""
        pane = self.query_one("#about")
        if pane.scroll_offset.y >= pane.max_scroll_y:
            pane.scroll_home(animate=False)
        else:
            pane.scroll_page_down(animate=False)

    def on_stay_here(self) -> None:
        """The way on could not be gone: take keys again."""
        self.set_focus(self._line)

    def say(self, text: str) -> None:
        """Show a sentence below the question."""
        write(self.query_one("#message", Static), Content(text))

    @property
    def _line(self) -> StepLine:
        return self.query_one("#typed", StepLine)

    def _answer(self, said: Reply) -> None:
        if said.accepted:
            self._line.begin()
            self._quiet_until = monotonic() + self.settle_s
            self._show()
        else:
            self._line.offer_again()
        self.say(said.message)
        if said.way is not None:
            if said.message:
                self.app.notify(said.message, timeout=8, markup=False)
            self.post_message(Lead(said.way))

    def _show(self) -> None:
        entered = self.dialogue.entered
        numbered = "\n".join(f"{n:>3}  {text}" for n, text in enumerate(entered, 1))
        write(self.query_one("#answers", Static), Content(numbered))
        self.query_one("#entered").display = bool(entered)
        question = self.dialogue.question
        write(self.query_one("#question", Static), Content(question.text))
        self._line.placeholder = question.hint
        self._show_how()
        self.refresh_bindings()
        self.call_after_refresh(self.query_one("#entered").scroll_end, animate=False)

    def _show_how(self) -> None:
        write(self.query_one("#how", Static), Content("\n".join(self.dialogue.question.lines)))
