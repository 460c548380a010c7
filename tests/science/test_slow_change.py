"""Robust trends against another engine (scipy.stats), a published example, a printed table; and what moves them not."""

from __future__ import annotations

import math
import random
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from rounds.errors import BadInput, OutOfRange
from rounds.science.slow_change import mann_kendall, serial_factor, theil_sen

UNEVEN = [0.0, 1.0, 2.5, 6.0, 7.0, 14.0, 15.0, 21.5, 28.0, 30.0, 33.0, 41.0]


def series_of(seed: int, count: int, decimals: int) -> tuple[list[float], list[float]]:
    """Times with uneven gaps and a noisy fall; few decimals make ties."""
    chance = random.Random(seed)
    times = [0.0]
    while len(times) < count:
        times.append(times[-1] + chance.uniform(0.3, 9.0))
    return times, [round(5.0 - 0.02 * time + chance.gauss(0, 0.5), decimals) for time in times]


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize(("count", "decimals"), [(5, 3), (12, 1), (40, 2), (40, 0)])
def test_the_slope_and_its_interval_are_those_of_scipy(seed: int, count: int, decimals: int) -> None:
    times, values = series_of(seed, count, decimals)
    ours = theil_sen(times, values, confidence=0.95)
    theirs = stats.theilslopes(values, times, 0.95, method="joint")
    assert ours.per_day == pytest.approx(theirs.slope, abs=1e-12)
    assert ours.low_per_day == pytest.approx(theirs.low_slope, abs=1e-12)
    assert ours.high_per_day == pytest.approx(theirs.high_slope, abs=1e-12)
    assert ours.intercept == pytest.approx(theirs.intercept, abs=1e-12)


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize("count", [4, 7, 10])
def test_the_counted_chance_is_that_of_scipy(seed: int, count: int) -> None:
    _, values = series_of(seed, count, 6)
    theirs = stats.kendalltau(range(count), values, method="exact")
    assert mann_kendall(values).p == pytest.approx(theirs.pvalue, rel=1e-9)


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize("decimals", [0, 1, 6])
def test_score_and_variance_are_those_of_scipy_with_ties_too(seed: int, decimals: int) -> None:
    """scipy leaves the continuity out, so its p is turned back into score over spread."""
    _, values = series_of(seed, 30, decimals)
    ours, theirs = mann_kendall(values), stats.kendalltau(range(30), values, method="asymptotic")
    assert abs(ours.score) / math.sqrt(ours.variance) == pytest.approx(stats.norm.isf(theirs.pvalue / 2), rel=1e-6)
    expected = 2 * stats.norm.sf((abs(ours.score) - 1) / math.sqrt(ours.variance))
    assert ours.p == pytest.approx(expected, rel=1e-9)


def test_the_example_that_sen_published() -> None:
    """Sen (1968), p. 1383: slope 4, interval from 26/7 to 35/8 at 93 %."""
    slope = theil_sen([1, 2, 3, 4, 10, 12, 18], [9, 15, 19, 20, 45, 55, 78], confidence=0.93)
    assert slope.per_day == 4.0
    assert slope.low_per_day == pytest.approx(26 / 7)
    assert slope.high_per_day == pytest.approx(35 / 8)


@pytest.mark.parametrize(
    ("values", "one_sided"),
    [
        ([1, 2, 3, 4], 0.042),
        ([1, 2, 3, 5, 4], 0.042),
        ([1, 2, 3, 4, 5], 0.0083),
        ([2, 1, 3, 4, 6, 5], 0.028),
        ([2, 1, 3, 4, 5, 6, 8, 7], 0.00087),
    ],
)
def test_few_readings_have_the_chance_of_the_printed_table(values: list[float], one_sided: float) -> None:
    """Kendall, Rank Correlation Methods, appendix table 1 (upper tail), from memory; counted by hand for 4 and 5."""
    assert mann_kendall(values).p / 2 == pytest.approx(one_sided, rel=0.02)


@pytest.mark.parametrize("at", range(8))
@pytest.mark.parametrize("typed", [0.0, 8.3, 83.0])
def test_one_typing_error_neither_makes_nor_hides_a_trend(at: int, typed: float) -> None:
    weeks = [7.0 * n for n in range(8)]
    steady = [1.00, 1.02, 0.99, 1.01, 0.98, 1.00, 1.02, 0.99]
    falling = [1.00, 0.97, 0.93, 0.90, 0.86, 0.83, 0.79, 0.76]
    assert mann_kendall([*steady[:at], typed, *steady[at + 1 :]]).p > 0.05
    wrong = [*falling[:at], typed, *falling[at + 1 :]]
    assert 7 * theil_sen(weeks, wrong).per_day == pytest.approx(-0.034, abs=0.004)
    if at in (0, 1, 6, 7):
        pure = stats.linregress(weeks, wrong).slope
        assert abs(7 * pure + 0.034) > 0.02, "least squares would have been led astray: the error is a real one"


def test_whatever_a_quarter_of_the_readings_say_the_slope_stays_within_the_others() -> None:
    """The breakdown point is 1 - sqrt(1/2) = 29 % (Rousseeuw & Leroy, Robust Regression, 1987; memory)."""
    times = [float(n) for n in range(20)]
    true = [10.0 - 0.1 * time for time in times]
    for wrong in (1e6, -1e6):
        spoiled = [wrong if n % 4 == 1 else value for n, value in enumerate(true)]
        assert -0.3 < theil_sen(times, spoiled).per_day < 0.1


@given(st.lists(st.integers(-50, 50), min_size=4, max_size=25), st.integers(1, 9), st.integers(-100, 100))
def test_units_and_zero_points_do_not_matter(values: list[int], factor: int, shift: int) -> None:
    times = [float(n * n) for n in range(len(values))]
    moved = [factor * value + shift for value in values]
    first, second = theil_sen(times, values), theil_sen(times, moved)
    assert second.per_day == pytest.approx(factor * first.per_day, abs=1e-9)
    assert first.low_per_day <= first.per_day <= first.high_per_day
    assert mann_kendall(moved) == mann_kendall(values)


@given(st.lists(st.floats(-5, 5), min_size=4, max_size=25))
def test_the_test_asks_only_for_the_order_and_turned_round_it_says_the_opposite(values: list[float]) -> None:
    bent = [math.exp(rank) for rank in (sorted(set(values)).index(value) / 30 for value in values)]
    assert mann_kendall(bent) == mann_kendall(values)
    back = mann_kendall(values[::-1])
    assert (back.score, back.p) == (-mann_kendall(values).score, mann_kendall(values).p)


def test_equal_readings_have_no_trend() -> None:
    flat = mann_kendall([3.0] * 9)
    assert (flat.score, flat.variance, flat.p) == (0, 0.0, 1.0)
    slope = theil_sen(range(9), [3.0] * 9)
    assert (slope.per_day, slope.low_per_day, slope.high_per_day, slope.at(5.0)) == (0.0, 0.0, 0.0, 3.0)


def test_a_surer_interval_is_wider_and_holds_the_less_sure_one() -> None:
    times, values = series_of(3, 30, 6)
    wide, middle, narrow = (theil_sen(times, values, confidence=sure) for sure in (0.99, 0.9, 0.5))
    assert wide.low_per_day < middle.low_per_day < narrow.low_per_day
    assert narrow.high_per_day < middle.high_per_day < wide.high_per_day
    tied = theil_sen(times, values, confidence=0.9, serial=4.0)
    assert tied.low_per_day < middle.low_per_day and middle.high_per_day < tied.high_per_day


def test_the_interval_holds_the_true_slope_as_often_as_it_says() -> None:
    chance = random.Random(11)
    held = 0
    for _ in range(600):
        values = [0.3 * time + chance.gauss(0, 4) for time in UNEVEN]
        slope = theil_sen(UNEVEN, values, confidence=0.9)
        held += slope.low_per_day <= 0.3 <= slope.high_per_day
    assert 0.87 <= held / 600 <= 0.96


def hanging(chance: random.Random, count: int, tie: float) -> list[float]:
    """Noise in which each value hangs on the one before: an autoregressive process of first order, spread 1."""
    values = [chance.gauss(0, 1)]
    while len(values) < count:
        values.append(tie * values[-1] + chance.gauss(0, math.sqrt(1 - tie * tie)))
    return values


@pytest.mark.parametrize("tie", [0.0, 0.3, 0.6])
def test_the_serial_factor_is_near_what_theory_says(tie: float) -> None:
    """(1 + r) / (1 - r): 1, 1.86, 4."""
    chance = random.Random(7)
    found = sorted(serial_factor(hanging(chance, 200, tie)) for _ in range(60))
    assert found[30] == pytest.approx((1 + tie) / (1 - tie), rel=0.2)


def test_a_typing_error_does_not_hide_that_readings_hang_together() -> None:
    chance = random.Random(9)
    found = []
    for _ in range(60):
        values = hanging(chance, 40, 0.6)
        values[chance.randrange(40)] = 60.0
        found.append(serial_factor(values))
    assert sorted(found)[30] > 2.5, "with the error taken as it stands it would be 1"


def test_weather_that_hangs_together_makes_false_trends_and_the_factor_takes_most_of_them_away() -> None:
    chance = random.Random(8)
    plain = thinned = 0
    for _ in range(500):
        values = hanging(chance, 28, 0.5)
        slope = theil_sen(range(28), values)
        serial = serial_factor([value - slope.at(time) for time, value in enumerate(values)])
        plain += mann_kendall(values).p < 0.01
        thinned += mann_kendall(values, serial=serial).p < 0.01
    assert plain > 45, "or there would be nothing to take away"
    assert thinned <= 20


@pytest.mark.parametrize(
    ("times", "values"),
    [
        ([0, 1, 2], [1, 2, 3]),
        ([0, 1, 2, 3], [1, 2, 3]),
        ([0, 1, 1, 2], [1, 2, 3, 4]),
        ([0, 2, 1, 3], [1, 2, 3, 4]),
        ([0, 1, 2, 3], [1, 2, math.nan, 4]),
        ([0, 1, 2, math.inf], [1, 2, 3, 4]),
        (range(2001), range(2001)),
    ],
)
def test_what_cannot_be_compared_is_refused(times: list[float], values: list[float]) -> None:
    with pytest.raises(BadInput):
        theil_sen(times, values)


@pytest.mark.parametrize("values", [[1, 2, 3], [1, 2, 3, math.nan], [1, 2, 3, -math.inf]])
def test_the_test_and_the_factor_refuse_it_too(values: list[float]) -> None:
    with pytest.raises(BadInput):
        mann_kendall(values)
    with pytest.raises(BadInput):
        serial_factor(values)


@pytest.mark.parametrize("confidence", [0.0, 0.49, 1.0, math.nan])
def test_a_confidence_outside_its_range_is_refused(confidence: float) -> None:
    with pytest.raises(OutOfRange):
        theil_sen([0, 1, 2, 3], [1, 2, 3, 4], confidence=confidence)


@pytest.mark.parametrize("serial", [0.0, 0.99, 40.0, math.nan])
def test_a_serial_factor_outside_its_range_is_refused(serial: float) -> None:
    with pytest.raises(OutOfRange):
        mann_kendall([1, 2, 3, 4], serial=serial)
    with pytest.raises(OutOfRange):
        theil_sen([0, 1, 2, 3], [1, 2, 3, 4], serial=serial)


def test_a_larger_serial_factor_never_makes_chance_less_likely() -> None:
    values = [5.9, 5.85, 5.8, 5.83, 5.7, 5.66, 5.6, 5.61, 5.5]
    chances = [mann_kendall(values, serial=serial).p for serial in (1.0, 1.5, 3.0, 10.0, 39.0)]
    assert all(a < b for a, b in pairwise(chances))
