"""What screens say to the app: where to go next. They carry ids, and the app knows the way."""

from __future__ import annotations

from dataclasses import dataclass

from textual.message import Message


@dataclass
class StartRound(Message):
    """Start a round, or take up the one that is open."""

    name: str


@dataclass
class GoTo(Message):
    """Open one station."""

    station_id: str
    round_name: str | None = None
    """The round on the screen; None stays with the one that is walked."""
    line: str = ""
    """What was typed for it already: it is taken there as if it had been typed there."""


@dataclass
class WalkOn(Message):
    """This station is done for now: correct it where it is off, then go to the next."""

    after: str
    read: bool = False
    """Whether its readings were just taken, so that a correction may be due."""


@dataclass
class BackToWalk(Message):
    """Show the whole walk again."""


@dataclass
class StayHere(Message, bubble=False):
    """The way on could not be gone, as when a disk is full: take keys again."""


@dataclass
class WorkOutAgain(Message):
    """Work the correction of a reservoir out anew: something that it hung on is known now."""

    station_id: str


@dataclass
class CloseRound(Message):
    """Close the round on the screen."""

    name: str


@dataclass
class PaperIn(Message):
    """Type a filled walk card of the round on the screen in."""

    round_name: str
