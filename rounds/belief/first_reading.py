"""The belief at a first reading, from the book alone: how worn the feed is, how much CO2 a fresh fill still holds."""

from __future__ import annotations

import math
from datetime import timedelta
from itertools import product

from rounds.belief import state as b
from rounds.belief.curve import Curve
from rounds.belief.gaussian import Gaussian
from rounds.book.entries import AIRED, SPLASHED, STILL
from rounds.book.ledger import Ledger, LedgerEvent, newest
from rounds.science.solution import Solution

FRESH_PHOSPHATE_SD = 0.12
WORN_MEAN, WORN_SD = -0.62, 0.45
"""Logarithm of worn against fresh phosphate: between a fifth and all of the recipe. Practice."""
_CLOSED_IN = timedelta(hours=18)
_FILL_DOUBT, _FILL_PH_SD, _FILL_LEAST_SD = 0.4, 0.12, 0.15
"""Spread of the logarithm of a fresh fill's alkalinity, of its pH by the book, and the least spread of its CO2."""
_WATER_PH_SD = 0.03
"""Of a water as it comes. [-]"""
_SLOWED_BY_BICARBONATE = 1.5
_LEFT_BY_FILLING = {STILL: (1.0,), SPLASHED: (0.8, 0.5), AIRED: (0.5, 0.2)}
_NOBODY_SAID = (1.0, 0.5)
"""Share of the CO2 that a fill still holds when it is full: through a hose under water all of it, splashing in half,
with an air stone a fifth to a half. Practice. [-]"""


def first_belief(
    ledger: Ledger, curve: Curve, habits: Gaussian, ph: float, ph_sd: float, event: LedgerEvent
) -> Gaussian:
    """The belief at a first reading, from the book alone."""
    worn, fresh_sd = ledger.worn(event.at), math.hypot(FRESH_PHOSPHATE_SD, ledger.phosphate_sd)
    pressure, pressure_sd = _pressure_of_fill(ledger, curve, habits, ph, event)
    return b.begun(
        ph=ph,
        ph_sd=ph_sd,
        phosphate=max(event.solution.po4, 0.01) * math.exp(WORN_MEAN * worn),
        phosphate_sd=fresh_sd + (math.hypot(WORN_SD, ledger.phosphate_sd) - fresh_sd) * worn,
        pressure_atm=pressure,
        pressure_sd=pressure_sd,
        habits=habits,
    )


def water_belief(water: Solution, doubt: float, curve: Curve, habits: Gaussian) -> Gaussian:
    """The belief of a water as it comes, its CO2 in it: what is in doubt is its alkalinity, and so its CO2.

    Parameters
    ----------
    doubt : float
        Spread of the logarithm of its alkalinity and carbonate. [-]
    """
    carbonate = max(water.carbonate, 1e-3)
    ph = curve.ph_closed(water.alkalinity_meq_l, max(water.po4, 1e-3), carbonate, 7.5)
    return b.begun(
        ph=ph, ph_sd=_WATER_PH_SD, phosphate=max(water.po4, 2e-3), phosphate_sd=0.3,
        pressure_atm=carbonate / curve.parts(ph)[3], pressure_sd=doubt, habits=habits,
    )  # fmt: skip


def _pressure_of_fill(
    ledger: Ledger, curve: Curve, habits: Gaussian, ph: float, event: LedgerEvent
) -> tuple[float | None, float]:
    """CO2 of a fill that has not come to rest yet, and the spread of its logarithm; None where it has.

    The acid of the book is known, the alkalinity of the water is not: the alkalinities and speeds of leaving that
    explain the pH read are weighed against each other.
    """
    filled = newest([e for e in ledger.events if e.at <= event.at], "renewed")
    if ledger.since is None or filled is None or event.at - ledger.since > _CLOSED_IN:
        return None, 0.15
    hours = max(0.0, (event.at - ledger.since).total_seconds() / 3600.0)
    weights: list[float] = []
    logs: list[float] = []
    for left, pace_sds in product(_left(ledger), (-1.2, 0.0, 1.2)):
        pace = math.exp(habits.mean[1] + pace_sds * habits.sd(1))
        for tenth in range(-10, 11):
            gone = pace * hours - _SLOWED_BY_BICARBONATE * math.log(left)
            log_pressure, expected = _fill_now(filled, event, curve, math.exp(habits.mean[0]), gone, tenth / 10.0)
            off = (ph - expected) / _FILL_PH_SD
            weights.append(math.exp(-0.5 * ((tenth / 10.0 / _FILL_DOUBT) ** 2 + off * off + pace_sds**2)) + 1e-12)
            logs.append(log_pressure)
    mean, variance = _mean_and_variance(weights, logs)
    return max(math.exp(mean), 2e-4), math.sqrt(variance + _FILL_LEAST_SD**2)


def _left(ledger: Ledger) -> tuple[float, ...]:
    """Shares of its CO2 that the fill may still have held when it was full. [-]"""
    return _LEFT_BY_FILLING.get(ledger.filled_how, _NOBODY_SAID)


def _mean_and_variance(weights: list[float], values: list[float]) -> tuple[float, float]:
    whole = math.fsum(weights)
    mean = math.fsum(w * v for w, v in zip(weights, values, strict=True)) / whole
    return mean, math.fsum(w * (v - mean) ** 2 for w, v in zip(weights, values, strict=True)) / whole


def _fill_now(
    filled: LedgerEvent, event: LedgerEvent, curve: Curve, resting: float, gone: float, log_times: float
) -> tuple[float, float]:
    """CO2 (ln atm) and pH of a fill by now, were the alkalinity of its water so many times what was told."""
    water, book = filled.solution, event.solution
    more = math.exp(log_times) - 1.0
    alkalinity = book.alkalinity_meq_l + more * water.alkalinity_meq_l
    carbonate = max(book.carbonate + more * water.carbonate, 1e-3)
    phosphate = max(book.po4, 1e-3)
    at_first = curve.ph_closed(alkalinity, phosphate, carbonate)
    pressure = resting + (carbonate / curve.parts(at_first)[3] - resting) * math.exp(-gone / _SLOWED_BY_BICARBONATE)
    return math.log(max(pressure, 1e-5)), curve.ph_held(alkalinity, phosphate, max(pressure, 1e-5), at_first)
