"""Amounts as a grower can measure them: what a syringe, a cylinder, a can and a scale show."""

from __future__ import annotations

import math
from dataclasses import dataclass

_ML_STEPS = ((5.0, 0.1), (20.0, 0.5), (100.0, 1.0), (500.0, 5.0), (math.inf, 10.0))
"""Up to so many mL, in steps of: syringe of 5 and 20 mL, cylinder of 100 and 500 mL, jug. Common practice."""
_L_STEPS = ((5.0, 0.1), (20.0, 0.5), (math.inf, 1.0))
SMALLEST_ML = 0.5
"""Less than this is not poured: the drop that stays in the syringe counts too much. [mL]"""


@dataclass(frozen=True, slots=True)
class Measured:
    """An amount that can be measured out, and in which vessel."""

    amount: float
    unit: str
    vessel: str

    def __str__(self) -> str:
        return f"{_plain(self.amount)} {self.unit}"


def millilitres_down(ml: float) -> Measured:
    """The largest amount a syringe, cylinder or jug can measure that is not above `ml`.

    Examples
    --------
    >>> str(millilitres_down(37.9)), str(millilitres_down(3.27)), str(millilitres_down(0.3))
    ('37 mL', '3.2 mL', '0 mL')
    """
    if not SMALLEST_ML <= ml < math.inf:
        return Measured(0.0, "mL", "")
    step = next(step for most, step in _ML_STEPS if ml <= most)
    return Measured(_down(ml, step), "mL", _vessel(ml))


def litres_near(litres: float) -> Measured:
    """The nearest amount a can with marks measures.

    Examples
    --------
    >>> str(litres_near(12.7))
    '12.5 L'
    """
    if not 0.0 < litres < math.inf:
        return Measured(0.0, "L", "")
    step = next(step for most, step in _L_STEPS if litres <= most)
    return Measured(round(round(litres / step) * step, 3), "L", "can")


def _down(value: float, step: float) -> float:
    return round(math.floor(value / step + 1e-9) * step, 3)


def _vessel(ml: float) -> str:
    if ml <= 20.0:
        return "syringe"
    return "measuring cylinder" if ml <= 500.0 else "measuring jug"


def _plain(amount: float) -> str:
    return f"{amount:.1f}".rstrip("0").rstrip(".") if amount % 1 else f"{amount:.0f}"
