"""How far a pH meter is off, learned from what it showed: dips in buffer, and two readings of the same water."""

from __future__ import annotations

import math
from collections.abc import Iterable

WORTH_OF_TOLD = 3.0
"""What the grower says of a meter counts as so many dips: practice. [-]"""
FURTHEST = 0.3
"""Further off is a fault or a slip, not the error of the meter. [-]"""


def learned_sd(told_sd: float, in_buffer: Iterable[float], between_two: Iterable[float]) -> float:
    """The error of a meter, as a standard deviation: what was told, and what it showed since.

    Parameters
    ----------
    told_sd : float
        As the grower says, above 0. [-]
    in_buffer : iterable of float
        How far off it was in buffers. [-]
    between_two : iterable of float
        Differences of two readings in turn of the same water. [-]

    Examples
    --------
    >>> round(learned_sd(0.05, [0.1, 0.1, 0.1], []), 3)
    0.079
    """
    squares = [min(abs(off), FURTHEST) ** 2 for off in in_buffer]
    squares += [min(abs(off), FURTHEST) ** 2 / 2.0 for off in between_two]
    return math.sqrt((WORTH_OF_TOLD * told_sd**2 + math.fsum(squares)) / (WORTH_OF_TOLD + len(squares)))
