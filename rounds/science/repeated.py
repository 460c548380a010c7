"""What was measured several times: its mean, and how far that is to be trusted."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean, median, stdev

from rounds.errors import BadInput
from rounds.science.ranges import within

JUG_SD = 0.02
"""Error that all have in common: the mark of a jug, a hand on a clock. Common practice. [-]"""
APART = 0.2
"""One that is further from the middle one than this is not of the same thing: practice. [-]"""
_T_OF_THREE = 1.32
"""Widens the spread of three, which are few: the 68 % point of Student's t with two degrees of freedom. [-]"""


@dataclass(frozen=True, slots=True)
class Mean:
    """A mean with its doubt, both in the unit of what was measured."""

    value: float
    sd: float


def flow_by_jug_l_min(litres: float, seconds: float) -> float:
    """Flow by jug and clock.

    Parameters
    ----------
    litres : float
        What was caught, 0.05-200. [L]
    seconds : float
        In what time, 1-1800. [s]

    Examples
    --------
    >>> flow_by_jug_l_min(10.0, 30.0)
    20.0
    """
    return 60.0 * within(litres, 0.05, 200.0, "A jug", "L") / within(seconds, 1.0, 1800.0, "A time", "s")


def mean_of(values: Sequence[float], common_sd: float = JUG_SD) -> Mean:
    """The mean of what was measured three times or more.

    Parameters
    ----------
    values : sequence of float
        At least three, above 0. [any]
    common_sd : float
        Error that all of them share. [-]

    Raises
    ------
    BadInput
        For fewer than three, and where one of them is not believable.

    Examples
    --------
    >>> found = mean_of([20.0, 19.0, 21.0])
    >>> found.value, round(found.sd, 2)
    (20.0, 0.86)
    """
    if len(values) < 3 or not all(0.0 < value < math.inf for value in values):
        raise BadInput("A spread needs three numbers above 0.", "Measure it three times.")
    mean = fmean(values)
    return Mean(mean, math.hypot(_T_OF_THREE * stdev(values) / math.sqrt(len(values)), common_sd * mean))


def furthest_off(values: Sequence[float]) -> int | None:
    """The place of the one that does not belong to the others; None where all are alike.

    Examples
    --------
    >>> furthest_off([20.0, 19.5, 31.0]), furthest_off([20.0, 19.5, 20.5])
    (2, None)
    """
    if len(values) < 3:
        return None
    middle = median(values)
    place = max(range(len(values)), key=lambda i: abs(values[i] - middle))
    return place if abs(values[place] - middle) > APART * middle else None
