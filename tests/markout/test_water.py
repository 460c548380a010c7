"""Film, run-back, drains and pump of a plan against the published rows and against a second way of solving it."""

import fluids
import pytest

from rounds.markout.cautions import warnings_of
from rounds.markout.supply import spread_percent
from rounds.science.running_water import kinematic_viscosity_m2_s

L_MIN = 1 / 60000


def codes(worked_out):
    return {warning.code for warning in warnings_of(worked_out)}


def test_the_film_of_the_published_row(planned):
    # w 100 mm, 1:100, 1 L/min, 20 degC: 1.72 mm by Nusselt (computed row of the table of check values).
    film = planned(section="100x50mm", slope="1:100", flow="1L/min").stream.film
    assert film.depth_m * 1000 == pytest.approx(1.72, rel=0.005)
    assert film.regime == "laminar"


def test_what_is_in_the_channel_is_flow_times_the_time_through_it(planned):
    water = planned().stream
    assert water.volume_l == pytest.approx(1.2 / 60 * water.transit_s)
    assert water.volume_l == pytest.approx(0.12 * water.film.depth_m * 4.2 * 1000)


def test_all_films_and_pipes_run_back(planned):
    back = planned(channels="6", supply_pipe="16mm:6m", reservoir_full="100L", reservoir_working="98L").run_back
    assert back.channels_l == pytest.approx(6 * planned().stream.volume_l)
    assert back.pipes_l == pytest.approx(3.14159265 / 4 * 0.16**2 * 60)  # decimetres: litres
    assert back.room_l == 2


def test_a_reservoir_without_room_for_the_run_back_is_warned_of(planned):
    pipes = {"channels": "6", "supply_pipe": "16mm:6m"}
    assert "run_back" in codes(planned(reservoir_full="100L", reservoir_working="98L", **pipes))
    assert "run_back" not in codes(planned(reservoir_full="100L", reservoir_working="90L", **pipes))


def test_a_channel_that_would_run_over_is_a_warning_and_not_a_crash(planned):
    worked_out = planned(section="20x20mm", hole="15mm", outlet="15mm", flow="150L/min")
    assert worked_out.stream.film is None
    assert "runs_full" in codes(worked_out)


NETWORK = {"channels": "5", "lift": "1m", "pump": "0:3,20:0", "supply_pipe": "13mm:4m", "header": "10mm",
           "inlet_tube": "4mm:0.4m", "row_spacing": "400mm", "fittings": "3"}  # fmt: skip


def _loss(flow, d, length, k):
    speed = flow / (3.141592653589793 / 4 * d * d)
    if flow == 0:
        return 0.0
    factor = fluids.friction_factor(Re=speed * d / kinematic_viscosity_m2_s(20), eD=1.5e-6 / d)
    return fluids.head_from_K(fluids.K_from_f(factor, length, d) + k, speed)


def test_the_network_is_in_balance_by_the_losses_of_a_reference_library(planned):
    """Energy along each path: pump = lift + supply + header up to the channel + its tube, within one percent."""
    found = planned(**NETWORK).supply
    flows = [flow * L_MIN for flow in found.channel_flows_l_min]
    head = 3 - 3 / 20 * found.working_l_min
    assert found.working_head_m == pytest.approx(head, rel=1e-3)
    assert sum(found.channel_flows_l_min) == pytest.approx(found.working_l_min)
    at_header = head - 1 - _loss(sum(flows), 0.013, 4, 3)
    for number, flow in enumerate(flows):
        along = sum(_loss(sum(flows[i:]), 0.010, 0.4, 0.3) for i in range(1, number + 1))
        assert along + _loss(flow, 0.004, 0.4, 1.5) == pytest.approx(at_header, rel=0.01)


def test_the_first_channel_gets_most_and_the_last_least(planned):
    flows = planned(**NETWORK).supply.channel_flows_l_min
    assert list(flows) == sorted(flows, reverse=True)
    assert planned(**NETWORK).supply.spread_percent == pytest.approx(
        (flows[0] - flows[-1]) / (sum(flows) / 5) * 100, rel=1e-6
    )


def test_a_narrow_header_spreads_the_flows_and_a_wide_one_does_not(planned):
    assert "spread" in codes(planned(**NETWORK | {"header": "6mm"}))
    assert planned(**NETWORK | {"header": "40mm"}).supply.spread_percent < 0.5


def test_a_pump_that_cannot_lift_is_too_weak(planned):
    worked_out = planned(**NETWORK | {"pump": "0:0.9,20:0"})
    assert worked_out.supply.channel_flows_l_min == (0,) * 5
    assert "pump_weak" in codes(worked_out)


def test_the_head_that_is_asked_is_lift_friction_and_fittings(planned):
    found = planned(**NETWORK).supply
    flow = 1.2 * L_MIN
    asked = 1 + _loss(5 * flow, 0.013, 4, 3) + sum(_loss(n * flow, 0.010, 0.4, 0.3) for n in range(1, 5))
    assert found.wanted_head_m == pytest.approx(asked + _loss(flow, 0.004, 0.4, 1.5), rel=0.01)


def test_without_inlet_tubes_the_spread_is_not_guessed(planned):
    found = planned(**NETWORK | {"inlet_tube": ""}).supply
    assert found.spread_percent is None
    assert found.working_l_min > 0


def test_spread_is_most_less_least_over_the_mean():
    assert spread_percent([1.15, 1.0, 0.85]) == pytest.approx(30)


def test_a_25_mm_drain_is_warned_of_and_a_40_mm_one_is_not(planned):
    # Common practice: 25 mm blocks in a long crop, an open end or 40-50 mm is safer.
    assert "roots_at_outlet" in codes(planned(outlet="25mm"))
    assert not codes(planned(outlet="40mm")) & {"roots_at_outlet", "drain_small"}
    assert not codes(planned(outlet="open")) & {"roots_at_outlet", "drain_small"}


def test_half_a_drain_is_what_roots_leave(planned):
    drain = planned().drainage
    assert drain.outlet_rooted_l_min == drain.outlet_l_min / 2
    assert "drain_small" in codes(planned(outlet="10mm", flow="2L/min"))


def test_the_return_running_half_full_is_manning(planned):
    # Half-full pipe: hydraulic radius d/4; fluids.V_Manning with n 0.009.
    carried = planned(return_pipe="50mm:4m").drainage.return_l_min
    speed = fluids.V_Manning(Rh=0.05 / 4, S=1 / 50, n=0.009)
    assert carried == pytest.approx(speed * 3.14159265 / 8 * 0.05**2 / L_MIN, rel=0.001)
    assert "return_small" in codes(planned(return_pipe="20mm:4m", channels="8"))
