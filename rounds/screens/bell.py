"""The countdowns of everything that mixes, and the bell when one has run out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from rounds.walk.session import Session
from rounds.walk.wording import minutes_text

if TYPE_CHECKING:
    from rounds.walk.waits import Wait


class Bell:
    """Knows what mixes; tells once for each wait that it saw running when that is over."""

    def __init__(self, session: Session) -> None:
        self._session = session
        self._waits: Sequence[Wait] = ()
        self._running: set[Wait] = set()

    def look(self) -> None:
        """Read from the history what mixes now."""
        from rounds.walk.rechecks import waits  # nothing mixes before the first screen is there

        self._waits = waits(self._session)

    def countdown(self) -> str:
        """Everything that still mixes, on one line."""
        now = self._session.now()
        running = [wait for wait in self._waits if wait.until > now]
        self._running.update(running)
        told = [f"{self._name(w)} mixes {minutes_text(w.seconds_left(now))}, {w.what}" for w in running]
        return f"⧗ {' · '.join(told)}" if told else ""

    def rung(self) -> list[str]:
        """A sentence for each wait that has just run out."""
        now = self._session.now()
        over = [wait for wait in self._waits if wait.until <= now and wait in self._running]
        self._running.difference_update(over)
        return [f"{self._name(wait)} has mixed: {wait.what}." for wait in over]

    def _name(self, wait: Wait) -> str:
        station = self._session.farm.stations.get(wait.station_id)
        return station.name if station else wait.station_id
