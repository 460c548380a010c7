"""The steps that put a reservoir right: one at a time, with what each will bring and what to beware of."""

from __future__ import annotations

from collections.abc import Callable
from time import monotonic
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import Screen
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from rounds.errors import RoundsError
from rounds.screens.correction_text import assumed_text, step_details, step_title
from rounds.screens.messages import BackToWalk, GoTo, WalkOn, WorkOutAgain
from rounds.screens.prompt import PromptScreen
from rounds.screens.working import WorkingScreen
from rounds.units import parse_quantity
from rounds.walk.correcting import OpenCorrection, PlannedStep
from rounds.walk.doing import after_the_wrong_amount, dip_in_buffer, far_more, put_off, record_step
from rounds.walk.helper import beyond_limit
from rounds.walk.rechecks import waits
from rounds.walk.session import Session
from rounds.walk.waits import Wait
from rounds.widgets.head import Head
from rounds.widgets.key_line import KeyLine


class Steps(OptionList):
    """The steps; Enter says that the next one was done."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "select", "done as advised", id="correction.done"),
    ]

    def on_resize(self) -> None:
        """The step under the bar stays whole, however much room there is."""
        self.call_after_refresh(self.scroll_to_highlight)


class CorrectionScreen(Screen[None]):
    """Walks through one correction; Enter says that a step was done as advised."""

    CSS_PATH = "correction.tcss"
    settle_s: ClassVar[float] = 0.7
    """An Enter so soon after the screen or a step has come was meant for what stood there before. [s]"""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("y", "really_done", show=False, id="correction.really_done"),
        Binding("e", "other_amount", "other amount", id="correction.other"),
        Binding("p", "put_off", "put off", id="correction.put_off"),
        Binding("w", "working", "working", id="correction.working"),
        Binding("space", "read_on", "read on", key_display="Space", id="correction.read_on"),
        Binding("escape", "walk_on", "walk on", id="correction.walk_on"),
    ]

    def __init__(self, session: Session, correction: OpenCorrection, *, right: str, round_id: str | None) -> None:
        super().__init__()
        self.session = session
        self.correction = correction
        self._right = right
        self._round_id = round_id
        self._asked_about: PlannedStep | None = None
        self._quiet_until = monotonic() + self.settle_s
        self._overtaken = False

    def compose(self) -> ComposeResult:
        """Head, what was read, the steps, the step under the bar in full, keys."""
        station = self.session.farm.station(self.correction.station_id)
        yield Head(f"{station.name} · correction", self._right)
        with VerticalScroll(id="about", can_focus=False):
            if self._said():
                yield Static(Content(self._said()), id="said")
            yield Static(Content(assumed_text(self.correction)), id="assumed")
        yield Steps(id="steps", markup=False, compact=True)
        yield Static("", id="message")
        with VerticalScroll(id="details", can_focus=False):
            yield Static("", id="detail")
        yield KeyLine()

    def on_mount(self) -> None:
        """Show the steps with the bar on the first that is open."""
        self._show_steps()

    @on(OptionList.OptionHighlighted)
    def show_detail(self) -> None:
        """The step under the bar in full."""
        step = self._step_under_bar()
        self.query_one("#detail", Static).update(Content(step_details(step) if step else ""))
        self.query_one("#details").scroll_home(animate=False)

    @on(OptionList.OptionSelected)
    def done(self) -> None:
        """The next step was done as advised."""
        if monotonic() < self._quiet_until:
            return
        step = self.correction.next_step
        if step is not None and self._step_under_bar() is not step:
            self._bar_to_next()
            self._say("Enter is for the step marked ▶: look at it, then Enter again.")
            return
        if step is None or self._overtaken:
            self.action_walk_on()
            return
        if step.action == "buffer_dip":
            self.app.push_screen(PromptScreen(step.text, "What does the meter show? Esc leaves it."), self._dipped)
        elif step.action == "read_again":
            self.post_message(GoTo(self.correction.station_id))
        elif self._still_mixes():
            self._asked_about = step
            self._say("✗ It has not mixed yet. y: this step was really done already.")
        else:
            self._within_limits(step, step.amount, lambda: self._record(step, None))

    def action_really_done(self) -> None:
        """The step that was asked about was done before it had mixed."""
        step, self._asked_about = self._asked_about, None
        if step is not None and step is self.correction.next_step:
            self._within_limits(step, step.amount, lambda: self._record(step, None))

    def action_other_amount(self) -> None:
        """Enter what was really added."""
        step = self.correction.next_step
        if step is None or not step.is_measured:
            self._say("This step has no amount. Enter says that it was done.")
            return
        question = f"How much was really added, in {step.unit}? Advised: {step.amount:g} {step.unit}"
        prompt = PromptScreen(question, check=lambda text: self._amount(step, text))
        self.app.push_screen(prompt, lambda text: self._other_amount(step, text))

    def action_put_off(self) -> None:
        """Leave the rest for later, with a reason."""
        self.app.push_screen(PromptScreen("Why is it put off? It is carried over to the next round."), self._put_off)

    def action_working(self) -> None:
        """Show how the numbers were worked out."""
        self.app.push_screen(WorkingScreen(self.correction))

    def action_read_on(self) -> None:
        """Show what has no room, above and below the steps; behind the end it begins again."""
        for pane in (self.query_one("#about"), self.query_one("#details")):
            if pane.scroll_offset.y >= pane.max_scroll_y:
                pane.scroll_home(animate=False)
            else:
                pane.scroll_page_down(animate=False)

    def action_walk_on(self) -> None:
        """Go on with the walk; the correction stays open."""
        self.post_message(BackToWalk() if self._round_id is None else WalkOn(self.correction.station_id))

    def _record(self, step: PlannedStep, amount: float | None) -> None:
        try:
            self.correction = record_step(self.session, self.correction, step, amount, self._round_id)
        except RoundsError as error:
            self._say(f"✗ {error}")
            return
        self._quiet_until = monotonic() + self.settle_s
        self._show_steps()
        now_do = after_the_wrong_amount(step, step.amount if amount is None else amount)
        running = self._still_mixes()
        if now_do:
            self._overtaken = True
            self._say(f"✗ {now_do} Esc walks on.")
        elif running is not None:
            minutes = running.seconds_left(self.session.now()) / 60
            self._say(f"Written down. It mixes for {minutes:.0f} min, {running.what}: Esc walks on, the bell calls.")
        elif self.correction.next_step is None:
            self._say("All steps are done. Enter walks on.")
        else:
            self._say("Written down.")

    def _still_mixes(self) -> Wait | None:
        here = (wait for wait in waits(self.session) if wait.station_id == self.correction.station_id)
        return next((wait for wait in here if wait.seconds_left(self.session.now()) > 0), None)

    def _dipped(self, text: str | None) -> None:
        if text is None:
            return
        try:
            concern = dip_in_buffer(self.session, self.correction, text, self._round_id)
        except RoundsError as error:
            self._say(f"✗ {error}")
            return
        if concern:
            self.app.notify(concern, severity="error", timeout=60, markup=False)
        self.post_message(WorkOutAgain(self.correction.station_id))

    def _other_amount(self, step: PlannedStep, text: str | None) -> None:
        if text is None:
            return
        amount = self._amount(step, text)
        self._within_limits(step, amount, lambda: self._record(step, amount))

    def _amount(self, step: PlannedStep, text: str) -> float:
        return parse_quantity(text, usual=step.unit, gallon=self.session.farm.place.gallon)

    def _within_limits(self, step: PlannedStep, amount: float, record: Callable[[], None]) -> None:
        """Write it down; what is beyond a helper's limits only after a warning, and then with a mark."""
        beyond = beyond_limit(self.session, step.product or "", amount, step.unit) or far_more(step, amount)
        if not beyond:
            record()
            return
        question = (
            f"! {beyond[0].upper()}{beyond[1:]}. If it is not poured yet: do not. Esc leaves it; F8 shows whom to call."
        )
        hint = f"Was it poured already? Type {amount:g} once more, and it is written down with this warning."
        self.app.push_screen(PromptScreen(question, hint), lambda text: self._confirmed(amount, text, record))

    def _confirmed(self, amount: float, text: str | None, record: Callable[[], None]) -> None:
        if text is not None and text.replace(",", ".") == f"{amount:g}":
            record()
        elif text is not None:
            self._say("✗ Not written down: the amount was not the same.")

    def _put_off(self, reason: str | None) -> None:
        if not reason:
            return
        try:
            put_off(self.session, self.correction, reason, self._round_id)
        except RoundsError as error:
            self._say(f"✗ {error}")
            return
        self.action_walk_on()

    def _show_steps(self) -> None:
        steps = self.query_one("#steps", OptionList)
        steps.clear_options()
        steps.add_options([Option(Content(self._title(step))) for step in self.correction.steps])
        self._bar_to_next()
        steps.focus()
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

    def _said(self) -> str:
        lines = [f"! {text}" for text in self.correction.refusals] + [f"· {text}" for text in self.correction.findings]
        return "\n".join(lines)

    def _say(self, text: str) -> None:
        self.query_one("#message", Static).update(Content(text))
