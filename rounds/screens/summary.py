"""The end of a round on one screen; Enter closes it."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Static

from rounds.errors import RoundsError
from rounds.screens.messages import BackToWalk
from rounds.walk.open_corrections import open_corrections
from rounds.walk.rechecks import waits
from rounds.walk.round import Round, close_round
from rounds.walk.safekeeping import backup_text
from rounds.walk.session import Session
from rounds.walk.summary import RoundSummary, summarise
from rounds.walk.wording import minutes_text, round_of_day
from rounds.widgets.head import Head
from rounds.widgets.key_line import KeyLine


class SummaryScreen(Screen[None]):
    """Shows what the round came to and what is carried over."""

    CSS_PATH = "summary.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "close", "close the round", id="summary.close"),
        Binding("escape", "back", "back to the walk", id="summary.back"),
    ]

    def __init__(self, session: Session, walk: Round) -> None:
        super().__init__()
        self.session, self.walk = session, walk

    def compose(self) -> ComposeResult:
        """One page of text."""
        self._summary = summarise(self.session, self.walk)
        today = self.walk.day == self.session.now().date()
        title = f"The {self.walk.name} round" if today else round_of_day(self.walk.name, self.walk.day)
        yield Head(title, f"begun {self.walk.started_at.astimezone(self.session.zone):%H:%M}")
        with VerticalScroll(id="page"):
            yield Static(Content(self._page(self._summary)))
        yield Static("", id="message")
        yield KeyLine()

    def action_close(self) -> None:
        """Write down that the round is closed."""
        try:
            close_round(self.session, self.walk, self._summary.to_data())
        except RoundsError as error:
            self.query_one("#message", Static).update(Content(f"✗ {error}"))
            return
        self.post_message(BackToWalk())

    def action_back(self) -> None:
        """Leave it open."""
        self.post_message(BackToWalk())

    def _page(self, summary: RoundSummary) -> str:
        blocks = [
            f"{summary.stations_done} stations done, {summary.readings} readings, {summary.checks} checks.",
            _block("Off", summary.off),
            _block("Changes slowly", summary.slow, "~"),
            _block("Added", summary.doses),
            _block("Still to come", self._still_to_come(), "⧗"),
            _block("Left out", summary.skipped),
            _block("Carried over, not reached", [self._name_of(s) for s in summary.stations_open], "↪"),
            _block("Notes", summary.notes),
            backup_text(self.session),
        ]
        return "\n\n".join(block for block in blocks if block)

    def _still_to_come(self) -> list[str]:
        now = self.session.now()
        running = [
            f"{self._name_of(w.station_id)}: {minutes_text(w.seconds_left(now))}, {w.what}"
            for w in waits(self.session)
            if w.seconds_left(now) > 0
        ]
        open_steps = [
            f"{self._name_of(c.station_id)}: {c.next_step.text}" for c in open_corrections(self.session) if c.next_step
        ]
        return running + open_steps

    def _name_of(self, station_id: str) -> str:
        station = self.session.farm.stations.get(station_id)
        return station.name if station else station_id


def _block(title: str, lines: tuple[str, ...] | list[str], sign: str = "·") -> str:
    return "\n".join([f"{title}:", *(f" {sign} {line}" for line in lines)]) if lines else ""
