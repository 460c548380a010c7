"""Amounts as a grower can measure them: what a syringe, a cylinder, a can and a scale show."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from rounds.book.amounts import SMALLEST_ML
from rounds.farm.model import VESSELS_ML

_ML_STEPS = ((5.0, 0.1), (20.0, 0.5), (100.0, 1.0), (500.0, 5.0), (math.inf, 10.0))
"""Up to so many mL, in steps of: syringe of 5 and 20 mL, cylinder of 100 and 500 mL, jug. Common practice."""
THINNED = 100.0
"""So many times a bottle is thinned whose dose is too small to be measured: 10 mL of it in a litre. [-]"""
_L_STEPS = ((5.0, 0.1), (20.0, 0.5), (math.inf, 1.0))
_FINEST, _MOST_FILLS = 10.0, 6
"""A vessel more than ten times as large as the amount is no measure, nor is one to be filled more than six times."""


@dataclass(frozen=True, slots=True)
class Measured:
    """An amount that can be measured out."""

    amount: float
    unit: str

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
        return Measured(0.0, "mL")
    step = next(step for most, step in _ML_STEPS if ml <= most)
    return Measured(_down(ml, step), "mL")


def thinned_down(ml: float) -> Measured:
    """What of a bottle thinned a hundred times can be measured out, where `ml` of the bottle itself is too little.

    Examples
    --------
    >>> str(thinned_down(0.38)), str(thinned_down(0.004))
    ('38 mL', '0 mL')
    """
    return millilitres_down(THINNED * ml)


@dataclass(frozen=True, slots=True)
class MeasuringVessel:
    """What an amount is measured with: the smallest vessel that holds it, or several fills of the largest."""

    size_ml: float
    fills: int
    """How often it is filled, the last time perhaps not to the brim."""
    last_ml: float
    """What the last fill shows."""
    at_hand: bool = True
    """False where none of the grower's own is fit for the amount, and a usual size is named instead."""

    def __str__(self) -> str:
        word = "syringe" if self.size_ml <= 20.0 else "cylinder" if self.size_ml <= 500.0 else "jug"
        name = f"{_plain(self.size_ml)} mL {word}" + ("" if self.at_hand else ", none of yours fits")
        if self.fills == 1:
            return f"{name}, to its {_plain(self.last_ml)} mL mark"
        return f"{name}: {self.fills - 1} x full, then to {_plain(self.last_ml)} mL"


def vessel_for(ml: float, sizes_ml: Sequence[float]) -> MeasuringVessel:
    """The vessel that belongs to an amount: one that cannot take ten times as much says so before it is poured.

    Parameters
    ----------
    ml : float
        Above 0. [mL]
    sizes_ml : sequence of float
        What the grower has. [mL]

    Examples
    --------
    >>> str(vessel_for(37.0, (5, 20, 50, 100))), str(vessel_for(240.0, (20, 100)))
    ('50 mL cylinder, to its 37 mL mark', '100 mL cylinder: 2 x full, then to 40 mL')
    >>> str(vessel_for(9.0, (1000,)))
    '10 mL syringe, none of yours fits, to its 9 mL mark'
    """
    holding = min((size for size in sizes_ml if size >= ml), default=math.inf)
    fills = math.ceil(ml / max(sizes_ml) - 1e-9)
    if _FINEST * ml < holding < math.inf or (holding == math.inf and fills > _MOST_FILLS):
        return _filled(ml, VESSELS_ML, at_hand=False)
    return _filled(ml, sizes_ml, at_hand=True)


def _filled(ml: float, sizes_ml: Sequence[float], *, at_hand: bool) -> MeasuringVessel:
    size = min((size for size in sizes_ml if size >= ml), default=max(sizes_ml))
    fills = math.ceil(ml / size - 1e-9)
    return MeasuringVessel(size, fills, round(ml - (fills - 1) * size, 3), at_hand)


def litres_near(litres: float) -> Measured:
    """The nearest amount a can with marks measures.

    Examples
    --------
    >>> str(litres_near(12.7))
    '12.5 L'
    """
    if not 0.0 < litres < math.inf:
        return Measured(0.0, "L")
    step = next(step for most, step in _L_STEPS if litres <= most)
    return Measured(round(round(litres / step) * step, 3), "L")


def _down(value: float, step: float) -> float:
    return round(math.floor(value / step + 1e-9) * step, 3)


def _plain(amount: float) -> str:
    decimals = 1 if amount >= SMALLEST_ML else 4
    return f"{amount:.{decimals}f}".rstrip("0").rstrip(".") if amount % 1 else f"{amount:.0f}"
