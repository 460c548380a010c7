"""The last answer to an item, whether it was given by itself or an "all well" covered it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime

from rounds.book.entries import Check, Reading, Skip, entry_of
from rounds.history.record import Record

Latest = Mapping[tuple[str, str], Record]
"""The last record by (station id, item id). One for `all-well` answers every item that its data covers."""


def last_answer(latest: Latest, places: Iterable[str], item_id: str, now: datetime) -> Record | None:
    """The newest answer, or skip, at any of some stations; one from after `now` counts for nothing."""
    found = [record for place in places for record in _answers(latest, place, item_id, now)]
    return max(found, key=lambda record: (record.measured_at, record.rank), default=None)


def _answers(latest: Latest, place: str, item_id: str, now: datetime) -> Iterator[Record]:
    own, well = (latest.get((place, key)) for key in (item_id, "all-well"))
    if own is not None and isinstance(entry_of(own), Reading | Check | Skip) and own.measured_at <= now:
        yield own
    if well is not None and well.measured_at <= now and item_id in Check(well).covers:
        yield well
