"""How far the grower's own step and day may move the pH, how careful a dose is, against sums by hand."""

from __future__ import annotations

import math

import pytest
from light_cases import case_of, ph, poured, read, told, told_why
from light_farm import TRIED, Note, a_farm, buffer_dip, rain_water

from rounds.advice.dosing_ph import PlannedDose, dose_for
from rounds.advice.gates import Direction, gates_for
from rounds.advice.least_buffered import buffer_at, buffers, careful, weakest_takes
from rounds.advice.planning_ph import second_dip_helps, wanted
from rounds.advice.projection import as_read, with_dose
from rounds.advice.step_limits import left_today, moved_today
from rounds.belief import state as b
from rounds.book.parcel import parcel_of
from rounds.farm.farm import Farm
from rounds.farm.model import Limits
from rounds.science.acids_bases import agent_by_molarity

FULL = a_farm(full_volume_l=301.0, waters=(rain_water(),))
"""No room for water."""


NITRIC = agent_by_molarity("nitric", 1.3)


def test_what_was_moved_today_is_taken_off_the_day() -> None:
    """From 7.0 before the first dose of today to what is believed now."""
    records = [ph(7.2, 20.0), ph(7.0, 5.0), poured("acid", 9.0, 4.9), ph(6.6, 3.0), poured("acid", 9.0, 2.9)]
    case = case_of(records, read(ph=6.3))
    assert case.state is not None
    believed = case.state.mean[0]
    assert believed == pytest.approx(6.3, abs=0.1)
    assert moved_today(case) == pytest.approx(7.0 - believed)
    assert left_today(case, 1.0, "acid") == pytest.approx(1.0 - (7.0 - believed))
    nothing = case_of([ph(7.0, 5.0)], read(ph=6.3))
    assert moved_today(nothing) == 0.0
    assert left_today(nothing, 1.0, "acid") == 1.0
    assert left_today(case_of(farm=a_farm(waters=(rain_water(),), young=True)), 0.8, "acid") == 0.4
    assert moved_today(case_of([poured("acid", 9.0, 4.9)], read(ph=6.3))) == 0.0
    assert moved_today(case_of(records, read(ph=None))) == 0.0


@pytest.mark.parametrize(("left", "counts"), [(0.11, False), (0.13, True)])
def test_a_rest_of_the_day_below_0_12_is_not_worth_a_dose(left: float, counts: bool) -> None:
    records = [ph(7.0, 5.0), poured("acid", 9.0, 4.9)]
    moved = moved_today(case_of(records, read(ph=6.3)))
    case = case_of(records, read(ph=6.3))
    assert left_today(case, moved + left, "acid") == (pytest.approx(left) if counts else 0.0)


def test_a_day_that_is_narrow_from_the_start_is_not_too_little() -> None:
    assert left_today(case_of(), 0.05, "acid") == 0.05


@pytest.mark.parametrize(("value", "left"), [(4.6, 0.55), (4.9, 0.25), (5.1, 0.1)])
def test_from_below_the_lowest_ph_base_may_always_bring_it_back(value: float, left: float) -> None:
    """Up to 0.15 above the lowest pH, 5.0; a day of 0.1 would be too little."""
    case = case_of(readings=read(ph=value))
    assert left_today(case, 0.1, "base") == pytest.approx(left, abs=0.02)
    assert left_today(case, 0.1, "acid") == pytest.approx(0.1)


def limits_of(
    records: list[Note], value: float, farm: Farm = FULL, most_ml: float = 500.0, **more: float
) -> PlannedDose:
    case = case_of([buffer_dip(), *records], read(ph=value), farm)
    direction: Direction = "acid" if value > 5.8 else "base"
    agent = NITRIC if direction == "acid" else agent_by_molarity("potassium_hydroxide", 1.0)
    return dose_for(case, as_read(case), agent, direction, direction, gates_for(case, direction), most_ml, **more)


def own(**limits: float) -> Farm:
    """A farm whose grower has set limits."""
    return a_farm(full_volume_l=301.0, waters=(rain_water(),), limits=Limits(**limits))


def test_a_dose_is_the_least_of_its_limits_rounded_down() -> None:
    for value in (6.6, 7.4, 5.2):
        for records in ([], [*TRIED]):
            found = limits_of(records, value)
            least = min(found.limits_ml.values())
            assert found.limits_ml[found.decided_by] == least == found.wanted_ml
            assert 0.0 < found.measured.amount <= least < found.measured.amount + 1.0


def test_which_limits_hold_when() -> None:
    common = {"aim", "far edge", "stock", "harm", "if a fault is there"}
    assert set(limits_of([], 6.6).limits_ml) == common
    assert set(limits_of([], 5.2).limits_ml) == common | {"far edge at rest"}
    worked = [ph(7.0, 3.0), poured("acid", 3.0, 2.9), ph(6.8, 1.5)]
    assert set(limits_of(worked, 6.8).limits_ml) == common
    jumped = [ph(5.8, 72.0), ph(5.8, 48.0), ph(5.82, 24.0)]
    assert set(limits_of(jumped, 7.4).limits_ml) == common | {"if misread"}
    assert set(limits_of([], 6.6, own(step_ph=0.4, day_ph=1.0)).limits_ml) == common | {"step", "day"}


def test_what_is_left_holds_a_dose_and_what_is_usual_does_not() -> None:
    assert limits_of([], 6.6, most_ml=2.0).limits_ml["stock"] == 2.0
    assert limits_of([], 6.6, most_ml=0.6, hard_ml=400.0).limits_ml["stock"] == 400.0
    assert limits_of([], 6.6, most_ml=0.6, hard_ml=1.0).limits_ml["stock"] == 1.0
    usual, none = (limits_of([*TRIED], 6.6, most_ml=ml, hard_ml=400.0) for ml in (0.6, 400.0))
    assert usual.measured == none.measured and usual.measured.amount > 0.6


def test_a_narrower_step_or_day_of_the_growers_own_is_a_smaller_dose() -> None:
    wide = limits_of([], 7.0, own(step_ph=0.4, day_ph=1.0)).limits_ml
    for name, narrow in (("step", {"step_ph": 0.2, "day_ph": 1.0}), ("day", {"step_ph": 0.4, "day_ph": 0.3})):
        held = limits_of([], 7.0, own(**narrow)).limits_ml
        assert held[name] < 0.8 * wide[name]
        same = {"aim", "far edge", "stock", "step", "day"} - {name}
        assert {k: held[k] for k in same} == pytest.approx({k: wide[k] for k in same})
    same_both = limits_of([], 7.0, own(step_ph=0.3, day_ph=0.3)).limits_ml
    assert same_both["step"] == pytest.approx(same_both["day"])
    assert limits_of([*TRIED], 7.0, own(step_ph=0.1)).decided_by == "step"


def test_half_of_the_growers_own_step_and_day_hold_for_young_plants() -> None:
    def young(**limits: float) -> dict[str, float]:
        farm = a_farm(full_volume_l=301.0, waters=(rain_water(),), limits=Limits(**limits), young=True)
        return limits_of([], 7.0, farm).limits_ml

    grown = limits_of([], 7.0, own(step_ph=0.2, day_ph=0.5)).limits_ml
    half = young(step_ph=0.4, day_ph=1.0)
    assert (half["step"], half["day"]) == pytest.approx((grown["step"], grown["day"]))


def test_no_dose_is_foreseen_to_end_below_the_growers_lowest_ph() -> None:
    """Though all limits together would allow more."""
    farm = own(lowest_ph=6.35)
    free, held = limits_of([*TRIED], 6.6), limits_of([*TRIED], 6.6, farm)
    assert 0.0 < held.measured.amount < free.measured.amount
    assert held.limits_ml == pytest.approx(free.limits_ml)
    case = case_of([buffer_dip(), *TRIED], read(ph=6.6), farm)
    assert with_dose(as_read(case), NITRIC, held.measured.amount).ph_range[1] >= 6.35


@pytest.mark.parametrize(
    ("value", "direction"), [(6.6, "acid"), (5.2, "base"), (5.8, None), (6.3, "acid"), (5.3, "base")]
)
def test_which_way_the_ph_has_to_go(value: float, direction: str | None) -> None:
    case = case_of(readings=read(ph=value), farm=FULL)
    found = wanted(case, as_read(case))
    assert (None if found is None else found.direction) == direction
    if found is not None:
        assert not found.ahead_of_time and told(found.outlook) == ""
        assert f"in its band of 5.5 to 6.1 with a likelihood of {found.in_band:.0%} only" in told_why(found)


@pytest.mark.parametrize(("in_band", "helps"), [(0.3, False), (0.31, True), (0.95, True), (0.96, False), (0.0, False)])
def test_a_second_dip_helps_where_it_is_in_doubt_and_only_once(in_band: float, helps: bool) -> None:
    assert second_dip_helps(case_of(), in_band, None) is helps
    assert not second_dip_helps(case_of([ph(5.8, 0.0), ph(5.8, 0.2)]), in_band, None)


def test_what_is_needed_is_taken_carefully_by_the_logarithm_or_straight() -> None:
    """Of 1 and e² the logarithms are 1 off by 1; -1 and 3 are 1 off by 2."""
    assert careful([1.0, math.e**2]) == pytest.approx(math.exp(1.0 - 2.8))
    assert careful([1.0, math.e**2], 1.0) == pytest.approx(1.0)
    assert careful([-1.0, 3.0], 0.25) == pytest.approx(0.5)
    assert careful([-1.0, 3.0]) == 0.0 and careful([0.0, 4.0], 0.5) == pytest.approx(1.0)


@pytest.mark.parametrize(("value", "edge", "sign"), [(6.8, 5.5, -1.0), (5.1, 6.1, 1.0)])
def test_the_weakest_believable_reservoir_is_brought_no_further_than_0_4_past_the_edge(
    value: float, edge: float, sign: float
) -> None:
    """2.9 standard deviations less phosphate, 1.7 less CO2, half of one more arriving, half of the pH's error."""
    projected = as_read(case_of(readings=read(ph=value)))
    state = projected.state
    weakest = list(state.mean)
    for i, sds in ((b.PHOSPHATE, -2.9), (b.PRESSURE, -1.7), (b.ARRIVING, 0.5), (b.PH, 0.5 * sign)):
        weakest[i] += sds * state.sd(i)
    agent = NITRIC if sign < 0.0 else agent_by_molarity("potassium_hydroxide", 1.0)
    per_ml = parcel_of(agent.per_ml.scaled(1.0 / 320.0))
    (needed,) = b.demand([weakest], projected.curve, edge + 0.4 * sign, per_ml)
    assert weakest_takes(projected, edge, sign, per_ml) == pytest.approx(needed) and needed > 0.0
    assert weakest_takes(projected, value - 1.0 * sign, sign, per_ml) == 0.0


def test_the_buffer_of_a_reservoir_is_the_slope_of_its_curve() -> None:
    projected = as_read(case_of(readings=read(ph=6.6)))
    mean = projected.state.mean
    held = projected.curve.parts(6.6)[3]
    slope = projected.curve.slope_meq_l_ph(6.6, math.exp(mean[b.PHOSPHATE]), math.exp(mean[b.PRESSURE]) * held)
    assert buffer_at(mean, projected) == pytest.approx(slope)
    weakest, middle = buffers(projected, projected.state.cloud(b.POINTS))
    assert 0.0 < weakest < 0.7 * middle and middle == pytest.approx(slope, rel=0.2)
