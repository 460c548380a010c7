"""Numbers and units as the record has them."""

from __future__ import annotations

import math

SMALLEST_ML = 0.5
"""Less than this is not poured: the drop that stays in the syringe counts too much. [mL]"""
ML_PER_UNIT = {"mL": 1.0, "L": 1000.0}


def litres_per(unit: str) -> float:
    """Litres in one of a unit of volume; 0 for what is none. [L]"""
    return ML_PER_UNIT.get(unit, 0.0) / 1000.0


def number(value: object) -> float | None:
    """The value as a finite number, or None."""
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        return None
    return float(value)
