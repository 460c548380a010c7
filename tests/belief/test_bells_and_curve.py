"""Bells, their clouds of points, and the titration curve against sums by hand."""

from __future__ import annotations

import math

import pytest

from rounds.belief.curve import Curve
from rounds.belief.gaussian import Gaussian, independent, of_cloud, quantile, standard_cloud

BELL = Gaussian((1.0, 2.0), ((4.0, 1.0), (1.0, 9.0)))


def test_a_reading_moves_a_bell_as_two_bells_are_multiplied() -> None:
    """By hand: gain 4/(4+1) = 0.8 for itself, 1/5 = 0.2 for the other; 4 - 0.8*4 = 0.8, 9 - 0.2*1 = 8.8."""
    seen = BELL.seen(0, 3.0, 1.0)
    assert seen.mean == pytest.approx((1.0 + 0.8 * 2.0, 2.0 + 0.2 * 2.0))
    assert [list(row) for row in seen.covariance] == [pytest.approx([0.8, 0.2]), pytest.approx([0.2, 8.8])]
    other = BELL.seen(1, 2.0, 3.0)
    assert other.mean == BELL.mean
    assert other.covariance[1][1] == pytest.approx(9.0 - 9.0 * 9.0 / 18.0)
    assert (BELL.sd(0), BELL.sd(1)) == (2.0, 3.0)


def test_a_sum_is_read_like_one_of_the_numbers() -> None:
    """Of the sum: mean 3, variance 4 + 2*1 + 9 = 15; read as 5 with variance 15 the half of it is taken up."""
    assert BELL.mean_of((1.0, 1.0)) == 3.0 and BELL.sd_of((1.0, 1.0)) == pytest.approx(math.sqrt(15.0))
    assert BELL.sd_of((1.0, -1.0)) == pytest.approx(math.sqrt(11.0))
    seen = BELL.seen_sum((1.0, 1.0), 5.0, math.sqrt(15.0))
    assert seen.mean == pytest.approx((1.0 + 2.0 * 5.0 / 30.0, 2.0 + 2.0 * 10.0 / 30.0))
    assert seen.covariance[0][0] == pytest.approx(4.0 - 5.0 * 5.0 / 30.0)
    assert seen.covariance[0][1] == seen.covariance[1][0] == pytest.approx(1.0 - 5.0 * 10.0 / 30.0)


def test_loosened_replaced_and_independent() -> None:
    assert BELL.loosened((0.5, 0.0), (0.0, 1.0)) == Gaussian((1.0, 3.0), ((4.5, 1.0), (1.0, 9.0)))
    assert BELL.loosened((0.5, 0.25)).mean == BELL.mean
    assert BELL.replaced(0, 7.0, 0.5) == Gaussian((7.0, 2.0), ((0.25, 0.0), (0.0, 9.0)))
    assert independent((1.0, 2.0), (2.0, 3.0)) == Gaussian((1.0, 2.0), ((4.0, 0.0), (0.0, 9.0)))
    assert Gaussian((0.0,), ((-1e-12,),)).sd(0) == 0.0


@pytest.mark.parametrize("points", [16, 24, 64])
def test_a_cloud_has_exactly_the_mean_and_the_spread_it_stands_for(points: int) -> None:
    cloud = BELL.cloud(points)
    assert len(cloud) == points
    back = of_cloud(cloud)
    assert back.mean == pytest.approx(BELL.mean)
    assert [list(row) for row in back.covariance] == [pytest.approx(list(row), abs=1e-6) for row in BELL.covariance]
    for point, mirrored in zip(cloud[: points // 2], cloud[points // 2 :], strict=True):
        assert [v + w for v, w in zip(point, mirrored, strict=True)] == pytest.approx([2.0, 4.0])
    assert len({tuple(point) for point in standard_cloud(7, points)}) == points


def test_the_spread_of_a_cloud_by_hand() -> None:
    found = of_cloud([[1.0, 0.0], [3.0, 4.0]])
    assert found.mean == (2.0, 2.0)
    assert [list(row) for row in found.covariance] == [pytest.approx([1.0, 2.0]), pytest.approx([2.0, 4.0])]


@pytest.mark.parametrize(("share", "value"), [
    (0.0, 1.0), (0.125, 1.0), (0.25, 1.5), (0.375, 2.0), (0.5, 2.5), (0.75, 6.0), (0.875, 8.0), (1.0, 8.0),
])  # fmt: skip
def test_a_share_of_the_values_lies_below_a_quantile(share: float, value: float) -> None:
    """Of 1, 2, 3, 8 each stands for a quarter, in its middle."""
    assert quantile([8.0, 1.0, 3.0, 2.0], share) == pytest.approx(value if share != 0.75 else 5.5)
    assert quantile([4.0], share) == 4.0


def test_the_curve_comes_back_to_the_ph_it_was_asked_at(curve: Curve) -> None:
    for tenth in range(32, 99):
        ph = tenth / 10.0
        alkalinity = curve.alkalinity_meq_l(ph, 1.0, 0.5)
        for guess in (3.0, 6.0, 9.9):
            assert curve.ph_closed(alkalinity, 1.0, 0.5, guess) == pytest.approx(ph, abs=1e-6)
        held = curve.parts(ph)[3]
        under = curve.alkalinity_meq_l(ph, 1.0, 0.001 * held)
        assert curve.ph_held(under, 1.0, 0.001, 6.0) == pytest.approx(ph, abs=0.01)


def test_beyond_its_ends_the_curve_stays_at_them(curve: Curve) -> None:
    assert curve.ph_closed(-50.0, 1.0, 0.5) == pytest.approx(3.0)
    assert curve.ph_closed(500.0, 1.0, 0.5) == pytest.approx(10.0)
    assert curve.parts(2.0) == curve.parts(3.0)
    assert curve.parts(11.0) == pytest.approx(curve.parts(10.0), rel=1e-4)


def test_the_parts_of_the_curve_are_those_of_the_chemistry_books(curve: Curve) -> None:
    """At pH 7.2 half of phosphate has given its second proton (pK 7.2, pairs and salt move it by some tenths), at 6.35
    half of the CO2 its first; 1 mol/L of CO2 stands under 1/0.039 atm at 20 °C (Henry)."""
    assert 0.5 < curve.parts(7.2)[0] < 0.8 and curve.parts(4.5)[0] == pytest.approx(0.0, abs=0.02)
    assert curve.parts(6.35)[1] == pytest.approx(0.5, abs=0.06)
    assert curve.parts(4.0)[3] == pytest.approx(39.0, rel=0.03)
    assert curve.parts(4.0)[2] == pytest.approx(-0.1, abs=0.03), "the protons themselves, and those that sulfate took"
    steeper = curve.slope_meq_l_ph(6.8, 2.0, 0.0) / curve.slope_meq_l_ph(6.8, 1.0, 0.0)
    assert steeper == pytest.approx(2.0, rel=0.02)
    by_hand = curve.alkalinity_meq_l(6.55, 1.0, 0.2) - curve.alkalinity_meq_l(6.5, 1.0, 0.2)
    assert curve.slope_meq_l_ph(6.51, 1.0, 0.2) == pytest.approx(by_hand / 0.05, rel=1e-6)
