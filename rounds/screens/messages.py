"""What screens say to the app: where to go next. They carry ids, and the app knows the way."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from textual.message import Message

from rounds.walk.dialogue import Way


@dataclass
class Lead(Message):
    """A dialogue has led on: go where it leads."""

    way: Way


@dataclass
class Alarm(Message):
    """Something that must not be missed, for as long as it is so."""

    text: str
    holds: Callable[[], bool] | None = None


@dataclass
class BackToWalk(Message):
    """Show the whole walk again."""


@dataclass
class StayHere(Message, bubble=False):
    """The way on could not be gone, as when a disk is full: take keys again."""


@dataclass
class PaperIn(Message):
    """Type a filled walk card of the round on the screen in."""

    round_name: str
