"""What plants do by day and by night: they eat, they drink, and they move the alkalinity."""

from __future__ import annotations

import math
from dataclasses import dataclass

from tests.advice.judged.second.chemistry import ELEMENTS, Totals

DAWN_H, DUSK_H = 6.0, 20.0
BY_DAY = 0.8
"""Share of a day's eating and drinking between dawn and dusk. [-]"""
_APPETITE = {"K": 1.3, "Ca": 0.8, "Mg": 0.7, "P": 1.5, "S(6)": 0.7, "Amm": 4.0}
"""How much quicker than the feed as a whole each is eaten; nitrate makes up the charges. [-]"""
_LEFT = 0.02


@dataclass(frozen=True)
class Plants:
    """A reservoir's plants, by litre of what circulates."""

    alkalinity_meq_l_day: float
    """Above 0 where they give off more than they take. [meq/L/d]"""
    eaten_per_day: float
    """Share of the feed. [1/d]"""
    drunk_per_day: float
    """Share of the water. [1/d]"""

    def eat(self, totals: Totals, days: float) -> dict[str, float]:
        """What is left of a litre after so many days of eating. [mmol/L]

        Alkalinity is the charge of what is no acid: K + 2 Ca + 2 Mg + NH4 + Na - NO3 - Cl - 2 SO4 - H2PO4. What the
        rest leaves of it is moved by nitrate.
        """
        left = {e: totals[e] * math.exp(-self.eaten_per_day * times * days) for e, times in _APPETITE.items()}
        eaten = {e: totals[e] - left[e] for e in _APPETITE}
        charge = eaten["K"] + 2.0 * eaten["Ca"] + 2.0 * eaten["Mg"] + eaten["Amm"] - 2.0 * eaten["S(6)"] - eaten["P"]
        nitrate = charge + self.alkalinity_meq_l_day * days
        after = {**{e: totals[e] for e in ELEMENTS}, **left}
        after["Nit"] = max(totals["Nit"] - nitrate, _LEFT * totals["Nit"])
        return after


def days_lived(hour: float, hours: float) -> float:
    """How many of a usual day's meals fall between an hour of the day and so many hours later. [d]

    Examples
    --------
    >>> round(days_lived(6.0, 14.0), 3), round(days_lived(20.0, 10.0), 3), round(days_lived(3.0, 24.0), 3)
    (0.8, 0.2, 1.0)
    """
    step, lived = 0.25, 0.0
    done = 0.0
    while done < hours - 1e-9:
        part = min(step, hours - done)
        by_day = DAWN_H <= (hour + done + part / 2.0) % 24.0 < DUSK_H
        rate = BY_DAY / (DUSK_H - DAWN_H) if by_day else (1.0 - BY_DAY) / (24.0 - DUSK_H + DAWN_H)
        lived += rate * part
        done += part
    return lived
