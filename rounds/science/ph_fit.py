"""Composition from pH: what has to be dissolved for a solution to have the pH that was read."""

from __future__ import annotations

import dataclasses

from rounds.errors import OutOfRange
from rounds.science.equilibrium import Equilibrium, checked_ph
from rounds.science.solution import LARGEST_MMOL_L, Solution

_MMOL = 1000.0
_MOST_STEPS = 50
_BALANCED_MEQ_L = 1e-7


def with_ph(solution: Solution, ph: float, temperature_c: float) -> Solution:
    """The solution with as much carbonate as makes its pH the one read, alkalinity and ions as they are.

    Use it where CO2 is what is unknown: a reading of a reservoir or of a water whose alkalinity is known.

    Parameters
    ----------
    solution : Solution
        Totals; its carbonate is replaced. [mmol/L]
    ph : float
        pH read, 1-12.5. [-]
    temperature_c : float
        Temperature, 0-50. [degC]

    Raises
    ------
    OutOfRange
        Where no amount of CO2 explains the reading: without any, the pH would already be lower than read, or the
        alkalinity is nil. The sentence says which pH is the highest possible.

    Examples
    --------
    >>> round(with_ph(Solution(na=2.0), 7.5, 25.0).carbonate, 2)
    2.13
    """
    carbonate = carbonate_for(solution, checked_ph(ph), temperature_c)
    if carbonate is None:
        highest = Equilibrium(dataclasses.replace(solution, carbonate=0.0), temperature_c).balance()
        raise OutOfRange(
            f"pH {ph:g} does not fit this composition: without any CO2 it would be {highest:.2f}.",
            "Alkalinity, phosphate or ammonium are not what was assumed; or the meter is off.",
        )
    return dataclasses.replace(solution, carbonate=carbonate)


def with_ph_by_charge(solution: Solution, ph: float, temperature_c: float) -> Solution:
    """The solution with as much inert charge as makes its pH the one read, carbonate and ions as they are.

    Use it where alkalinity is what is unknown: the inert charge takes up what no one measured.

    Examples
    --------
    >>> round(with_ph_by_charge(Solution(carbonate=2.0), 6.35, 25.0).inert_meq_l, 1)
    1.0
    """
    bare = dataclasses.replace(solution, inert_meq_l=0.0)
    equilibrium = Equilibrium(bare, temperature_c)
    inert = 0.0
    for _ in range(_MOST_STEPS):
        equilibrium.settle(checked_ph(ph))
        change = -equilibrium.charge_m * _MMOL
        inert += change
        if abs(change) < _BALANCED_MEQ_L:
            break
        equilibrium.load(dataclasses.replace(bare, inert_meq_l=inert))
    return dataclasses.replace(bare, inert_meq_l=inert)


def carbonate_for(solution: Solution, ph: float, temperature_c: float) -> float | None:
    """Carbonate that balances the charges at a pH; None where a negative amount would be needed."""
    bare = dataclasses.replace(solution, carbonate=0.0)
    equilibrium = Equilibrium(bare, temperature_c)
    equilibrium.settle(ph)
    excess = equilibrium.charge_m * _MMOL
    if excess < 0.0:
        return None
    before, carbonate = (0.0, excess), excess
    for _ in range(_MOST_STEPS):
        if not carbonate <= LARGEST_MMOL_L:
            return None
        equilibrium.load(dataclasses.replace(bare, carbonate=carbonate))
        equilibrium.settle(ph)
        now = equilibrium.charge_m * _MMOL
        if abs(now) < _BALANCED_MEQ_L or now == before[1]:
            return carbonate
        carbonate, before = _secant(before, (carbonate, now)), (carbonate, now)
    return carbonate


def _secant(one: tuple[float, float], other: tuple[float, float]) -> float:
    return max(0.0, other[0] - other[1] * (other[0] - one[0]) / (other[1] - one[1]))
