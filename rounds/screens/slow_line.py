"""One or two lines that say what changes slowly: worked out in a thread once the screen is there."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

from textual.content import Content
from textual.message import Message
from textual.timer import Timer
from textual.widgets import Static

from rounds.walk.session import Session
from rounds.walk.telling import matters
from rounds.widgets.background import in_background
from rounds.widgets.writing import write

LATER_S = 0.3
"""So long after the screen is there: what the grower waits for comes first. [s]"""


class SlowLine(Static):
    """Hidden while there is nothing to tell. Without a station it speaks for the whole farm."""

    DEFAULT_CSS = """
    SlowLine { height: auto; max-height: 2; padding: 0 1; display: none; text-wrap: nowrap; text-overflow: ellipsis; }
    SlowLine.-told { display: block; }
    """

    @dataclass
    class Found(Message, bubble=False):
        """What a thread has found."""

        lines: list[str]
        look: int
        """Which look it was: an older one may end later."""

    def __init__(self, session: Session, station_id: str | None = None) -> None:
        super().__init__("", id="slow")
        self.session, self.station_id = session, station_id
        self.looks = 0
        """How often it has been looked over."""
        self._begun = 0
        self._soon: Timer | None = None

    def look(self) -> None:
        """Look over what was written down, a little later; what is written meanwhile is in it."""
        if self._soon is not None:
            self._soon.stop()
        self._soon = self.set_timer(LATER_S, self._begin)

    def _begin(self) -> None:
        if self.is_attached and self.screen.is_current:
            self._begun += 1
            found = partial(self._found, self._begun)
            in_background(
                self, "looking over the readings", self._told, found, failed=lambda text: found([f"! {text}"])
            )

    def _told(self) -> list[str]:
        """What there is to tell; this runs in a thread."""
        if self.station_id is None:
            return [each.line for each in matters(self.session, "slow")]
        from rounds.walk.slow_change.notices import station_lines

        return station_lines(self.session, self.station_id)

    def _found(self, look: int, lines: list[str]) -> None:
        self.post_message(self.Found(lines, look))

    def on_slow_line_found(self, event: Found) -> None:
        """Show it, or take the line away."""
        self.looks += 1
        if event.look != self._begun:
            return
        write(self, Content("\n".join(event.lines)))
        self.set_class(bool(event.lines), "-told")
