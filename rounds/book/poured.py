"""What kind of thing was poured: by the shelf, or by what its record says where the product is no longer there."""

from __future__ import annotations

from typing import Literal

from rounds.book.entries import Dose
from rounds.farm.farm import Farm
from rounds.farm.shelf import Acid, Base


def kind_poured(farm: Farm, dose: Dose) -> Literal["acid", "base"] | None:
    """Whether a dose was acid or base; None where it was neither.

    A bottle that was finished and taken off the shelf has poured what it has poured.
    """
    product = farm.shelf.get(dose.item)
    if product is not None:
        return "acid" if isinstance(product, Acid) else "base" if isinstance(product, Base) else None
    return "acid" if dose.action == "acid" else "base" if dose.action == "base" else None
