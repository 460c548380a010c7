"""More keys at once than anybody types: they are left out before they fill the memory, and the way out stays open."""

from __future__ import annotations

from math import inf
from typing import Any

from textual.driver import Driver
from textual.events import Key
from textual.message import Message

from rounds.widgets.typed_ahead import PAUSE_S

MOST_ON_THEIR_WAY = 1_000
"""So many keys may be on their way from the terminal: more than the longest note that is pasted raw in a moment."""


class Flood:
    """Counts keys where they come from the terminal, and where they arrive.

    The first count belongs to the thread that reads the terminal, the second to the app: neither writes the other's.
    """

    def __init__(self) -> None:
        self._sent = 0
        self._seen = 0
        self._last_left_out = -inf

    def lets_through(self, at: float) -> bool:
        """Decide about a key that comes from the terminal; once one is left out, the rest of its burst is too."""
        is_late = at - self._last_left_out < PAUSE_S
        if is_late or self._sent - self._seen >= MOST_ON_THEIR_WAY:
            self._last_left_out = at
            return False
        self._sent += 1
        return True

    def arrived(self, at: float) -> bool:
        """Count a key that arrives, and tell whether it counts: not where keys behind it were left out."""
        self._seen += 1
        return at > self._last_left_out


def held_back(driver: type[Driver], never_wait: frozenset[str]) -> type[Driver]:
    """Give a driver that asks the `flood` of its app about every key.

    Parameters
    ----------
    driver : type of Driver
        What reads the terminal.
    never_wait : frozenset of str
        Keys that always go through.
    """

    class HeldBack(driver):  # type: ignore[misc, valid-type]
        def send_message(self, message: Message) -> None:
            flood: Any = self._app.flood
            if not isinstance(message, Key) or message.key in never_wait or flood.lets_through(message.time):
                super().send_message(message)

    return HeldBack
