"""Sag of a pipe between its supports against the beam tables of engineering handbooks."""

import math

import numpy as np
import pytest

from rounds.errors import OutOfRange
from rounds.science.beams import beam_on_supports, ring_second_moment_m4, tube_second_moment_m4


def deepest(beam, start, end):
    return max(beam.sag_m(x) for x in np.linspace(start, end, 400))


@pytest.mark.parametrize(("spans", "factor"), [(1, 0.0130), (2, 0.0054), (3, 0.0069), (4, 0.0065)])
def test_equal_spans_sag_as_the_steel_handbook_prints(spans, factor):
    # AISC Manual, beam diagrams, uniform load on equal spans: 5/384, then 0.0054, 0.0069, 0.0065 w L^4 / EI (memory).
    beam = beam_on_supports(range(spans + 1), spans, 1.0, 1.0)
    assert deepest(beam, 0, spans) == pytest.approx(factor, abs=0.00006)


def test_a_beam_that_overhangs_one_support_sags_as_the_handbook_prints():
    # AISC diagram "beam overhanging one support, uniform load", free end (memory):
    # w a (4 a^2 L - L^3 + 3 a^3) / 24 EI.
    span, over = 2.0, 0.7
    beam = beam_on_supports([0, span], span + over, 3.0, 5.0)
    expected = 3.0 * over * (4 * over**2 * span - span**3 + 3 * over**3) / (24 * 5.0)
    assert beam.sag_m(span + over) == pytest.approx(expected, rel=1e-9)


def test_the_other_end_overhangs_alike():
    beam = beam_on_supports([0.7, 2.7], 3.4, 3.0, 5.0)
    assert beam.sag_m(0) == pytest.approx(beam.sag_m(3.4), rel=1e-9)
    assert beam.sag_m(1.2) == pytest.approx(beam.sag_m(2.2), rel=1e-9)


def test_moments_over_three_equal_spans_are_the_printed_tenth():
    # Continuous beam of three equal spans: -w L^2 / 10 over the inner supports (any handbook).
    assert beam_on_supports([0, 1, 2, 3], 3, 1.0, 1.0).moments_n_m == pytest.approx((0, -0.1, -0.1, 0))


def test_nothing_sags_over_a_support():
    beam = beam_on_supports([0.2, 1.1, 2.6, 3.9], 4.2, 20, 90)
    assert [beam.sag_m(x) for x in (0.2, 1.1, 2.6, 3.9)] == pytest.approx([0, 0, 0, 0], abs=1e-12)


def test_a_slot_in_a_tube_counts_as_the_parts_that_are_left():
    # Parallel-axis theorem over the four plates, by hand: 100 x 60 x 2 mm with 50 mm cut from the top.
    parts = [(100 * 2, 1, 100 * 2**3 / 12), (2 * 2 * 56, 30, 2 * 2 * 56**3 / 12), (50 * 2, 59, 50 * 2**3 / 12)]
    area = sum(a for a, _, _ in parts)
    middle = sum(a * y for a, y, _ in parts) / area
    by_hand = sum(own + a * (y - middle) ** 2 for a, y, own in parts)
    assert tube_second_moment_m4(0.1, 0.06, 0.002, 0.05) * 1e12 == pytest.approx(by_hand, rel=1e-9)


def test_a_slot_in_a_ring_counts_as_the_summed_arc_that_is_left():
    outer, wall, slot = 0.1, 0.002, 0.05
    cut = math.asin(slot / outer)
    angles = np.linspace(cut, 2 * math.pi - cut, 200_001)
    y = (outer - wall) / 2 * np.cos(angles)
    area = (outer - wall) / 2 * wall * (angles[1] - angles[0])
    summed = ((y - y.mean()) ** 2).sum() * area
    assert ring_second_moment_m4(outer, wall, slot) == pytest.approx(summed, rel=0.002)


@pytest.mark.parametrize("supports", [[0], [1, 0.5], [0, 0], [0, 5], [float("nan"), 1]])
def test_supports_that_cannot_stand_are_refused(supports):
    with pytest.raises(OutOfRange):
        beam_on_supports(supports, 4, 1, 1)
