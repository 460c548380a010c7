"""The countdowns of everything that mixes or runs in, and the bell when one has run out."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from rounds.walk.matters import Ahead
from rounds.walk.session import Session
from rounds.walk.telling import told
from rounds.walk.wording import minutes_text

MIXING, HOSE, HOSE_FULL = "mixing", "hose", "hose-full"
RUNG = (MIXING, HOSE, HOSE_FULL)
"""The codes of what is waited for on the round, and rings when it is over."""


class Bell:
    """Knows what mixes and which hose runs; tells once for each wait that it saw running when that is over.

    It reads the record again once something was written, here or by another window.
    """

    def __init__(self, session: Session) -> None:
        self._session = session
        self._waits: Sequence[Ahead] | None = None
        self._running: set[Ahead] = set()
        session.gate.subscribe(lambda *_: self._forget())

    def countdown(self) -> str:
        """Everything that still mixes or runs in, on one line."""
        now = self._session.now()
        running = [wait for wait in self._all() if wait.due_at > now]
        self._running.update(running)
        told = [self._counts_down(wait, now) for wait in running if wait.code in (MIXING, HOSE)]
        return f"⧗ {' · '.join(told)}" if told else ""

    def rung(self) -> list[str]:
        """A sentence for each wait that has just run out."""
        now = self._session.now()
        over = [wait for wait in self._all() if wait.due_at <= now and wait in self._running]
        self._running.difference_update(over)
        return [f"{self._name(wait)}{' has mixed' if wait.code == MIXING else ''}: {wait.text}." for wait in over]

    def _all(self) -> Sequence[Ahead]:
        if self._waits is None:
            ahead = (each for each in told(self._session, "ahead") if isinstance(each, Ahead))
            self._waits = [each for each in ahead if each.code in RUNG]
        return self._waits

    def _counts_down(self, wait: Ahead, now: datetime) -> str:
        """What is waited for, and how long still."""
        left = minutes_text(wait.seconds_left(now))
        if wait.code == MIXING:
            return f"{self._name(wait)} mixes {left}, {wait.text}"
        return f"{self._name(wait)}: {wait.text}, look in {left}"

    def _forget(self) -> None:
        self._waits = None

    def _name(self, wait: Ahead) -> str:
        station = self._session.farm.stations.get(wait.station_id)
        return station.name if station else wait.station_id
