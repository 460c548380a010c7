"""How far a step and a day may move the pH, how careful a dose is, against sums by hand."""

from __future__ import annotations

import math

import msgspec
import pytest
from light_cases import RAIN, case_of, ph, poured, read, told, told_why
from light_farm import ACID, BASE, CONCENTRATES, Note, a_farm, buffer_dip, rain_water

from rounds.advice.gates import Gates, gates_for
from rounds.advice.least_buffered import buffer_at, buffers, careful, taken_if_swapped, weakest_takes
from rounds.advice.planning_ph import dose_for, second_dip_helps, wanted
from rounds.advice.projection import as_read
from rounds.advice.step_limits import from_last_dose, left_today, moved_today, step_cap, worked_today
from rounds.belief import state as b
from rounds.book.parcel import Parcel, parcel_of
from rounds.farm.farm import Farm
from rounds.farm.model import Limits
from rounds.science.acids_bases import agent_by_molarity

FULL = a_farm(full_volume_l=301.0, waters=(rain_water(),))
"""No room for water."""


OPEN = Gates()


NITRIC = agent_by_molarity("nitric", 1.3)


@pytest.mark.parametrize(("young", "most", "cap"), [
    (False, None, 0.4), (True, None, 0.2), (False, 0.2, 0.2), (True, 0.3, 0.2), (True, 0.1, 0.1), (False, 0.5, 0.4),
])  # fmt: skip
def test_one_step_moves_the_ph_by_no_more_than(young: bool, most: float | None, cap: float) -> None:
    case = case_of(farm=a_farm(young=young))
    assert step_cap(case, Gates(most_ph=most)) == pytest.approx(cap)


def with_day(day_ph: float, young: bool = False) -> Farm:
    return a_farm(waters=(rain_water(),), limits=Limits(day_ph=day_ph), young=young)


def test_what_was_moved_today_is_taken_off_the_day() -> None:
    """From 7.0 before the first dose of today to what is believed now."""
    records = [ph(7.2, 20.0), ph(7.0, 5.0), poured("acid", 9.0, 4.9), ph(6.6, 3.0), poured("acid", 9.0, 2.9)]
    case = case_of(records, read(ph=6.3))
    assert case.state is not None
    believed = case.state.mean[0]
    assert believed == pytest.approx(6.3, abs=0.1)
    assert moved_today(case) == pytest.approx(7.0 - believed)
    assert left_today(case, "acid") == pytest.approx(1.0 - (7.0 - believed))
    nothing = case_of([ph(7.0, 5.0)], read(ph=6.3))
    assert moved_today(nothing) == 0.0
    assert left_today(nothing, "acid") == 1.0
    assert left_today(case_of(farm=with_day(0.8, young=True)), "acid") == 0.4
    assert moved_today(case_of([poured("acid", 9.0, 4.9)], read(ph=6.3))) == 0.0
    assert moved_today(case_of(records, read(ph=None))) == 0.0


@pytest.mark.parametrize(("left", "counts"), [(0.11, False), (0.13, True)])
def test_a_rest_of_the_day_below_0_12_is_not_worth_a_dose(left: float, counts: bool) -> None:
    records = [ph(7.0, 5.0), poured("acid", 9.0, 4.9)]
    moved = moved_today(case_of(records, read(ph=6.3)))
    case = case_of(records, read(ph=6.3), with_day(moved + left))
    assert left_today(case, "acid") == (pytest.approx(left) if counts else 0.0)


def test_a_day_that_is_narrow_from_the_start_is_not_too_little() -> None:
    assert left_today(case_of(farm=with_day(0.05)), "acid") == 0.05


@pytest.mark.parametrize(("value", "left"), [(4.6, 0.55), (4.9, 0.25), (5.1, 0.1)])
def test_from_below_the_lowest_ph_base_may_always_bring_it_back(value: float, left: float) -> None:
    """Up to 0.15 above the lowest pH, 5.0; a day of 0.1 would be too little."""
    case = case_of(readings=read(ph=value), farm=with_day(0.1))
    assert left_today(case, "base") == pytest.approx(left, abs=0.02)
    assert left_today(case, "acid") == pytest.approx(0.1)


def last_dose(records: list[Note], farm: Farm = RAIN, value: float = 6.6) -> float:
    return from_last_dose(case_of(records, read(ph=value), farm), NITRIC)


def test_a_dose_grows_to_four_times_the_last_one_that_was_seen_to_work() -> None:
    worked = [ph(7.0, 3.0), poured("acid", 3.0, 2.9)]
    assert last_dose(worked) == pytest.approx(12.0)
    assert last_dose([]) == math.inf
    assert last_dose([ph(7.0, 20.0), poured("acid", 3.0, 17.0)]) == math.inf
    assert last_dose([ph(7.0, 3.0), poured("base", 3.0, 2.9, "base")]) == math.inf
    assert last_dose([ph(7.0, 3.0), poured("finished", 3.0, 2.9)]) == math.inf
    assert last_dose([ph(7.0, 3.0), poured("acid", 0.0, 2.9)]) == math.inf
    assert last_dose([ph(7.0, 5.0), poured("acid", 9.0, 4.9), *worked]) == pytest.approx(12.0)
    assert last_dose([ph(7.0, 3.0), poured("acid", 0.1, 2.9)]) == 0.5


def test_a_dose_grows_by_what_it_was_worth_not_by_its_millilitres() -> None:
    """3 mL of a bottle of 0.65 mol/L are worth 1.5 mL of one of 1.3 mol/L."""
    weak = msgspec.structs.replace(ACID, id="weak", molarity_mol_l=0.65)
    other = msgspec.structs.replace(ACID, id="other", agent="sulfuric")
    farm = a_farm(waters=(rain_water(),), products=(*CONCENTRATES, ACID, weak, other, BASE))
    assert last_dose([ph(7.0, 3.0), poured("weak", 3.0, 2.9)], farm) == pytest.approx(6.0)
    assert last_dose([ph(7.0, 3.0), poured("other", 3.0, 2.9)], farm) == math.inf


@pytest.mark.parametrize(("value", "works"), [(6.6, True), (6.9, True), (7.05, False), (7.3, False)])
def test_a_bottle_has_worked_today_where_the_ph_went_its_way(value: float, works: bool) -> None:
    """By more than 0.6 of the meter's standard deviation, 0.05."""
    case = case_of([ph(7.0, 3.0), poured("acid", 3.0, 2.9)], read(ph=value))
    assert worked_today(case, "acid") is works
    assert not worked_today(case_of([ph(7.0, 3.0)], read(ph=value)), "acid")
    assert not worked_today(case_of([poured("acid", 3.0, 2.9)], read(ph=value)), "acid")
    upwards = case_of([ph(14.0 - 8.6, 3.0), poured("base", 1.0, 2.9, "base")], read(ph=5.6))
    assert worked_today(upwards, "base") and not worked_today(upwards, "acid")


def limits_of(records: list[Note], value: float, farm: Farm = FULL, most_ml: float = 500.0, **more: object):
    case = case_of([buffer_dip(), *records], read(ph=value), farm)
    projected = as_read(case)
    direction = "acid" if value > 5.8 else "base"
    agent = NITRIC if direction == "acid" else agent_by_molarity("potassium_hydroxide", 1.0)
    return dose_for(case, projected, agent, direction, gates_for(case, direction), most_ml, **more)  # type: ignore[arg-type]


def test_a_dose_is_the_least_of_its_limits_rounded_down() -> None:
    for value in (6.6, 7.4, 5.2):
        found = limits_of([], value)
        least = min(found.limits_ml.values())
        assert found.limits_ml[found.decided_by] == least == found.wanted_ml
        assert 0.0 < found.measured.amount <= least < found.measured.amount + 1.0


def test_which_limits_hold_when() -> None:
    common = {"aim", "far edge", "step", "day", "last dose", "stock", "most at once"}
    unproven = {"weakest buffer", "if swapped"}
    assert set(limits_of([], 6.6).limits_ml) == common | unproven | {"lowest pH"}
    assert set(limits_of([], 5.2).limits_ml) == common | unproven | {"far edge at rest"}
    worked = [ph(7.0, 3.0), poured("acid", 3.0, 2.9), ph(6.8, 1.5)]
    assert set(limits_of(worked, 6.8).limits_ml) == common | {"lowest pH"}
    jumped = [ph(5.8, 72.0), ph(5.8, 48.0), ph(5.82, 24.0)]
    assert set(limits_of(jumped, 7.4).limits_ml) == common | unproven | {"lowest pH", "if misread"}


def test_no_step_brings_more_than_1_25_meq_to_a_litre() -> None:
    """320 L x 1.25 meq/L / 1.3 meq/mL."""
    assert limits_of([], 6.6).limits_ml["most at once"] == pytest.approx(320.0 * 1.25 / 1.3)
    assert limits_of([], 5.2).limits_ml["most at once"] == pytest.approx(320.0 * 1.25)


def test_what_is_left_holds_a_dose_and_what_is_usual_never_a_small_step() -> None:
    assert limits_of([], 6.6, most_ml=2.0).limits_ml["stock"] == 2.0
    soft = limits_of([], 6.6, most_ml=0.6, hard_ml=400.0).limits_ml
    small = limits_of(
        [], 6.6, a_farm(full_volume_l=301.0, waters=(rain_water(),), limits=Limits(step_ph=0.2))
    ).limits_ml
    assert soft["stock"] == pytest.approx(small["step"])
    assert limits_of([], 6.6, most_ml=0.6, hard_ml=1.0).limits_ml["stock"] == 1.0
    assert limits_of([], 6.6, most_ml=300.0, hard_ml=400.0).limits_ml["stock"] == 300.0


def test_a_narrower_step_day_or_lowest_ph_is_a_smaller_dose() -> None:
    def with_limits(**limits: float) -> dict[str, float]:
        return limits_of(
            [], 7.0, a_farm(full_volume_l=301.0, waters=(rain_water(),), limits=Limits(**limits))
        ).limits_ml

    wide = with_limits()
    for name, narrow in (("step", {"step_ph": 0.2}), ("day", {"day_ph": 0.3}), ("lowest pH", {"lowest_ph": 5.9})):
        held = with_limits(**narrow)
        assert held[name] < 0.8 * wide[name]
        assert {k: v for k, v in held.items() if k != name} == pytest.approx(
            {k: v for k, v in wide.items() if k != name}
        )
    same = with_limits(step_ph=0.3, day_ph=0.3)
    assert same["step"] == pytest.approx(same["day"])


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


@pytest.mark.parametrize(("value", "sign", "worst"), [
    (6.6, -1.0, 7.4), (7.3, -1.0, 7.55), (5.2, 1.0, 4.6), (4.7, 1.0, 4.45),
])  # fmt: skip
def test_until_it_was_seen_to_work_a_dose_is_borne_if_the_bottles_are_swapped(
    value: float, sign: float, worst: float
) -> None:
    """Up to 7.4 or down to 4.6, or by 0.25 anyway: nineteen of twenty believable reservoirs come no further."""
    projected = as_read(case_of(readings=read(ph=value)))
    cloud = projected.state.cloud(b.POINTS)
    agent = NITRIC if sign < 0.0 else agent_by_molarity("potassium_hydroxide", 1.0)
    per_ml = parcel_of(agent.per_ml.scaled(1.0 / 320.0))
    found = taken_if_swapped(projected, cloud, sign, per_ml)
    other = Parcel(alkalinity_meq_l=-per_ml.alkalinity_meq_l)
    needed = b.demand(cloud, projected.curve, worst, other)
    assert found > 0.0
    assert 2 <= sum(each < found for each in needed) <= 4, "of 64 a twentieth are three"


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
