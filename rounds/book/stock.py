"""What is left on the shelf: the last count or delivery, less what was poured since."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, tzinfo

from rounds.book.day import zone_of
from rounds.book.entries import Count, Dose, entries_of
from rounds.book.entry import Entry, RecordLike
from rounds.farm.farm import Farm
from rounds.farm.shelf import ProductBase

_PER_ML = {"L": 0.001, "mL": 1.0}
_PER_G = {"kg": 0.001, "g": 1.0}


def stock_now(farm: Farm, records: Iterable[RecordLike | Entry]) -> dict[str, float]:
    """Amount of every product now, each in its own unit of the shelf; never below 0.

    Parameters
    ----------
    farm : Farm
        Its shelf gives the amounts at `counted_on`.
    records : iterable of record
        Effective records of all stations, in any order.
    """
    counts: dict[str, tuple[datetime | None, float]] = {p.id: (None, p.amount) for p in farm.shelf.values()}
    doses: list[Dose] = []
    for entry in entries_of(records):
        amount = entry.number
        if amount is None or entry.item not in counts:
            continue
        if isinstance(entry, Count):
            since = counts[entry.item][0]
            if since is None or since <= entry.measured_at:
                counts[entry.item] = entry.measured_at, amount
        elif isinstance(entry, Dose):
            doses.append(entry)
    zone = zone_of(farm.place.timezone)
    left = {product_id: amount for product_id, (_, amount) in counts.items()}
    for dose in doses:
        if _is_after(dose.measured_at, counts[dose.item][0], farm.shelf[dose.item], zone):
            left[dose.item] -= _in_unit(dose, farm.shelf[dose.item].unit)
    return {product_id: max(0.0, amount) for product_id, amount in left.items()}


def millilitres_left(farm: Farm, stock: dict[str, float], product_id: str) -> float:
    """How much of a liquid is left. [mL]"""
    per_ml = _PER_ML.get(farm.shelf[product_id].unit)
    return stock.get(product_id, 0.0) / per_ml if per_ml else 0.0


def _is_after(moment: datetime, counted: datetime | None, product: ProductBase, zone: tzinfo) -> bool:
    if counted is not None:
        return moment > counted
    return moment.astimezone(zone).date() > product.counted_on


def _in_unit(dose: Dose, wanted: str) -> float:
    value, unit = dose.number or 0.0, dose.unit or dose.usual_unit
    for table in (_PER_ML, _PER_G):
        if unit in table and wanted in table:
            return value / table[unit] * table[wanted]
    return value if unit == wanted else 0.0
