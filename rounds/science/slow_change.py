"""Slow change in readings that are unevenly spaced: how fast, and whether it is more than chance.

Both answers go by ranks and medians, so that one typing error neither makes a trend nor hides one.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations, pairwise
from statistics import NormalDist, median

from rounds.errors import BadInput
from rounds.science.ranges import within

FEWEST = 4
"""Fewer readings tell nothing: even all in order they come about by chance once in three times. [-]"""
MOST = 2_000
"""All pairs are compared; more readings than this are not wanted for anything slow. [-]"""
EXACT_TO = 10
"""Up to so many readings without ties the chance is counted out; beyond, the bell curve is close enough. [-]"""
STRONGEST_TIE, WIDEST = 0.95, 39.0
"""A reading that hangs more than this on the one before is none of its own; and the serial factor that makes. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Slope:
    """How fast something changes, with the interval in which the true pace is believed to lie."""

    per_day: float
    low_per_day: float
    high_per_day: float
    intercept: float
    """The fitted value at time 0."""

    def at(self, time_d: float) -> float:
        """The fitted value at a time. [unit of the readings]"""
        return self.intercept + self.per_day * time_d


@dataclass(frozen=True, slots=True, kw_only=True)
class Trend:
    """Whether readings rise or fall more often than chance would let them."""

    score: int
    """Pairs that rise less pairs that fall. [-]"""
    variance: float
    """Of the score, where there is no trend. [-]"""
    p: float
    """How often chance alone gives a score as far from 0, either way. [-]"""


def theil_sen(
    times_d: Sequence[float], values: Sequence[float], *, confidence: float = 0.95, serial: float = 1.0
) -> Slope:
    """The median of the slopes of all pairs, with its interval by ranks.

    Up to 29 % of the readings may be wrong by any amount and the slope stays near the truth.

    Parameters
    ----------
    times_d : sequence of float
        Times, each later than the one before; 4 to 2000 of them. [d]
    values : sequence of float
        One reading for each time. [any unit]
    confidence : float
        Share of cases in which the interval holds the true slope, 0.5 to 0.999. [-]
    serial : float
        As `serial_factor` gives it, 1 to 39: it widens the interval. [-]

    Returns
    -------
    Slope
        In the unit of the readings per day.

    Raises
    ------
    BadInput
        Where times and values do not match, are too few, not finite or not in order.
    OutOfRange
        Where confidence or serial lies outside its range.

    Examples
    --------
    >>> slope = theil_sen([0, 7, 14, 21, 28], [1.00, 0.97, 9.30, 0.89, 0.86])
    >>> round(7 * slope.per_day, 3)
    -0.036

    References
    ----------
    P. K. Sen, Estimates of the regression coefficient based on Kendall's tau, J. Am. Stat. Assoc. 63 (1968) 1379-1389.
    """
    _check(times_d, values)
    within(confidence, 0.5, 0.999, "A confidence", "")
    within(serial, 1.0, WIDEST, "A serial factor", "")
    slopes = sorted((b[1] - a[1]) / (b[0] - a[0]) for a, b in combinations(zip(times_d, values, strict=True), 2))
    spread = NormalDist().inv_cdf(0.5 + confidence / 2) * math.sqrt(serial * _variance(values))
    count = len(slopes)
    middle = median(slopes)
    return Slope(
        per_day=middle,
        low_per_day=slopes[max(0, round((count - spread) / 2) - 1)],
        high_per_day=slopes[min(count - 1, round((count + spread) / 2))],
        intercept=median(value - middle * time for time, value in zip(times_d, values, strict=True)),
    )


def mann_kendall(values: Sequence[float], *, serial: float = 1.0) -> Trend:
    """Test whether readings in order of time rise or fall, whatever the shape of it.

    Up to ten readings without ties the chance is counted out; else it is that of the bell curve, with the variance
    made smaller by ties and the score moved by one towards 0 (continuity).

    Parameters
    ----------
    values : sequence of float
        In order of time; 4 to 2000 of them. [any unit]
    serial : float
        As `serial_factor` gives it, 1 to 39: neighbours that hang together count for less. [-]

    Returns
    -------
    Trend
        With p = 1 where all readings are equal.

    Raises
    ------
    BadInput
        Where there are too few or too many, or one is not finite.
    OutOfRange
        Where serial lies outside its range.

    Examples
    --------
    >>> mann_kendall([5.9, 5.8, 5.8, 5.7, 5.5, 5.4]).score
    -14
    >>> mann_kendall([1, 2, 3, 4, 5]).p == 2 / 120
    True

    References
    ----------
    H. B. Mann, Econometrica 13 (1945) 245-259; M. G. Kendall, Rank Correlation Methods (1970), tied variance of ch. 4
    and counting of ch. 5.
    """
    _check(range(len(values)), values)
    within(serial, 1.0, WIDEST, "A serial factor", "")
    score = sum((b > a) - (b < a) for a, b in combinations(values, 2))
    variance = _variance(values)
    return Trend(score=score, variance=variance, p=_thinned(_chance(score, variance, values), serial))


def serial_factor(residuals: Sequence[float]) -> float:
    """How many times wider the doubt is because a reading hangs on the one before, as weather and water do. [-]

    Parameters
    ----------
    residuals : sequence of float
        What is left of the readings, in order of time, once their trend is taken off; 4 to 2000. [any unit]

    Returns
    -------
    float
        From 1 (each reading stands by itself) to 39; readings that swing to and fro give 1 too.

    Raises
    ------
    BadInput
        Where there are too few or too many, or one is not finite.

    Examples
    --------
    >>> serial_factor([1, -1, 1, -1, 1])
    1.0
    >>> serial_factor([1, 1, 1, 1, -1, -1, -1, -1]) > 4
    True

    References
    ----------
    S. Yue, C. Y. Wang, The Mann-Kendall test modified by effective sample size, Water Resour. Manage. 18 (2004)
    201-218, here for a first-order tie: (1 + r) / (1 - r). The correlation of a short series comes out too low by about
    (1 + 4 r) / n (M. G. Kendall, Biometrika 41 (1954) 403-404), which is put back.
    """
    _check(range(len(residuals)), residuals)
    around = median(residuals)
    edge = 3.0 * 1.4826 * median(abs(each - around) for each in residuals)
    tamed = [min(max(each - around, -edge), edge) for each in residuals]
    power = sum(each * each for each in tamed)
    if power == 0.0:
        return 1.0
    found, count = sum(a * b for a, b in pairwise(tamed)) / power, len(tamed)
    tie = (count * found + 1.0) / (count - 4.0) if count > 2 * FEWEST and found > 0.0 else found
    return _factor(min(max(tie, 0.0), STRONGEST_TIE))


def _factor(tie: float) -> float:
    return min((1.0 + tie) / (1.0 - tie), WIDEST)


def _check(times_d: Sequence[float], values: Sequence[float]) -> None:
    if not FEWEST <= len(values) <= MOST or len(times_d) != len(values):
        raise BadInput(
            f"{len(values)} readings at {len(times_d)} times show no trend.",
            f"Expected {FEWEST} to {MOST}, each with its time.",
        )
    if not all(math.isfinite(each) for each in (*times_d, *values)):
        raise BadInput("One of the readings or times is not a finite number.")
    if not all(a < b for a, b in pairwise(times_d)):
        raise BadInput("The readings are not in order of time.", "Each has to be later than the one before.")


def _variance(values: Sequence[float]) -> float:
    """Of the score, as Kendall has it; readings that are equal make it smaller."""
    groups = [len(values), *(count for count in Counter(values).values() if count > 1)]
    whole, *tied = (count * (count - 1) * (2 * count + 5) / 18.0 for count in groups)
    return max(0.0, whole - sum(tied))


def _chance(score: int, variance: float, values: Sequence[float]) -> float:
    if variance == 0.0 or score == 0:
        return 1.0
    if len(values) <= EXACT_TO and len(set(values)) == len(values):
        counts = _orders(len(values))
        least = (len(counts) - 1 + abs(score)) // 2
        return min(1.0, 2.0 * sum(counts[least:]) / math.factorial(len(values)))
    return math.erfc((abs(score) - 1) / math.sqrt(2.0 * variance))


def _thinned(p: float, serial: float) -> float:
    """The chance again, where the readings count for fewer than there are."""
    if serial == 1.0 or not 0.0 < p < 1.0:
        return p
    z = -NormalDist().inv_cdf(max(p, 1e-300) / 2.0)
    return math.erfc(z / math.sqrt(2.0 * serial))


@lru_cache(maxsize=EXACT_TO)
def _orders(count: int) -> tuple[int, ...]:
    """How many orders of `count` different readings have 0, 1, 2 ... pairs that rise."""
    found = [1]
    for size in range(2, count + 1):
        longer = [0] * (len(found) + size - 1)
        for number, ways in enumerate(found):
            for more in range(size):
                longer[number + more] += ways
        found = longer
    return tuple(found)
