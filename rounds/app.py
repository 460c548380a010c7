"""The Textual app: it opens a farm, shows the screen the guide leads to, and rings when something has mixed."""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property
from pathlib import Path
from time import monotonic
from typing import TYPE_CHECKING, Any, ClassVar

from textual import on
from textual.binding import Binding, BindingType
from textual.screen import Screen
from textual.widgets import Input

from rounds.errors import RoundsError
from rounds.screens.messages import Alarm, BackToWalk, Lead, PaperIn, StayHere
from rounds.screens.registry import open_screen
from rounds.screens.walk import WalkScreen
from rounds.text import clean_line
from rounds.walk.bell import Bell
from rounds.walk.round import current_round, open_round
from rounds.walk.session import Clock, Session, system_clock
from rounds.widgets.background import in_background
from rounds.widgets.head import Head
from rounds.widgets.key_line import KeyLine
from rounds.widgets.keys_in_turn import KeysInTurn, TypedTooEarly
from rounds.widgets.notices import Notices

if TYPE_CHECKING:
    from textual.notifications import SeverityLevel

    from rounds.walk.guide import Destination, Guide

REFRESH_S = 5.0
ALARM_S = 600.0
"""So long an alarm stands at most, where nothing puts right what it tells. [s]"""
NOT_FOR_HELPERS = ("shelf", "markout", "relief")
"""Screens that belong to the grower."""


class RoundsApp(KeysInTurn):
    """Walks one person over one farm."""

    TITLE = "rounds"
    ENABLE_COMMAND_PALETTE = False
    MODES: ClassVar[dict[str, str]] = {"walk": "walk"}  # type: ignore[assignment]
    DEFAULT_MODE = "walk"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("question_mark,f1", "help", "help", key_display="?", id="app.help"),
        Binding("colon,ctrl+p", "commands", "commands", key_display=":", id="app.commands"),
        Binding("exclamation_mark,f8", "call", "EMERGENCY", key_display="!", id="app.emergency"),
        Binding("f6", "undo", "undo", show=False, id="app.undo"),
        Binding("ctrl+q", "quit", "leave", id="app.quit", show=False, priority=True),
    ]

    def __init__(self, farm_folder: Path, *, person_id: str | None = None, clock: Clock = system_clock) -> None:
        super().__init__()
        self.session = Session.open(Path(farm_folder), person_id=person_id, clock=clock)
        self.mixing, self.notices = Bell(self.session), Notices()
        self.walk = WalkScreen(self.session)
        self.install_screen(self.walk, "walk")
        self._told_too_early_until = 0.0
        self.not_entered = ""
        """What stood in the line when the app was told to leave from outside."""

    @cached_property
    def guide(self) -> Guide:
        """Who knows the way; not needed before the first screen."""
        from rounds.walk.guide import Guide

        return Guide(self.session, open_round(self.session, current_round(self.session)))

    def on_mount(self) -> None:
        """The walk is there; then load what is slow to load."""
        self.set_interval(1.0, self.tick)
        self.set_interval(REFRESH_S, self.look_around)
        self.call_after_refresh(self._warm_up)

    def on_unmount(self) -> None:
        """Everything is durable already; the month files are brought up to date."""
        self.session.history.close()

    def leave(self, code: int) -> None:
        """Leave now, told so from outside; what stands in the line is kept, to be said once the terminal is back."""
        typed = self.focused
        self.not_entered = clean_line(typed.value) if isinstance(typed, Input) else ""
        self.exit(return_code=code)

    @on(Lead)
    def lead(self, message: Lead) -> None:
        """Go where a dialogue leads to."""
        self._lead(lambda: self.guide.lead(message.way), getattr(message.way, "line", ""))

    @on(Alarm)
    def alarm(self, message: Alarm) -> None:
        """Say what must not be missed, for as long as it is so."""
        self.notify(message.text, severity="error", timeout=ALARM_S, holds=message.holds)

    @on(BackToWalk)
    def back_to_walk(self) -> None:
        """Show the whole walk."""
        self.guide.turn_to(self.walk.round_name)
        while len(self.screen_stack) > 1:
            self.pop_screen()

    @on(PaperIn)
    def paper_in(self, message: PaperIn) -> None:
        """Type in a card that was filled on paper."""
        from rounds.screens.grid import GridScreen

        self.guide.turn_to(message.round_name)
        self._open(GridScreen(self.session, message.round_name, self.guide.round_id))

    @on(TypedTooEarly)
    def say_too_early(self, event: TypedTooEarly) -> None:
        """A screen without a line for messages does not say it itself; once is enough for several keys."""
        if monotonic() >= self._told_too_early_until:
            self._told_too_early_until = monotonic() + self.NOTIFICATION_TIMEOUT
            self.notify(event.sentence, markup=False)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """A helper walks and answers; farm, shelf and sheets are the grower's."""
        return not (action == "show" and self.session.is_helper and parameters[0] in NOT_FOR_HELPERS)

    def action_call(self) -> None:
        """Show the emergency card."""
        from rounds.screens.call import CallScreen

        if not isinstance(self.screen, CallScreen):
            self.push_screen(CallScreen(self.session.farm))

    def action_show(self, name: str) -> None:
        """Open one of the screens beside the walk."""
        self._open(open_screen(name, self.session, self.guide.round))

    def action_help(self) -> None:
        """Show what is in focus, and the keys of the screen in front."""
        from rounds.screens.keys import KeysScreen

        if not isinstance(self.screen, KeysScreen):
            self.push_screen(KeysScreen(self.screen))

    def action_commands(self) -> None:
        """Offer every command of the screen in front by its name."""
        from rounds.screens.choosing import choose_command

        choose_command(self.screen)

    def action_undo(self) -> None:
        """Say what was written last; Enter takes it back."""
        from rounds.screens.asking import ask_in_between
        from rounds.walk.at_start import AtStart

        dialogue, screen = AtStart(self.session), self.screen
        said = dialogue.press("u")
        if said.message:
            self.notify(said.message)
        ask_in_between(screen, dialogue, lambda reply: self._taken_back(screen, reply.message))

    def _taken_back(self, screen: Screen[Any], sentence: str) -> None:
        self.notify(sentence)
        renew = getattr(screen, "renew", None)
        if callable(renew):
            renew()

    def notify(
        self,
        message: str,
        *,
        title: str = "",
        severity: SeverityLevel = "information",
        timeout: float | None = None,
        markup: bool = False,
        holds: Callable[[], bool] | None = None,
    ) -> None:
        """Say something in the row above the keys, where it covers nothing.

        Parameters
        ----------
        holds : callable, optional
            Whether what it tells is still so: it goes as soon as it is not.
        """
        self.notices.add(message, self.NOTIFICATION_TIMEOUT if timeout is None else timeout, holds)
        self._show_notices()

    @property
    def notices_now(self) -> tuple[str, ...]:
        """What stands above the keys now."""
        return self.notices.now()

    def _show_notices(self) -> None:
        if not self.screen_stack:
            return
        for line in self.screen.query(KeyLine):
            line.tell(self.notices_now)

    def tick(self) -> None:
        """Every second: countdowns, and the bell."""
        text = self.mixing.countdown()
        for head in self.screen.query(Head):
            head.say_waits(text)
        self._show_notices()
        for sentence in self.mixing.rung():
            self.bell()
            self.notify(sentence, timeout=60, markup=False)

    def _lead(self, ask: Callable[[], Destination], line: str = "") -> None:
        from rounds.screens.destinations import screen_for

        try:
            screen = screen_for(ask(), self.guide, line)
        except RoundsError as error:
            self._tell_what_was_done()
            self.notify(str(error), severity="error", markup=False)
            self.leave_out_typed_ahead()
            self.screen.post_message(StayHere())
            return
        self._tell_what_was_done()
        while self.guide.said:
            self.notify(self.guide.said.pop(0), severity="error", timeout=20, markup=False)
        if screen is None:
            self.back_to_walk()
        else:
            self._open(screen)

    def _tell_what_was_done(self) -> None:
        while self.guide.told:
            self.notify(self.guide.told.pop(0), timeout=8, markup=False)

    def _open(self, screen: Screen[Any]) -> None:
        if len(self.screen_stack) > 1:
            self.switch_screen(screen)
        else:
            self.push_screen(screen)
        self.tick()

    def look_around(self) -> None:
        """Every few seconds: what another window, process or device has written; whoever shows it is told."""
        self.session.gate.refresh()

    def _warm_up(self) -> None:
        in_background(self, "loading", self._load)

    def _load(self) -> None:
        from rounds import units
        from rounds.screens import destinations  # noqa: F401  # so that the first key finds it loaded

        units.warm_up()
        self.session.read_all()
