"""Full pipes, pumps and outlets against a reference library and printed rows."""

import fluids
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rounds.errors import OutOfRange
from rounds.science import outlets, pipes, pump_curve
from rounds.science.running_water import kinematic_viscosity_m2_s

L_MIN = 1 / 60000


@pytest.mark.parametrize("litres", [0.1, 0.5, 1, 2, 5, 10, 20, 60])
@pytest.mark.parametrize("diameter_mm", [4, 6, 13, 20, 32, 50])
@pytest.mark.parametrize("temperature", [5, 20, 35])
@pytest.mark.parametrize("roughness_m", [1.5e-6, 1.5e-5])
def test_friction_agrees_with_a_reference_library(litres, diameter_mm, temperature, roughness_m):
    """Over 288 pipes, within one percent; the reference solves Colebrook exactly and takes 64/Re below 2040."""
    d, q, length = diameter_mm / 1000, litres * L_MIN, 7.5
    speed = fluids.core.Reynolds(V=1, D=d, nu=kinematic_viscosity_m2_s(temperature))
    re = speed * q / (3.141592653589793 / 4 * d * d)
    factor = fluids.friction_factor(Re=re, eD=roughness_m / d)
    v = q / (3.141592653589793 / 4 * d * d)
    expected = fluids.head_from_K(fluids.K_from_f(factor, length, d) + 3.5, v)
    assert pipes.reynolds(q, d, temperature) == pytest.approx(re, rel=1e-9)
    assert pipes.pipe_loss_m(q, d, length, 3.5, temperature, roughness_m) == pytest.approx(expected, rel=0.01)


def test_a_laminar_pipe_loses_what_hagen_and_poiseuille_say():
    # h = 128 nu L Q / (pi g d^4)
    nu, q, d = kinematic_viscosity_m2_s(20), 0.1 * L_MIN, 0.006
    expected = 128 * nu * 2 * q / (3.141592653589793 * 9.80665 * d**4)
    assert pipes.pipe_loss_m(q, d, 2) == pytest.approx(expected, rel=1e-9)


@given(st.floats(0.01, 50), st.floats(1.01, 3))
def test_more_flow_never_loses_less_head(litres, factor):
    assert pipes.pipe_loss_m(litres * factor * L_MIN, 0.013, 3) > pipes.pipe_loss_m(litres * L_MIN, 0.013, 3)


def test_a_20_mm_hole_under_100_mm_lets_16_4_litres_a_minute_through():
    # Small hole, sharp edge, Cd 0.62: engineering texts, computed row of the table of check values.
    assert outlets.orifice_flow_m3_s(0.02, 0.1) / L_MIN == pytest.approx(16.4, rel=0.005)


def test_a_shallow_drain_works_as_a_weir_and_a_drowned_one_as_a_hole():
    assert outlets.drain_flow_m3_s(0.04, 0.003) == outlets.rim_flow_m3_s(0.04, 0.003)
    assert outlets.drain_flow_m3_s(0.04, 0.06) == outlets.orifice_flow_m3_s(0.04, 0.06)


def test_the_rim_is_polenis_weir_of_its_own_length():
    # Sharp-crested weir, Cd 0.62: Q = 1.83 L h^1.5 in metres (handbook figure; 1.84 in Francis's formula).
    assert outlets.rim_flow_m3_s(0.1, 0.02) == pytest.approx(1.83 * 3.14159 * 0.1 * 0.02**1.5, rel=0.005)


def test_the_working_point_lies_on_both_curves():
    curve = [(0, 2.5), (10, 2.1), (20, 1.2), (30, 0)]
    flow, head = pump_curve.working_point(curve, lambda q: 0.8 + 0.002 * q**2)
    assert head == pytest.approx(0.8 + 0.002 * flow**2, rel=1e-6)
    assert head == pytest.approx(1.2 * (30 - flow) / 10 if flow > 20 else 2.1 - 0.09 * (flow - 10), rel=1e-6)


def test_a_straight_curve_against_a_square_one_gives_the_root_of_the_quadratic():
    # 2 - 0.1 q = 0.5 + 0.01 q^2: q = 8.2288 by the textbook formula for a quadratic.
    flow, _ = pump_curve.working_point([(0, 2), (20, 0)], lambda q: 0.5 + 0.01 * q * q)
    assert flow == pytest.approx(8.2288, abs=0.001)


def test_a_pump_that_cannot_lift_gives_nothing():
    assert pump_curve.working_point([(0, 1.0), (20, 0)], lambda q: 1.5 + q) == (0.0, 1.0)


@pytest.mark.parametrize(
    "points",
    [
        [(0, 1)],
        [(0, 1), (10, 2)],
        [(0, 2), (0, 1)],
        [(5, 2), (3, 1)],
        [(0, float("nan")), (5, 0)],
        [(0, -1), (5, -2)],
    ],
)
def test_a_curve_that_is_none_is_refused(points):
    with pytest.raises(OutOfRange):
        pump_curve.check_curve(points)


@pytest.mark.parametrize("bad", [float("nan"), float("inf"), -1])
def test_what_cannot_flow_is_refused(bad):
    with pytest.raises(OutOfRange):
        pipes.pipe_loss_m(bad, 0.02, 1)
    with pytest.raises(OutOfRange):
        outlets.orifice_flow_m3_s(0.02, bad)
