"""The seam at which a merge asks who may say what; this room itself knows no persons and no keys."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Protocol

from rounds.history.record import Record


class Passing(Protocol):
    """As much of a record as is looked at while it passes by."""

    @property
    def id(self) -> str: ...
    @property
    def device(self) -> str: ...
    @property
    def seq(self) -> int: ...
    @property
    def measured_at(self) -> datetime: ...


@dataclass(frozen=True, slots=True, kw_only=True)
class RefusedRecord:
    """A record that is not taken in, and why."""

    id: str
    sentence: str
    device: str = ""
    """Who would have brought it in."""
    what: str = ""
    """What it says, of which station, when."""
    may_be_taken: bool = False
    """Whether somebody may take it in all the same: it is sound, but not for whoever wrote it to write."""


class Admission(Protocol):
    """Says which records may come in: the seam for whoever knows who may say what."""

    def see(self, record: Passing, body: bytes) -> None:
        """Look at each sound record of what comes in, known or new, month by month; `body` is its line's JSON."""

    def seen_all(self, find: Callable[[str], Record | None]) -> None:
        """All of it has been looked at; `find` gives a record that is here by its id."""

    def is_vouched(self, record: Record) -> bool:
        """Tell whether a record is proven to be of this farm's own making: then its numbers are no matter."""

    def why_not(self, record: Record) -> RefusedRecord | None:
        """Say why a new record does not come in; asked in order of rank."""

    @property
    def sentences(self) -> tuple[str, ...]:
        """What else is to be told."""

    @property
    def statements(self) -> tuple[bytes, ...]:
        """What is taken in beside the records."""
