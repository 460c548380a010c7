"""What is left on the shelf: the last count or delivery, less what was poured since."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, tzinfo

from rounds.book.day import zone_of
from rounds.book.entries import Count, Dose, entries_of, only
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
    entries = [each for each in entries_of(records) if each.item in farm.shelf]
    counts, zone = _last_counts(only(Count, entries)), zone_of(farm.place.timezone)
    left = {product.id: product.amount for product in farm.shelf.values()}
    left |= {count.item: count.number or 0.0 for count in counts.values()}
    for dose in only(Dose, entries):
        product, count = farm.shelf[dose.item], counts.get(dose.item)
        if _is_after(dose.measured_at, count.measured_at if count is not None else None, product, zone):
            left[dose.item] -= _in_unit(dose, product.unit)
    return {product_id: max(0.0, amount) for product_id, amount in left.items()}


def _last_counts(counts: Iterable[Count]) -> dict[str, Count]:
    """The last count of each product that says how much; of two at the same moment the one that stands later."""
    known = (count for count in counts if count.number is not None)
    return {count.item: count for count in sorted(known, key=lambda count: count.measured_at)}


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
