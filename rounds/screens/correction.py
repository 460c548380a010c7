"""The steps that put a reservoir right: one at a time, with what each will bring and what to beware of."""

from __future__ import annotations

from time import monotonic
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.screen import Screen
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from rounds.book.offer import Step
from rounds.screens.asking import ask_in_between
from rounds.screens.choosing import find_station
from rounds.screens.messages import Alarm, Lead
from rounds.screens.working import WorkingScreen
from rounds.walk.at_correction import AtCorrection
from rounds.walk.correction_text import assumed_text, line_text, said_text, step_details
from rounds.walk.dialogue import Reply
from rounds.walk.open_corrections import OpenCorrection
from rounds.widgets.bound_keys import bindings_of
from rounds.widgets.head import Head
from rounds.widgets.key_line import KeyLine
from rounds.widgets.step_line import StepLine
from rounds.widgets.writing import write


class Steps(OptionList, can_focus=False):
    """The steps; the arrows move the bar, and Enter on the empty line says that the next one was done."""

    def on_resize(self) -> None:
        """The step under the bar stays whole, however much room there is."""
        self.call_after_refresh(self.scroll_to_highlight)


class CorrectionScreen(Screen[None]):
    """Walks through one correction; letters are text, and Enter alone says that a step was done as advised."""

    CSS_PATH = "correction.tcss"
    settle_s: ClassVar[float] = 0.7
    """An Enter so soon after the screen or a step has come was meant for what stood there before. [s]"""
    PAGE: ClassVar[str] = "correction"
    BINDINGS: ClassVar[list[BindingType]] = bindings_of("correction", {"back": "walk_on"}, elsewhere=("enter",))

    def __init__(self, dialogue: AtCorrection, *, right: str) -> None:
        super().__init__()
        self.dialogue = dialogue
        self._right = right
        self._shown = dialogue.correction
        self._quiet_until = monotonic() + self.settle_s

    def compose(self) -> ComposeResult:
        """Head, what was read, the steps, the step under the bar in full, the line, keys."""
        station = self.dialogue.session.farm.station(self.correction.station_id)
        yield Head(f"{station.name} · correction", self._right)
        with VerticalScroll(id="about", can_focus=False):
            if said_text(self.correction):
                yield Static(Content(said_text(self.correction)), id="said")
            yield Static(Content(assumed_text(self.correction)), id="assumed")
        yield Steps(id="steps", markup=False, compact=True)
        yield Static("", id="message")
        with VerticalScroll(id="details", can_focus=False):
            yield Static("", id="detail")
        with Vertical(id="foot"):
            with Horizontal(id="entry"):
                yield Static("▶ ", id="mark")
                yield StepLine(id="typed")
            yield KeyLine()

    @property
    def correction(self) -> OpenCorrection:
        """The correction, as far as it was done by now."""
        return self.dialogue.correction

    def on_mount(self) -> None:
        """Show the steps with the bar on the first that is open."""
        self.set_focus(self._line)
        self._show_steps()

    @on(OptionList.OptionHighlighted)
    def show_detail(self) -> None:
        """The step under the bar in full."""
        step = self._step_under_bar()
        write(self.query_one("#detail", Static), Content(step_details(step) if step else ""))
        self.query_one("#details").scroll_home(animate=False)

    def typed_commands(self) -> list[tuple[str, str]]:
        """What Enter does with the empty line, and the letters that are commands."""
        return self.dialogue.commands()

    def action_take(self) -> None:
        """Take the line, behind every key that was typed before Enter; where nothing was typed, the step was done."""
        line, step = self._line, self.correction.next_step
        if monotonic() < self._quiet_until:
            return
        text = line.value.strip()
        if not text and line.was_typed_on and step is not None and self.dialogue.is_confirmed_by_enter():
            line.begin()
            self.say(f"The line is empty now: Enter once more says that step {step.number} was done.")
        elif step is None or not self.dialogue.is_of_next_step(text) or self._looks_at(step, text):
            self._answer(self.dialogue.answer(text))

    def action_walk_on(self) -> None:
        """Go on with the walk; the correction stays open."""
        self._answer(self.dialogue.press("esc"))

    def action_undo(self) -> None:
        """Take the newest answer or step back, once it is confirmed."""
        self._answer(self.dialogue.press("u"))

    def action_note(self) -> None:
        """Write a note on the reservoir."""
        self._answer(self.dialogue.press("*"))

    def action_find(self) -> None:
        """Look for a station and go there; the correction stays open."""
        find_station(self, self.dialogue.session, lambda way: self.post_message(Lead(way)))

    def take_typed(self, key: str) -> None:
        """Do what a letter typed with Enter behind it does."""
        self._answer(self.dialogue.answer(key))

    def help_lines(self) -> tuple[str, ...]:
        """The step that is next."""
        return self.dialogue.help()

    def action_move(self, by: int) -> None:
        """Move the bar over the steps."""
        steps = self.query_one("#steps", OptionList)
        if by > 0:
            steps.action_cursor_down()
        else:
            steps.action_cursor_up()

    def action_read_on(self) -> None:
        """Show what has no room, above and below the steps; behind the end it begins again."""
        for pane in (self.query_one("#about"), self.query_one("#details")):
            if pane.scroll_offset.y >= pane.max_scroll_y:
                pane.scroll_home(animate=False)
            else:
                pane.scroll_page_down(animate=False)

    def say(self, text: str) -> None:
        """Show a sentence below the steps."""
        write(self.query_one("#message", Static), Content(text))

    def show_next(self) -> None:
        """A step was written down: nothing was typed for the one that comes now."""
        self._quiet_until = monotonic() + self.settle_s
        self._line.begin()
        self._show_steps()

    @property
    def _line(self) -> StepLine:
        return self.query_one("#typed", StepLine)

    def _answer(self, said: Reply) -> None:
        """Show what is replied, and the steps anew where one was written down."""
        before, self._shown = self._shown, self.correction
        if self.correction is not before:
            self.show_next()
        elif not said.accepted:
            self._line.offer_again()
        elif said.way is None:
            self._line.value = ""
        if said.message:
            self.say(said.message)
        if said.alarm:
            self.post_message(Alarm(said.alarm, said.alarm_holds))
        if said.paper:
            self.app.push_screen(WorkingScreen(said.paper))
        ask_in_between(self, self.dialogue, self._answer)
        if said.way is not None:
            self.post_message(Lead(said.way))

    def _looks_at(self, step: Step, text: str) -> bool:
        """Whether the bar is on the step that is next; else it is led back there."""
        if self._step_under_bar() is step:
            return True
        self._bar_to_next()
        self.say(f"{'The number' if text else 'Enter'} is for the step marked ▶: look at it, then Enter again.")
        return False

    def _show_steps(self) -> None:
        steps = self.query_one("#steps", OptionList)
        steps.clear_options()
        steps.add_options([Option(Content(self._title(step))) for step in self.correction.steps])
        self._bar_to_next()
        self._line.placeholder = line_text(self.dialogue.step)
        self.refresh_bindings()
        self.call_after_refresh(steps.scroll_to_highlight)

    def _bar_to_next(self) -> None:
        following = self.correction.next_step
        if self.correction.steps:
            number = following.number if following else len(self.correction.steps)
            self.query_one("#steps", OptionList).highlighted = number - 1

    def _title(self, step: Step) -> str:
        return self.dialogue.title(step, width=self.size.width or 80)

    def _step_under_bar(self) -> Step | None:
        index = self.query_one("#steps", OptionList).highlighted
        return self.correction.steps[index] if index is not None and index < len(self.correction.steps) else None
