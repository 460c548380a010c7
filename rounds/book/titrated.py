"""How far an alkalinity is known that was titrated."""

from __future__ import annotations

from datetime import date

from rounds.book.measurements import TITRATION
from rounds.farm.farm import Farm

LEAST_DOUBT, MOST_DOUBT = 0.04, 0.5
"""Spread of the logarithm of an alkalinity that was titrated: never less, never more. A water is not the same every
day: practice. [-]"""
OLD_DOUBT, OLD_DAYS = 0.15, 400
"""The least of one that was titrated longer ago than this."""


def titrated_doubt(farm: Farm, water_id: str, alkalinity_meq_l: float, today: date) -> float | None:
    """Spread of the logarithm of a water's alkalinity; None where it was not titrated. [-]

    Parameters
    ----------
    farm : Farm
        As measured: its water has the alkalinity already.
    alkalinity_meq_l : float
        That alkalinity. [meq/L]
    """
    known = farm.measured.get((water_id, TITRATION))
    if known is None:
        return None
    least = LEAST_DOUBT if (today - known.at.date()).days <= OLD_DAYS else OLD_DOUBT
    return min(max(known.sd / max(alkalinity_meq_l, 1e-3), least), MOST_DOUBT)
