"""Monthly files are rewritten a moment after the last save, in a thread of its own."""

import threading
import time
from collections import deque
from collections.abc import Callable

from rounds.errors import RoundsError

QUIET_S = 1.0


class Afterwards:
    """What others want done beside the record when it has come to rest."""

    def __init__(self) -> None:
        self._work: deque[Callable[[], None]] = deque()

    def add(self, work: Callable[[], None]) -> None:
        self._work.append(work)

    def done(self) -> list[str]:
        """Do all of it; say what could not be done, a sentence each."""
        told: list[str] = []
        while True:
            try:
                work = self._work.popleft()
            except IndexError:  # two threads may be at it
                return told
            try:
                work()
            except RoundsError as error:
                told.append(f"What was to be done beside the record was not done: {error.sentence}")


class Rewriter:
    """Calls `work` about a second after the last `wake`, off the thread that saves."""

    def __init__(self, work: Callable[[], None], quiet_s: float = QUIET_S) -> None:
        self._work = work
        self._quiet_s = quiet_s
        self._changed = threading.Condition()
        self._due_s: float | None = None
        self._stopped = False
        self._thread: threading.Thread | None = None

    def wake(self) -> None:
        with self._changed:
            self._due_s = time.monotonic() + self._quiet_s
            if self._thread is None and not self._stopped:
                self._thread = threading.Thread(target=self._run, name="monthly files", daemon=True)
                self._thread.start()

    def stop(self) -> None:
        """Let work under way end, and begin no more."""
        with self._changed:
            self._stopped = True
            self._changed.notify_all()
        if self._thread is not None:
            self._thread.join()

    def _run(self) -> None:
        while self._waited():
            self._work()

    def _waited(self) -> bool:
        with self._changed:
            while not self._stopped:
                now = time.monotonic()
                if self._due_s is not None and self._due_s <= now:
                    self._due_s = None
                    return True
                self._changed.wait(self._quiet_s if self._due_s is None else self._due_s - now)
            return False
