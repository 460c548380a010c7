"""What is left on the shelf: the last count or delivery, less what was poured since."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime, timedelta, tzinfo
from functools import cached_property
from hashlib import blake2b

from rounds.book.day import zone_of
from rounds.book.entries import Count, Doing, Dose, entries_of, entry_of
from rounds.book.entry import Entry, RecordLike
from rounds.farm.farm import Farm
from rounds.farm.shelf import ProductBase

_PER_ML = {"L": 0.001, "mL": 1.0}
_PER_G = {"kg": 0.001, "g": 1.0}
BOUGHT = "bought"
"""The verb by which more of a product is there: as if so much less of it had been poured."""
LATELY = timedelta(days=60)
"""So long back it can be told what was left."""


@dataclass(slots=True)
class StockState:
    """What was counted and poured, as far as what is left hangs on it."""

    counted: dict[str, tuple[datetime, float]] = field(default_factory=dict)
    """The last count of each product. [its own unit]"""
    poured: dict[str, dict[str, float]] = field(default_factory=dict)
    """What was poured of each product since, by unit."""
    lately: list[tuple[datetime, str, str, float, str]] = field(default_factory=list)
    """When, kind, product, amount and unit of what is too young to be in the two above."""


class Stock:
    """The fold that says what is left of each product of a farm's shelf."""

    name = "stock"
    kinds = frozenset({Count.kind, Dose.kind, Doing.kind})

    def __init__(self, farm: Farm) -> None:
        self._shelf, self._zone = farm.shelf, zone_of(farm.place.timezone)

    @cached_property
    def version(self) -> str:
        """Changes with the products and the days on which the farm's files say they were counted."""
        counted = sorted((product.id, product.counted_on.isoformat()) for product in self._shelf.values())
        return f"2 {blake2b(repr(counted).encode(), digest_size=8).hexdigest()}"

    def empty(self) -> StockState:
        """Nothing was counted or poured yet."""
        return StockState()

    def step(self, state: StockState, record: RecordLike) -> StockState:
        """Take in a count, a delivery, a dose, or what was bought."""
        return self.enter(state, entry_of(record))

    def enter(self, state: StockState, entry: Entry) -> StockState:
        """The same for an entry."""
        amount, item = entry.number, entry.product if isinstance(entry, Doing) else entry.item
        if amount is None or item not in self._shelf or not _moves_stock(entry):
            return state
        kind, unit = "stock" if isinstance(entry, Count) else "dose", ""
        if isinstance(entry, Dose):
            unit = entry.unit or entry.usual_unit
        elif isinstance(entry, Doing):
            unit, amount = entry.unit or self._shelf[item].unit, -amount
        state.lately.append((entry.measured_at, kind, item, amount, unit))
        while state.lately[0][0] < entry.measured_at - LATELY:
            self._settle(state, *state.lately.pop(0))
        return state

    def left(self, state: StockState, before: datetime | None = None) -> dict[str, float]:
        """Amount of every product, each in its own unit of the shelf; never below 0.

        Parameters
        ----------
        before : datetime, optional
            A moment up to which records count; not longer than `LATELY` before the last of them.
        """
        now = StockState(dict(state.counted), {item: dict(units) for item, units in state.poured.items()})
        for each in state.lately:
            if before is None or each[0] < before:
                self._settle(now, *each)
        return {id: _left(product, now) for id, product in self._shelf.items()}

    def _settle(self, state: StockState, at: datetime, kind: str, item: str, amount: float, unit: str) -> None:
        count, product = state.counted.get(item), self._shelf[item]
        if kind == "stock":
            if at.astimezone(self._zone).date() >= product.counted_on:
                state.counted[item] = at, amount
                state.poured[item] = {}
        elif at > count[0] if count is not None else _is_after(at, product, self._zone):
            poured = state.poured.setdefault(item, {})
            poured[unit] = poured.get(unit, 0.0) + amount


def stock_now(farm: Farm, records: Iterable[RecordLike | Entry]) -> dict[str, float]:
    """Amount of every product now, each in its own unit of the shelf; never below 0.

    Parameters
    ----------
    farm : Farm
        Its shelf gives the amounts at `counted_on`.
    records : iterable of record
        Effective records of all stations, in any order.
    """
    stock = Stock(farm)
    state = stock.empty()
    moved = [entry for entry in entries_of(records) if _moves_stock(entry)]
    for entry in sorted(moved, key=lambda entry: entry.measured_at):
        state = stock.enter(state, entry)
    return stock.left(state)


def _moves_stock(entry: Entry) -> bool:
    return isinstance(entry, Count | Dose) or (isinstance(entry, Doing) and entry.verb == BOUGHT)


def millilitres_left(farm: Farm, stock: dict[str, float], product_id: str) -> float:
    """How much of a liquid is left. [mL]"""
    per_ml = _PER_ML.get(farm.shelf[product_id].unit)
    return stock.get(product_id, 0.0) / per_ml if per_ml else 0.0


def _left(product: ProductBase, state: StockState) -> float:
    count = state.counted.get(product.id)
    amount = product.amount if count is None else count[1]
    poured = state.poured.get(product.id, {})
    return max(0.0, amount - sum(_in_unit(value, unit, product.unit) for unit, value in poured.items()))


def _is_after(moment: datetime, product: ProductBase, zone: tzinfo) -> bool:
    return moment.astimezone(zone).date() > product.counted_on


def _in_unit(value: float, unit: str, wanted: str) -> float:
    for table in (_PER_ML, _PER_G):
        if unit in table and wanted in table:
            return value / table[unit] * table[wanted]
    return value if unit == wanted else 0.0
