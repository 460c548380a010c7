"""The belief at a first reading, from the book alone: how worn the feed is, how much CO2 a fresh fill still holds."""

from __future__ import annotations

import math
from datetime import timedelta

from rounds.belief import state as b
from rounds.belief.curve import Curve
from rounds.belief.gaussian import Gaussian
from rounds.book.ledger import Ledger, LedgerEvent, newest

FRESH_PHOSPHATE_SD = 0.12
WORN_MEAN, WORN_SD = -0.62, 0.45
"""Logarithm of worn against fresh phosphate: between a fifth and all of the recipe. Practice."""
_CLOSED_IN = timedelta(hours=18)
_FILL_DOUBT, _FILL_PH_SD, _FILL_LEAST_SD = 0.4, 0.12, 0.15
"""Spread of the logarithm of a fresh fill's alkalinity, of its pH by the book, and the least spread of its CO2."""
_SLOWED_BY_BICARBONATE = 1.5


def first_belief(
    ledger: Ledger, curve: Curve, habits: Gaussian, ph: float, ph_sd: float, event: LedgerEvent
) -> Gaussian:
    """The belief at a first reading, from the book alone."""
    worn = ledger.worn(event.at)
    pressure, pressure_sd = _pressure_of_fill(ledger, curve, habits, ph, event)
    return b.begun(
        ph=ph,
        ph_sd=ph_sd,
        phosphate=max(event.solution.po4, 0.01) * math.exp(WORN_MEAN * worn),
        phosphate_sd=FRESH_PHOSPHATE_SD + (WORN_SD - FRESH_PHOSPHATE_SD) * worn,
        pressure_atm=pressure,
        pressure_sd=pressure_sd,
        habits=habits,
    )


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
    weights, logs = [], []
    for pace_sds in (-1.2, 0.0, 1.2):
        pace = math.exp(habits.mean[1] + pace_sds * habits.sd(1))
        for tenth in range(-10, 11):
            log_pressure, expected = _fill_now(
                filled, event, curve, math.exp(habits.mean[0]), pace * hours, tenth / 10.0
            )
            off = (ph - expected) / _FILL_PH_SD
            weights.append(math.exp(-0.5 * ((tenth / 10.0 / _FILL_DOUBT) ** 2 + off * off + pace_sds**2)) + 1e-12)
            logs.append(log_pressure)
    whole = math.fsum(weights)
    mean = math.fsum(w * v for w, v in zip(weights, logs, strict=True)) / whole
    variance = math.fsum(w * (v - mean) ** 2 for w, v in zip(weights, logs, strict=True)) / whole
    return max(math.exp(mean), 2e-4), math.sqrt(variance + _FILL_LEAST_SD**2)


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
