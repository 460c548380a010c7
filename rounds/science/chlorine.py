"""Chlorine for cleaning: how much of it works, and how much bleach. Never near acid: it sets chlorine gas free."""

from __future__ import annotations

import math

from rounds.science.ranges import within

HYPOCHLOROUS_PKA = 7.54
"""At 25 degC: water treatment texts (from memory)."""


def hypochlorous_share(ph: float) -> float:
    """Share of free chlorine that is HOCl, the form that kills germs, pH 4-11. [-]

    Examples
    --------
    >>> round(hypochlorous_share(8.5), 2)
    0.1
    """
    return 1.0 / (1.0 + math.pow(10.0, within(ph, 4.0, 11.0, "A pH", "") - HYPOCHLOROUS_PKA))


def bleach_ml(volume_l: float, wanted_mg_l: float, bleach_percent: float) -> float:
    """Bleach for a cleaning bath. [mL]

    Parameters
    ----------
    volume_l : float
        Bath, above 0 and up to 10 000. [L]
    wanted_mg_l : float
        Free chlorine, 0-1000; 100-200 for scrubbed surfaces is common practice. [mg/L]
    bleach_percent : float
        Active chlorine on the label, 0.5-15; it fades within months. [% w/v]

    Examples
    --------
    >>> bleach_ml(10.0, 200.0, 5.0)
    40.0
    """
    within(volume_l, 1e-3, 1e4, "A bath", "L")
    within(wanted_mg_l, 0.0, 1000.0, "A free chlorine", "mg/L")
    return volume_l * wanted_mg_l / (within(bleach_percent, 0.5, 15.0, "A bleach", "%") * 10.0)
