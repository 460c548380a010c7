"""An app in which every key waits until the one before it has had its whole effect.

A key goes from queue to queue before it does something: up from the line that has the focus, through the screen, to the
app, and from there a message may lead to another screen. Keys that are forwarded at once are meanwhile typed into the
line of a station that is being left, or overtake the command before them. So a key that only changes a line is handed
on at once; behind any other one a message is sent through the same queues, again and again, until nothing stirs. The
keys that come meanwhile wait.
"""

from __future__ import annotations

from collections import deque
from functools import partial
from math import inf
from typing import Any

from textual.app import App
from textual.dom import DOMNode
from textual.driver import Driver
from textual.events import Event, Key, Paste
from textual.message import Message
from textual.screen import Screen
from textual.timer import Timer
from textual.widgets import Input

from rounds.widgets.flood import Flood, held_back
from rounds.widgets.quick_line import QuickLine
from rounds.widgets.typed_ahead import TypedAhead

EDITS = frozenset({"backspace", "delete", "left", "right", "home", "end"})
NEVER_WAIT = frozenset({"ctrl+q", "ctrl+c"})
FEWEST_TRIPS = 4
"""A list tells its screen, the screen tells the app, and the app changes the screen: each is behind one trip more."""
MOST_TRIPS = 400
MOST_PASTED = 4_000
"""A line takes no longer text. [characters]"""
LOST_S = 0.5
"""A message is lost where the widget that had it went away; then it is sent again. [s]"""


class TypedTooEarly(Message):
    """Keys were left out, since their screen could not be seen yet."""

    SENTENCE = "✗ Keys typed before this stood here are left out. Look, then type them again."
    TOO_MANY = "✗ Too many keys came at once: all of them were left out."

    def __init__(self, sentence: str = SENTENCE) -> None:
        super().__init__()
        self.sentence = sentence


class Behind(Message):
    """Follows a key through every queue."""

    def __init__(self, number: int) -> None:
        super().__init__()
        self.number = number


class KeysInTurn(App[None]):
    """Hands keys on one after the other."""

    def __init__(self) -> None:
        self.flood = Flood()
        super().__init__()
        self._keys: deque[Key | Paste] = deque()
        self._told_of_flood = False
        self._ahead = TypedAhead()
        self._typed_on: Screen[Any] | None = None
        """The screen on which the command was typed that is under way; None where none is."""
        self._trip = 0
        self._trips_left = 0
        self._watch: Timer | None = None
        self._waits = 0
        """How many screens were waited for: what an earlier wait brings says nothing of this one."""

    @property
    def keys_are_through(self) -> bool:
        """Whether every key has had its effect, and what it led to can be seen."""
        return self._typed_on is None and not self._keys and self._ahead.seen_at < inf

    def get_driver_class(self) -> type[Driver]:
        """The usual driver, which holds back more keys than anybody types."""
        return held_back(super().get_driver_class(), NEVER_WAIT)

    async def on_event(self, event: Event) -> None:
        """Keys queue up; everything else goes its way."""
        if isinstance(event, Key | Paste) and not event.is_forwarded and getattr(event, "key", "") not in NEVER_WAIT:
            if self._is_too_much(event):
                self._leave_out_flood()
                return
            self._keys.append(event)
            await self._hand_on()
        else:
            await super().on_event(event)

    def _is_too_much(self, event: Key | Paste) -> bool:
        if isinstance(event, Paste):
            return len(event.text) > MOST_PASTED
        return not self.flood.arrived(event.time)

    def _leave_out_flood(self) -> None:
        self._keys.clear()
        self._ahead.leave_out()
        if not self._told_of_flood:
            self._told_of_flood = True
            self.screen.post_message(TypedTooEarly(TypedTooEarly.TOO_MANY))
            self.set_timer(LOST_S, self._forget_flood)

    def _forget_flood(self) -> None:
        self._told_of_flood = False

    async def on_behind(self, message: Behind) -> None:
        """The key and all before this message have had their effect, as far as it goes by now."""
        message.stop()
        if message.number == self._trip:
            await self._look()

    def leave_out_typed_ahead(self) -> None:
        """What was typed for another screen is not for this one, which stays."""
        if self._keys:
            self.screen.post_message(TypedTooEarly())
        self._keys.clear()
        self._ahead.leave_out()

    async def _hand_on(self) -> None:
        left_out = False
        while self._keys and self._typed_on is None:
            event = self._keys.popleft()
            is_text = self._is_text(event)
            if not self._ahead.lets_through(event.time, is_text=is_text):
                left_out = True
                continue
            if not is_text:
                self._typed_on = self.screen
                self._trips_left = MOST_TRIPS
            await super().on_event(event)
            if not is_text:
                self._send_behind()
        if left_out:
            self.screen.post_message(TypedTooEarly())

    def _is_text(self, event: Key | Paste) -> bool:
        line = self.focused
        if not isinstance(line, Input):
            return False
        if isinstance(event, Paste) or event.key in EDITS:
            return True
        return event.is_printable and not (isinstance(line, QuickLine) and line.leaves_to_the_screen(event.character))

    def _send_behind(self) -> None:
        self._trip += 1
        self._trips_left -= 1
        (self.focused or self.screen).post_message(Behind(self._trip))
        if self._watch is not None:
            self._watch.stop()
        self._watch = self.set_timer(LOST_S, self._send_behind)

    async def _look(self) -> None:
        still = MOST_TRIPS - self._trips_left < FEWEST_TRIPS or self._stirs()
        if still and self._trips_left > 0:
            self._send_behind()
            return
        if self._watch is not None:
            self._watch.stop()
        before, self._typed_on = self._typed_on, None
        if self.screen is not before:
            self._wait_until_seen()
        await self._hand_on()

    def _stirs(self) -> bool:
        """Whether a queue on the way of a key holds something."""
        line: DOMNode | None = self.focused or self.screen
        return any(node.message_queue_size > 0 for node in (line.ancestors_with_self if line else ()))

    def _wait_until_seen(self) -> None:
        """What is typed before the screen in front is painted is typed ahead."""
        self._ahead.seen_at = inf
        self._waits += 1
        seen = partial(self._seen, self.screen, self._waits)
        self.screen.call_after_refresh(seen)
        self.set_timer(LOST_S, seen)  # the screen may be gone before it is painted

    def _seen(self, came: Screen[Any], wait: int) -> None:
        if wait != self._waits or not self.screen_stack:  # none is left where the app ends meanwhile
            return
        if self.screen is came:
            self._ahead.seen_at = min(self._ahead.seen_at, Message().time)
        elif self._ahead.seen_at == inf:
            self._wait_until_seen()
