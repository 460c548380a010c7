"""What was said to settle matters that were still to sort, known without reading the record again: a fold over it."""

from __future__ import annotations

from datetime import date, datetime

import msgspec

from rounds.book.doings import Settled
from rounds.book.entry import RecordLike


class Said(msgspec.Struct):
    """The last that was said of a matter."""

    at: datetime
    closed: bool
    """Whether it is done with; else it was left for later."""
    until: date | None = None
    """The day on which it is back."""


class AllSettled(msgspec.Struct):
    """The last that was said of each matter, by its id."""

    said: dict[str, Said] = {}

    def closed_at(self, id: str) -> datetime | None:
        """When a matter was closed; None where it was not, or something else was said of it since."""
        said = self.said.get(id)
        return said.at if said is not None and said.closed else None

    def parked_until(self, id: str, today: date) -> date | None:
        """The day until which a matter is left; None where it is not, or that day has come."""
        said = self.said.get(id)
        waits = said is not None and not said.closed and said.until is not None and said.until > today
        return said.until if said is not None and waits else None


class Settling:
    """The fold that remembers it."""

    name, version = "settling", "1"
    kinds = frozenset({Settled.kind})

    def empty(self) -> AllSettled:
        """Nothing was settled yet."""
        return AllSettled()

    def step(self, state: AllSettled, record: RecordLike) -> AllSettled:
        """Take in what was said."""
        settled = Settled(record)
        if settled.item:
            state.said[settled.item] = Said(settled.measured_at, settled.is_closed, settled.until)
        return state
