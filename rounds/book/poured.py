"""What kind of thing was poured: by the shelf, or by what its record says where the product is no longer there."""

from __future__ import annotations

from typing import Literal

from rounds.book.level import litres_of_dose
from rounds.book.offer import RecordLike
from rounds.farm.farm import Farm
from rounds.farm.shelf import Acid, Base


def kind_poured(farm: Farm, record: RecordLike) -> Literal["acid", "base"] | None:
    """Whether a dose was acid or base; None where it was neither.

    A bottle that was finished and taken off the shelf has poured what it has poured.
    """
    product = farm.shelf.get(record.item)
    if product is not None:
        return "acid" if isinstance(product, Acid) else "base" if isinstance(product, Base) else None
    action = record.data.get("action")
    return action if action in ("acid", "base") else None


def millilitres(record: RecordLike) -> float:
    """The amount of a dose. [mL]"""
    return litres_of_dose(record) * 1000.0
