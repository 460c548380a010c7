"""The notebook of the sample farm: drafts as they are written, with the last answers at hand."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

from rounds.checklist.model import Item
from rounds.farm.farm import Farm
from rounds.farm.stations import Reservoir
from rounds.history import Draft, Record, seeded_ids

DEVICE = "d-5a4d9103f127"


class Notebook:
    """Everything that was written down, in order."""

    def __init__(self, farm: Farm, seed: int) -> None:
        self.farm = farm
        self.drafts: list[Draft] = []
        self.latest: dict[tuple[str, str], Record] = {}
        self.person, self.round_id = "grower", ""
        self.clock = datetime(2000, 1, 1, tzinfo=UTC)
        self._ids = seeded_ids(seed)

    def later(self, minutes: float) -> None:
        """Let the clock run."""
        self.clock += timedelta(minutes=minutes)

    def reading(self, station: str, item: Item, value: float, typed: str, **more: Any) -> str:
        """Write a reading down; its id."""
        by_meter = item.share == "meter" or isinstance(self.farm.stations.get(station), Reservoir)
        meter = self.farm.meter_for(item.id) if by_meter else None
        return self.write(
            "reading", station, item.id, value=value, typed=typed, unit=item.unit or None,
            meter=meter.id if meter else None, **more,
        )  # fmt: skip

    def dose(self, station: str, product: str, amount: float, unit: str, action: str, step: int) -> None:
        """Write down what was added, if anything was."""
        if amount > 0:
            data = {"action": action, "correction": None, "advised": amount, "step": step}
            self.write("dose", station, product, value=amount, unit=unit, data=data)

    def write(self, kind: str, station: str, item_id: str, **fields: Any) -> str:
        """Write anything down; its id."""
        self.clock += timedelta(seconds=7)
        draft = Draft(
            kind=kind, measured_at=self.clock, station=station, item=item_id, person=self.person,
            round_id=self.round_id, **fields,
        )  # fmt: skip
        record_id = self._ids(entered(draft))
        self.drafts.append(draft)
        if kind in ("reading", "check", "skip"):
            self.latest[station, item_id] = self._record(record_id, draft)
        return record_id

    def last_value(self, station: str, item_id: str) -> float:
        """The last number written down for an item."""
        return float(self.latest[station, item_id].value or 0.0)

    def _record(self, record_id: str, draft: Draft) -> Record:
        number = len(self.drafts)
        return Record(
            id=record_id, format=1, device=DEVICE, seq=number, lamport=number, kind=draft.kind, station=draft.station,
            item=draft.item, measured_at=draft.measured_at, entered_at=entered(draft), value=draft.value,
            data=draft.data,
        )  # fmt: skip


def entered(draft: Draft) -> datetime:
    """When a draft was typed in: at once, or the day after where it puts something right."""
    return draft.measured_at + (timedelta(days=1) if draft.replaces else timedelta(seconds=20))
