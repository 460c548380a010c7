"""The countdowns of everything that mixes, and the bell when one has run out."""

from __future__ import annotations

from collections.abc import Sequence

from rounds.walk.matters import Ahead
from rounds.walk.session import Session
from rounds.walk.telling import told
from rounds.walk.wording import minutes_text


class Bell:
    """Knows what mixes; tells once for each wait that it saw running when that is over.

    It reads the record again once something was written, here or by another window.
    """

    def __init__(self, session: Session) -> None:
        self._session = session
        self._waits: Sequence[Ahead] | None = None
        self._running: set[Ahead] = set()
        session.gate.subscribe(lambda *_: self._forget())

    def countdown(self) -> str:
        """Everything that still mixes, on one line."""
        now = self._session.now()
        running = [wait for wait in self._all() if wait.due_at > now]
        self._running.update(running)
        told = [f"{self._name(w)} mixes {minutes_text(w.seconds_left(now))}, {w.text}" for w in running]
        return f"⧗ {' · '.join(told)}" if told else ""

    def rung(self) -> list[str]:
        """A sentence for each wait that has just run out."""
        now = self._session.now()
        over = [wait for wait in self._all() if wait.due_at <= now and wait in self._running]
        self._running.difference_update(over)
        return [f"{self._name(wait)} has mixed: {wait.text}." for wait in over]

    def _all(self) -> Sequence[Ahead]:
        if self._waits is None:
            self._waits = [each for each in told(self._session, "ahead") if isinstance(each, Ahead)]
        return self._waits

    def _forget(self) -> None:
        self._waits = None

    def _name(self, wait: Ahead) -> str:
        station = self._session.farm.stations.get(wait.station_id)
        return station.name if station else wait.station_id
