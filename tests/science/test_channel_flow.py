"""Films in channels against Nusselt's and Manning's published rows, and against a solver of the flow itself."""

import math
from functools import partial
from itertools import pairwise

import fluids
import numpy as np
import pytest
from scipy.sparse import csr_matrix
from scipy.sparse.linalg import spsolve

from rounds.errors import OutOfRange
from rounds.science import channel_flow as flow
from rounds.science.running_water import kinematic_viscosity_m2_s, partly_full_round, rectangle

L_MIN = 1 / 60000


def test_a_laminar_film_of_one_litre_a_minute_is_1_72_mm_deep():
    # w 100 mm, 1:100, 1 L/min, 20 degC: 1.72 mm (Nusselt), computed row of the project's table of check values.
    assert flow.laminar_film_depth_m(L_MIN, 0.1, 0.01) * 1000 == pytest.approx(1.72, rel=0.005)


def test_manning_alone_would_call_that_film_1_29_mm():
    # Same row: Manning with n 0.009 says 1.29 mm.
    depth = flow.manning_depth_m(L_MIN, partial(rectangle, 0.1), 0.05, 0.01, 0.009)
    assert depth * 1000 == pytest.approx(1.29, rel=0.005)


def test_the_manning_example_of_ponce():
    # V. M. Ponce, San Diego State Univ.: b 5 m, y 1.5 m, S 0.003, n 0.015 gives 3.498 m/s and 26.23 m3/s.
    wetted = rectangle(5, 1.5)
    speed = flow.manning_speed_m_s(wetted.hydraulic_radius_m, 0.003, 0.015)
    assert speed == pytest.approx(3.498, abs=0.0005)
    assert speed * wetted.area_m2 == pytest.approx(26.23, abs=0.01)
    assert flow.manning_depth_m(26.23, partial(rectangle, 5), 5, 0.003, 0.015) == pytest.approx(1.5, abs=0.001)


@pytest.mark.parametrize("radius", [0.001, 0.01, 0.1, 1])
@pytest.mark.parametrize("slope", [0.005, 0.025, 0.1])
@pytest.mark.parametrize("n", [0.009, 0.013])
def test_manning_agrees_with_a_reference_library(radius, slope, n):
    assert flow.manning_speed_m_s(radius, slope, n) == pytest.approx(fluids.V_Manning(radius, slope, n), rel=1e-6)


@pytest.mark.parametrize("share", [0.01, 0.16, 0.5, 0.9, 1.0])
def test_the_partly_full_round_section_agrees_with_a_reference_library(share):
    expected = fluids.A_partial_circle(0.1, share * 0.1)
    assert partly_full_round(0.1, share * 0.1).area_m2 == pytest.approx(expected, rel=1e-9)


def test_a_lying_cylinder_dipped_to_16_percent_holds_10_3_percent():
    # Engineering handbook, as in the table of check values.
    assert partly_full_round(1, 0.16).area_m2 / (math.pi / 4) == pytest.approx(0.103, abs=0.0005)


PRINTED = [(0, 1.792), (10, 1.306), (20, 1.0016), (25, 0.8900), (30, 0.7972), (40, 0.6527)]


@pytest.mark.parametrize(("temperature", "mpa_s"), PRINTED)
def test_viscosity_agrees_with_printed_tables(temperature, mpa_s):
    # Dynamic viscosity of water, CRC Handbook / IAPWS R12-08 (from memory); density from the same tables.
    density = {0: 0.99984, 10: 0.99970, 20: 0.99821, 25: 0.99705, 30: 0.99565, 40: 0.99222}[temperature]
    assert kinematic_viscosity_m2_s(temperature) * 1e6 == pytest.approx(mpa_s / density, rel=0.003)


def _solved_flow_in_round(diameter, depth, slope, step):
    """Flow from the Poisson equation of the film on a square grid: half the section, no slip below, no drag on top."""
    radius, pull = diameter / 2, 9.80665 * slope / kinematic_viscosity_m2_s(20)
    rows, columns = int(depth / step), int(math.sqrt(diameter * depth) / step) + 2
    index, inside = {}, []
    for j in range(rows):
        for i in range(columns):
            x, y = (i + 0.5) * step, -(j + 0.5) * step
            if x * x + (y - (radius - depth)) ** 2 < radius * radius:
                index[i, j] = len(inside)
                inside.append((i, j))
    where, to, value = [], [], []
    for (i, j), k in index.items():
        diagonal = 0.0
        for neighbour in ((i + 1, j), (i - 1, j), (i, j + 1), (i, j - 1)):
            if neighbour[0] < 0 or neighbour[1] < 0:
                continue
            at_wall = neighbour not in index
            diagonal -= 2.0 if at_wall else 1.0
            if not at_wall:
                where.append(k), to.append(index[neighbour]), value.append(1.0)
        where.append(k), to.append(k), value.append(diagonal)
    speeds = spsolve(csr_matrix((value, (where, to))), np.full(len(inside), -pull * step * step))
    return 2 * speeds.sum() * step * step


@pytest.mark.parametrize(("litres", "diameter", "slope"), [(1, 0.1, 0.01), (0.5, 0.07, 0.025), (2, 0.15, 0.02)])
def test_a_laminar_film_in_a_pipe_agrees_with_the_solved_equation_of_flow(litres, diameter, slope):
    depth = flow.laminar_round_depth_m(litres * L_MIN, diameter, slope)
    solved = _solved_flow_in_round(diameter, depth, slope, depth / 40)
    # Flow goes with the 3.5th power of depth: 7 % of flow is 2 % of depth.
    assert solved == pytest.approx(litres * L_MIN, rel=0.07)


@pytest.mark.parametrize(("litres", "regime"), [(1, "laminar"), (5, "transitional"), (20, "turbulent")])
def test_the_regime_is_named_by_the_reynolds_number(litres, regime):
    film = flow.film_in_rectangle(litres * L_MIN, 0.1, 0.06, 0.025)
    assert film.regime == regime
    assert film.reynolds == pytest.approx(
        film.speed_m_s * rectangle(0.1, film.depth_m).hydraulic_radius_m / kinematic_viscosity_m2_s(20), rel=1e-9
    )


def test_the_laminar_film_is_nusselts_and_the_turbulent_one_mannings():
    thin = flow.film_in_rectangle(L_MIN, 0.1, 0.06, 0.025)
    deep = flow.film_in_rectangle(30 * L_MIN, 0.1, 0.06, 0.025)
    assert thin.depth_m == flow.laminar_film_depth_m(L_MIN, 0.1, 0.025)
    assert deep.speed_m_s == pytest.approx(
        fluids.V_Manning(rectangle(0.1, deep.depth_m).hydraulic_radius_m, 0.025, 0.009), rel=1e-6
    )


def test_below_a_reynolds_number_of_500_nusselt_holds_even_where_manning_would_be_deeper():
    flow_m3_s = 450 * kinematic_viscosity_m2_s(20) * 0.1
    film = flow.film_in_rectangle(flow_m3_s, 0.1, 0.06, 0.1)
    assert film.regime == "laminar"
    assert flow.manning_depth_m(flow_m3_s, partial(rectangle, 0.1), 0.06, 0.1) > film.depth_m
    assert film.depth_m == flow.laminar_film_depth_m(flow_m3_s, 0.1, 0.1)


@pytest.mark.parametrize(
    "film",
    [
        partial(flow.film_in_rectangle, width_m=0.1, height_m=0.06, slope=0.025),
        partial(flow.film_in_round, diameter_m=0.1, slope=0.025),
    ],
)
def test_more_flow_is_never_a_shallower_film(film):
    depths = [film(litres / 10 * L_MIN).depth_m for litres in range(1, 300, 3)]
    assert all(later >= earlier for earlier, later in pairwise(depths))


def test_flow_is_speed_times_area():
    for film in (flow.film_in_round(L_MIN, 0.1, 0.02), flow.film_in_rectangle(40 * L_MIN, 0.12, 0.06, 0.02)):
        assert film.speed_m_s * film.area_m2 == pytest.approx(L_MIN if film.regime == "laminar" else 40 * L_MIN)


@pytest.mark.parametrize("bad", [float("nan"), float("inf"), 0, -1])
def test_what_cannot_be_a_flow_is_refused(bad):
    with pytest.raises(OutOfRange):
        flow.laminar_film_depth_m(bad, 0.1, 0.01)
    with pytest.raises(OutOfRange):
        flow.film_in_round(bad, 0.1, 0.01)


def test_a_channel_that_would_run_over_is_refused_with_what_it_carries():
    with pytest.raises(OutOfRange, match="carries"):
        flow.film_in_rectangle(500 * L_MIN, 0.05, 0.03, 0.01)
    with pytest.raises(OutOfRange, match="carries"):
        flow.film_in_round(500 * L_MIN, 0.05, 0.01)
