"""Whether a mistake in the farm's files touches what a dose is worked out from: then there is none."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime

from rounds.book.entries import Dose, only
from rounds.book.entry import Entry
from rounds.book.ledger import LONGEST_MEMORY
from rounds.farm.farm import Farm, FaultyFiles, Mistake
from rounds.farm.stations import Reservoir


def check_files(farm: Farm, reservoir: Reservoir, entries: Sequence[Entry], now: datetime) -> None:
    """Refuse where limits, feed or waters of a reservoir are mistaken: what loading puts instead is not the farm's.

    Raises
    ------
    FaultyFiles
        With the mistake, word for word.
    """
    recent = [e for e in only(Dose, entries, reservoir.id) if now - LONGEST_MEMORY <= e.measured_at <= now]
    mistake = next(_in_the_way(farm, reservoir, recent), None)
    if mistake is not None:
        raise FaultyFiles(
            f"{mistake} Until that is put right there is no dose here.",
            f"Put it right in {mistake.file} (`rounds check` names every mistake), then correct again.",
        )


def _in_the_way(farm: Farm, reservoir: Reservoir, doses: Sequence[Dose]) -> Iterator[Mistake]:
    if any(lost.touches(reservoir.id) for lost in farm.lost):
        yield from (m for m in farm.mistakes if m.key == "stations")
    touched = (
        "format",
        "limits",
        f"feeds.{reservoir.feed}",
        *(f"waters.{water}" for water in _waters(farm, reservoir)),
    )
    yield from (m for m in farm.mistakes if m.unreadable or any(_is_within(m.key, table) for table in touched))
    if _poured_unknown(farm, doses):
        yield from (m for m in farm.mistakes if m.key == "products" or m.key.startswith(("products[", "waters[")))


def _is_within(key: str, table: str) -> bool:
    return key == table or key.startswith(f"{table}.")


def _waters(farm: Farm, reservoir: Reservoir) -> set[str]:
    """The waters at hand and those that they are mixed of."""
    blends = [farm.waters[water].blend for water in reservoir.waters if water in farm.waters]
    return {*reservoir.waters, *(part for blend in blends for part in blend)}


def _poured_unknown(farm: Farm, doses: Sequence[Dose]) -> bool:
    """Whether something was poured here that was left out of the shelf: it would not count against the limits."""
    return any(dose.item not in farm.shelf and dose.item not in farm.waters for dose in doses)
