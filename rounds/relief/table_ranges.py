"""The ranges of readings that a dose table has a row or a column for."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from rounds.farm.stations import Reservoir
from rounds.farm.volumes import highest_dip_cm, litres_to_dip

LEVELS = (1.0, 0.93, 0.82, 0.68)
"""Ends of the ranges of the level, as shares of the working volume. Below the last: call. [-]"""
WEAK_STEPS = (0.0, 0.12, 0.25, 0.4)
STRONG_STEPS = (0.0, 0.15, 0.3)
"""Ends of the ranges outside the EC band, counted from its edge. [mS/cm]"""
PH_STEPS = (0.0, 0.2, 0.4, 0.7)
"""Ends of the ranges outside the pH band, counted from its edge. [-]"""
Range = tuple[float, float, bool]
"""Low, high, and whether it lies below the band."""


def level_ranges(reservoir: Reservoir) -> tuple[tuple[float, float], ...]:
    """Ranges of dips in half centimetres that do not overlap; the first goes a centimetre past the mark."""
    marks = [round(litres_to_dip(reservoir, share * reservoir.working_volume_l) * 2) / 2 for share in LEVELS]
    tops = [min(marks[0] + 1.0, highest_dip_cm(reservoir)), *marks[1:]]
    return tuple((below + 0.5, top) for top, below in pairwise(tops))


def ranges_outside(band: tuple[float, float], weak: Sequence[float], strong: Sequence[float]) -> list[Range]:
    """Ranges below a band, rising towards it, and above it, each with whether it is below.

    Examples
    --------
    >>> ranges_outside((1.5, 2.0), (0.0, 0.1), (0.0, 0.2))
    [(1.4, 1.49, True), (2.01, 2.2, False)]
    """
    low, high = band
    below = [(round(low - b, 2), round(low - a - 0.01, 2), True) for a, b in pairwise(weak)]
    above = [(round(high + a + 0.01, 2), round(high + b, 2), False) for a, b in pairwise(strong)]
    return [*(each for each in reversed(below) if each[0] > 0.0), *above]


def halves(band: tuple[float, float]) -> list[Range]:
    """The band in two: water that is right for a feed at its upper edge thins one at the lower edge out of it."""
    middle = round(sum(band) / 2, 2)
    return [(band[0], middle, True), (round(middle + 0.01, 2), band[1], True)]
