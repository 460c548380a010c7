"""The Textual app: it opens a farm, knows the way from screen to screen, and rings when something has mixed."""

from __future__ import annotations

from pathlib import Path
from typing import Any, ClassVar

from textual import on, work
from textual.app import App
from textual.binding import Binding, BindingType
from textual.screen import Screen

from rounds.errors import RoundsError
from rounds.farm.stations import Reservoir
from rounds.screens.messages import BackToWalk, CloseRound, GoTo, StartRound, WalkOn, WorkOutAgain
from rounds.screens.registry import open_screen
from rounds.screens.station import StationScreen
from rounds.screens.walk import WalkScreen
from rounds.screens.wording import minutes_text
from rounds.walk.correcting import OpenCorrection, offer, offered_since, open_correction_of, uncorrected
from rounds.walk.desk import Desk
from rounds.walk.rechecks import Call, calls, waits
from rounds.walk.round import Round, open_round, start_round
from rounds.walk.session import Clock, Session, system_clock
from rounds.walk.stops import Stop, alive_stop, next_station, stop_at
from rounds.walk.waits import Wait
from rounds.widgets.head import Head

REFRESH_S = 5.0


class RoundsApp(App[None]):
    """Walks one person over one farm."""

    TITLE = "rounds"
    ENABLE_COMMAND_PALETTE = False
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f1", "help", "keys", id="app.help"),
        Binding("ctrl+q", "quit", "leave", id="app.quit", show=False, priority=True),
    ]

    def __init__(self, farm_folder: Path, *, person_id: str | None = None, clock: Clock = system_clock) -> None:
        super().__init__()
        self.session = Session.open(Path(farm_folder), person_id=person_id, clock=clock)
        self.round: Round | None = open_round(self.session, self.session.round_name())
        self._waits: list[Wait] = waits(self.session)
        self._rung: set[Wait] = {wait for wait in self._waits if wait.until <= self.session.now()}
        self._called: set[Call] = set()
        self.add_mode("walk", lambda: WalkScreen(self.session))

    async def on_mount(self) -> None:
        """Show the walk, then load what is slow to load."""
        await self.switch_mode("walk")
        self.set_interval(1.0, self._tick)
        self.set_interval(REFRESH_S, self._look_around)
        self.call_after_refresh(self._warm_up)

    def on_unmount(self) -> None:
        """Everything is durable already; the month files are brought up to date."""
        self.session.history.close()

    @on(StartRound)
    def start(self) -> None:
        """Start the round, or take it up where it was."""
        try:
            self.round = start_round(self.session, self.session.round_name())
        except RoundsError as error:
            self.notify(str(error), severity="error", markup=False)
            return
        alive = alive_stop(self.session, self.round.name)
        if alive.open_lines:
            self._open_stop(alive)
            return
        for reservoir in uncorrected(self.session):
            correction = self._correction_of(reservoir)
            if correction is not None:
                self._open_correction(correction)
                return
        self._go_on(None)

    @on(GoTo)
    def go_to(self, message: GoTo) -> None:
        """Open one station out of turn."""
        self._open_station(message.station_id)

    @on(WalkOn)
    def walk_on(self, message: WalkOn) -> None:
        """Correct the reservoir that was just read, or go on to the next station."""
        station = self.session.farm.stations.get(message.after)
        if isinstance(station, Reservoir) and isinstance(self.screen, StationScreen):
            correction = self._correction_of(station)
            if correction is not None:
                self._open_correction(correction)
                return
        self._go_on(message.after or None)

    @on(WorkOutAgain)
    def work_out_again(self, message: WorkOutAgain) -> None:
        """Offer a correction that counts in what has just been written down."""
        station = self.session.farm.reservoir(message.station_id)
        try:
            correction = offer(self.session, station, self.round.id if self.round else None)
        except RoundsError as error:
            self.notify(str(error), severity="error", markup=False)
            return
        if correction is not None:
            self._open_correction(correction)
        else:
            self._go_on(station.id)

    @on(BackToWalk)
    def back_to_walk(self) -> None:
        """Show the whole walk."""
        self._waits = waits(self.session)
        self.round = open_round(self.session, self.session.round_name())
        while len(self.screen_stack) > 1:
            self.pop_screen()

    @on(CloseRound)
    def close(self) -> None:
        """Show the summary of the round."""
        if self.round is not None:
            from rounds.screens.summary import SummaryScreen

            self._open(SummaryScreen(self.session, self.round))

    def action_show(self, name: str) -> None:
        """Open one of the screens beside the walk."""
        self._open(open_screen(name, self.session, self.round))

    def action_help(self) -> None:
        """Show the keys of the screen in front."""
        from rounds.screens.keys import KeysScreen

        if not isinstance(self.screen, KeysScreen):
            self.push_screen(KeysScreen(self.screen))

    def _go_on(self, after: str | None) -> None:
        self._waits = waits(self.session)
        called = next((call for call in calls(self.session) if call not in self._called), None)
        if called is not None:
            self._called.add(called)
            correction = open_correction_of(self.session, called.station_id)
            if called.what == "next step" and correction is not None:
                self._open_correction(correction)
            else:
                self._open_station(called.station_id)
            return
        following = next_station(self.session, self._round_name(), after)
        if following is not None:
            self._open_station(following)
        elif self.round is not None:
            self.close()
        else:
            self.back_to_walk()

    def _correction_of(self, reservoir: Reservoir) -> OpenCorrection | None:
        existing = open_correction_of(self.session, reservoir.id)
        read = self.session.history.latest(reservoir.id, "ph", kind="reading")
        if existing is not None and (read is None or read.measured_at <= existing.offered_at):
            return existing
        if read is None or offered_since(self.session, reservoir.id, read.measured_at):
            return None
        try:
            return offer(self.session, reservoir, self.round.id if self.round else None)
        except RoundsError as error:
            self.notify(str(error), severity="error", markup=False)
            return None

    def _open_station(self, station_id: str) -> None:
        try:
            self._open_stop(stop_at(self.session, self._round_name(), station_id))
        except RoundsError as error:
            self.notify(str(error), severity="error", markup=False)

    def _open_stop(self, stop: Stop) -> None:
        desk = Desk(session=self.session, stop=stop, round_id=self.round.id if self.round else None)
        right = f"{stop.number} of {stop.of}" if stop.number else self._round_name()
        self._open(StationScreen(desk, right=right))

    def _open_correction(self, correction: OpenCorrection) -> None:
        from rounds.screens.correction import CorrectionScreen

        round_id = self.round.id if self.round else None
        self._open(CorrectionScreen(self.session, correction, right=self._round_name(), round_id=round_id))

    def _open(self, screen: Screen[Any]) -> None:
        if len(self.screen_stack) > 1:
            self.switch_screen(screen)
        else:
            self.push_screen(screen)
        self._tick()

    def _round_name(self) -> str:
        return self.round.name if self.round else self.session.round_name()

    def _tick(self) -> None:
        now = self.session.now()
        running = [wait for wait in self._waits if wait.until > now]
        text = " · ".join(
            f"{self._name_of(w.station_id)} mixes {minutes_text(w.seconds_left(now))}, {w.what}" for w in running
        )
        for head in self.screen.query(Head):
            head.say_waits(f"⧗ {text}" if text else "")
        for wait in self._waits:
            if wait.until <= now and wait not in self._rung:
                self._rung.add(wait)
                self.bell()
                self.notify(f"{self._name_of(wait.station_id)} has mixed: {wait.what}.", timeout=60, markup=False)

    def _look_around(self) -> None:
        if self.session.history.refresh() and isinstance(self.screen, WalkScreen):
            self.screen.renew()
        self._waits = waits(self.session)

    @work(thread=True)
    def _warm_up(self) -> None:
        from rounds import units

        units.warm_up()

    def _name_of(self, station_id: str) -> str:
        station = self.session.farm.stations.get(station_id)
        return station.name if station else station_id
