"""What stands in a table from elsewhere, judged as if it had been typed: limits, vessel, jumps, dates, names."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from rounds.book.entries import Reading
from rounds.book.gate import entry_of_draft
from rounds.checklist.answers import band_of
from rounds.checklist.check_words import read_check
from rounds.checklist.judgement import judge_reading
from rounds.checklist.load import ALIVE
from rounds.checklist.model import Item
from rounds.checklist.typed_number import number_for
from rounds.errors import BadInput
from rounds.farm.station_base import StationBase
from rounds.farm.vessel import Vessel
from rounds.farm.volumes import dip_to_litres
from rounds.history.paper_log import Column
from rounds.history.record import Draft, Value
from rounds.units import Gallon, parse_number, show
from rounds.walk.error_texts import in_words
from rounds.walk.session import Session

AHEAD = timedelta(minutes=1)
"""So far may a clock have been ahead. [s]"""
ANSWERS = ("reading", "check")


class AsIfTyped:
    """Refuses and doubts what a table says, as the walk does what is typed."""

    def __init__(self, session: Session) -> None:
        self.session = session

    def check_columns(self, columns: Sequence[Column]) -> None:
        """Refuse columns of what the farm does not have.

        Raises
        ------
        NotFound
            With the station or item, and those there are.
        BadInput
            With a unit that is none, or not of that kind.
        """
        for column in columns:
            self._know(column.kind, column.station, column.item)
            item = self._item(column.kind, column.station, column.item)
            if column.is_reading and item is not None and column.unit:
                number_for(item, f"1 {column.unit}", gallon=self._gallon, refuse_impossible=False)

    def value_of(self, column: Column, typed: str) -> tuple[Value, str | None]:
        """The value of a cell in the item's usual unit."""
        item = self._item(column.kind, column.station, column.item)
        if item is None:
            return (typed if column.is_text else parse_number(typed)), column.unit
        if column.is_reading:
            quantity = f"{typed} {column.unit}" if column.unit else typed
            return number_for(item, quantity, gallon=self._gallon, refuse_impossible=True), item.unit or None
        return (typed if item.type == "note" else read_check(typed, item)), item.unit or None

    def refuse(self, draft: Draft) -> None:
        """Refuse what cannot be: of the future, beyond limits or the vessel, of nothing there is, not theirs to write.

        Raises
        ------
        RoundsError
            Which says why.
        """
        if draft.measured_at > self.session.now() + AHEAD:
            raise in_words(BadInput, "not-yet", at=f"{draft.measured_at:%Y-%m-%d %H:%M}")
        self._know(draft.kind, draft.station, draft.item)
        station = self.session.farm.stations.get(draft.station)
        entry = entry_of_draft(draft)
        if isinstance(entry, Reading) and entry.item == "dip" and isinstance(station, Vessel):
            dip_to_litres(station, entry.number if entry.number is not None else -1.0)
        self.session.gate.ask(draft, by=self.session.person)

    def doubts(self, drafts: Sequence[Draft]) -> list[str]:
        """Why each reading is hard to believe after the one before it at its place; empty where it is not."""
        found = [""] * len(drafts)
        places: dict[tuple[str, str], list[int]] = {}
        for number, draft in enumerate(drafts):
            entry = entry_of_draft(draft)
            if isinstance(entry, Reading) and entry.number is not None:
                places.setdefault((draft.station, draft.item), []).append(number)
        for (station_id, item_id), numbers in places.items():
            item = self._item("reading", station_id, item_id)
            station = self.session.farm.stations.get(station_id)
            if item is not None:
                ordered = sorted(numbers, key=lambda number: drafts[number].measured_at)
                self._doubt(item, station, [(number, drafts[number]) for number in ordered], found)
        return found

    def _doubt(
        self, item: Item, station: StationBase | None, drafts: Sequence[tuple[int, Draft]], found: list[str]
    ) -> None:
        """Follow the readings of one place in time, those on record among them; what is doubted is followed by none."""
        band = band_of(item, self.session.farm, station) if station is not None else None
        known = self._on_record(item, drafts[0][1].station)
        before: float | None = None
        for number, draft in drafts:
            while known and known[0][0] <= draft.measured_at:
                before = known.pop(0)[1]
            value = float(draft.value or 0.0)
            after = known[0][1] if before is None and known else None
            judgement = judge_reading(value, item, band, before if after is None else after)
            if judgement.verdict == "doubtful":
                text = judgement.text if after is None else f"hard to believe before {show(after, item.unit)}"
                found[number] = f"{item.label} {draft.typed or value} is {text}"
            else:
                before = value

    def _on_record(self, item: Item, station_id: str) -> list[tuple[datetime, float]]:
        numbers = self.session.history.numbers(station=station_id, item=item.id, until=self.session.now() + AHEAD)
        low, high = item.limits or (float("-inf"), float("inf"))
        return [(each.measured_at, each.value) for each in numbers if low <= each.value <= high]

    def _know(self, kind: str, station_id: str, item_id: str) -> None:
        if station_id:
            self.session.farm.station(station_id)
        if kind in ANSWERS and item_id != "all-well" and self._item(kind, station_id, item_id) is None:
            if station_id:
                self.session.item(self.session.farm.station(station_id), item_id)
            raise in_words(BadInput, "no-item-of-the-farm", item=item_id[:40])

    def _item(self, kind: str, station_id: str, item_id: str) -> Item | None:
        if kind not in ANSWERS:
            return None
        station = self.session.farm.stations.get(station_id)
        return self.session.checklists.item(station.kind if station is not None else ALIVE, item_id)

    @property
    def _gallon(self) -> Gallon | None:
        return self.session.farm.place.gallon
