"""A place on the screen that is told when something was written down, for as long as it is there."""

from __future__ import annotations

from textual.dom import DOMNode
from textual.message import Message

from rounds.walk.session import Session


class Written(Message, bubble=False):
    """Something was written down, here or by another window; sent to whoever follows."""


class FollowsChanges(DOMNode):
    """For a screen or widget with a session; its own `on_written` says what it does."""

    session: Session

    def on_mount(self) -> None:
        """From now on."""
        self._end_following = self.session.gate.subscribe(self._tell)

    def _tell(self, *_: frozenset[str]) -> None:
        """Whoever writes may be a thread: it is posted."""
        self.post_message(Written())

    def on_unmount(self) -> None:
        """What is gone is told nothing."""
        self._end_following()
