"""The steps that put a reservoir right: one at a time, with what each will bring and what to beware of."""

from __future__ import annotations

from time import monotonic
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from rounds.book.half_pair import HalfPair
from rounds.book.offered import PlannedStep
from rounds.screens.correction_text import assumed_text, commands_of, line_text, said_text, step_details, step_title
from rounds.screens.messages import GoTo
from rounds.screens.pouring import PouringScreen
from rounds.screens.working import WorkingScreen
from rounds.walk.half_pairs import half_pair_at
from rounds.walk.open_corrections import OpenCorrection
from rounds.walk.session import Session
from rounds.walk.step_line import BufferReading, Command, ForStation, Meant, Poured, Unclear, meant, to_confirm
from rounds.widgets.head import Head
from rounds.widgets.key_line import KeyLine
from rounds.widgets.step_line import StepLine


class Steps(OptionList, can_focus=False):
    """The steps; the arrows move the bar, and Enter on the empty line says that the next one was done."""

    def on_resize(self) -> None:
        """The step under the bar stays whole, however much room there is."""
        self.call_after_refresh(self.scroll_to_highlight)


class CorrectionScreen(PouringScreen):
    """Walks through one correction; letters are text, and Enter alone says that a step was done as advised."""

    CSS_PATH = "correction.tcss"
    settle_s: ClassVar[float] = 0.7
    """An Enter so soon after the screen or a step has come was meant for what stood there before. [s]"""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("space", "read_on", "read on", key_display="Space", id="correction.read_on"),
        Binding("escape", "walk_on", "walk on", id="correction.walk_on"),
    ]

    def __init__(self, session: Session, correction: OpenCorrection, *, right: str, round_id: str | None) -> None:
        super().__init__(session, correction, round_id)
        self._right = right
        self._pair: HalfPair | None = None
        self._quiet_until = monotonic() + self.settle_s

    def compose(self) -> ComposeResult:
        """Head, what was read, the steps, the step under the bar in full, the line, keys."""
        station = self.session.farm.station(self.correction.station_id)
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

    def on_mount(self) -> None:
        """Show the steps with the bar on the first that is open."""
        self.set_focus(self._line)
        self._show_steps()

    @on(OptionList.OptionHighlighted)
    def show_detail(self) -> None:
        """The step under the bar in full."""
        step = self._step_under_bar()
        self.query_one("#detail", Static).update(Content(step_details(step) if step else ""))
        self.query_one("#details").scroll_home(animate=False)

    def typed_commands(self) -> list[tuple[str, str]]:
        """What Enter does with the empty line, and the letters that are commands."""
        part = self._pair.missing if self._pair is not None and not self.session.is_helper else ""
        return commands_of(None if self.overtaken else self.correction.next_step, given_up=part)

    def action_take(self) -> None:
        """Take the line, behind every key that was typed before Enter; where nothing was typed, the step was done."""
        line, step = self._line, self.correction.next_step
        if monotonic() < self._quiet_until:
            return
        text = line.value.strip()
        if text:
            self._take(meant(self.session, self.correction, text))
        elif line.was_typed_on and step is not None and self._is_confirmed_by_enter(step):
            line.begin()
            self.say(f"The line is empty now: Enter once more says that step {step.number} was done.")
        else:
            self._done()

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
        self.query_one("#message", Static).update(Content(text))

    def show_next(self) -> None:
        """A step was written down: nothing was typed for the one that comes now."""
        self._quiet_until = monotonic() + self.settle_s
        self._line.begin()
        self._show_steps()

    @property
    def _line(self) -> StepLine:
        return self.query_one("#typed", StepLine)

    def _take(self, said: Meant) -> None:
        match said:
            case Command():
                self._line.value = ""
                self._command(said.letter)
            case ForStation():
                self.post_message(GoTo(self.correction.station_id, line=said.text))
            case Poured() | BufferReading():
                self._take_number(said)
            case Unclear():
                self._refuse(said.sentence)

    def _take_number(self, said: Poured | BufferReading) -> None:
        step = self.correction.next_step
        if step is None or not self._looks_at(step, "The number"):
            return
        if isinstance(said, BufferReading):
            if not self.dip(said.text):
                self._line.offer_again()
        elif self.pour(step, said.amount):
            self._line.value = ""
        else:
            self._line.offer_again()

    def _refuse(self, sentence: str) -> None:
        self.say(f"✗ {sentence}")
        self._line.offer_again()

    def _command(self, letter: str) -> None:
        match letter:
            case "e":
                self.ask_amount()
            case "p":
                self.ask_why_put_off()
            case "w":
                self.app.push_screen(WorkingScreen(self.correction))
            case "g":
                self.ask_why_given_up()
            case _:
                self.really_done()

    def _is_confirmed_by_enter(self, step: PlannedStep) -> bool:
        return not (self.overtaken or step.action in ("buffer_dip", "read_again") or to_confirm(step))

    def _done(self) -> None:
        """Enter alone: the next step was done as advised, or what it asks for comes now."""
        step = self.correction.next_step
        if step is not None and not self._looks_at(step, "Enter"):
            return
        if step is None or self.overtaken:
            self.action_walk_on()
        elif step.action == "buffer_dip":
            self.ask_what_it_shows(step)
        elif step.action == "read_again":
            self.post_message(GoTo(self.correction.station_id))
        elif to_confirm(step):
            self.say(f"{to_confirm(step)}.")
        else:
            self.pour(step, None)

    def _looks_at(self, step: PlannedStep, what: str) -> bool:
        """Whether the bar is on the step that is next; else it is led back there."""
        if self._step_under_bar() is step:
            return True
        self._bar_to_next()
        self.say(f"{what} is for the step marked ▶: look at it, then Enter again.")
        return False

    def _show_steps(self) -> None:
        self._pair = half_pair_at(self.session, self.correction.station_id)
        steps, step = self.query_one("#steps", OptionList), self.correction.next_step
        steps.clear_options()
        steps.add_options([Option(Content(self._title(step))) for step in self.correction.steps])
        self._bar_to_next()
        self._line.placeholder = line_text(None if self.overtaken else step)
        self.refresh_bindings()
        self.call_after_refresh(steps.scroll_to_highlight)

    def _bar_to_next(self) -> None:
        following = self.correction.next_step
        if self.correction.steps:
            number = following.number if following else len(self.correction.steps)
            self.query_one("#steps", OptionList).highlighted = number - 1

    def _title(self, step: PlannedStep) -> str:
        done, following = self.correction.done.get(step.number), self.correction.next_step
        width = self.size.width or 80
        return step_title(step, done, self.session.now(), following=step is following, width=width)

    def _step_under_bar(self) -> PlannedStep | None:
        index = self.query_one("#steps", OptionList).highlighted
        return self.correction.steps[index] if index is not None and index < len(self.correction.steps) else None
