"""Where a reservoir stands as read and after each step, and what is foreseen of a dose, by hand."""

from __future__ import annotations

import math
from types import SimpleNamespace

import pytest
from light_cases import case_of, ec, ph, poured, read, told, told_why
from light_farm import Note, a_farm, buffer_dip, hard_water, rain_water

from rounds.advice.dosing_ph import QUICK_POINTS, dose_for, hardly_moves, kept_above_lowest
from rounds.advice.gates import believed_share_in_band, gates_for
from rounds.advice.planning_ph import is_worth_it, wanted
from rounds.advice.projection import as_read, drained, later, ph_mixed, with_dose, with_liquid, with_water
from rounds.belief import state as b
from rounds.book.measures import Measured, millilitres_down
from rounds.farm.model import Limits
from rounds.science.acids_bases import agent_by_molarity
from rounds.science.conductivity import ec25_ms_cm
from rounds.science.solution import Solution

FULL = a_farm(full_volume_l=301.0, waters=(rain_water(),))


NITRIC, POTASH = agent_by_molarity("nitric", 1.3), agent_by_molarity("potassium_hydroxide", 1.0)


def test_which_reading_is_the_one_on_record() -> None:
    """The same value within three hours, with nothing poured after it, is the one just read; else it comes on top."""

    def seen_again(records: list[Note], value: float = 6.5) -> bool:
        return bool(case_of(records, read(ph=value)).seen)

    assert seen_again([ph(6.5, 0.0)]) and seen_again([ph(6.5, 2.99)])
    assert not seen_again([ph(6.5, 3.0)]) and not seen_again([ph(6.4, 0.0)]) and not seen_again([])
    assert not seen_again([ph(6.5, 1.0), poured("acid", 5.0, 0.5)])
    assert not seen_again([ph(6.5, 1.0), poured("rain", 5.0, 0.5, "top_up")])
    assert seen_again([poured("acid", 5.0, 1.5), ph(6.5, 1.0)]) and seen_again([ph(6.5, 1.0), ec(1.8, 0.5)])
    assert seen_again([ph(6.5, 1.0), poured("acid", 5.0, 1.0)])
    case = case_of([ph(6.8, 24.0), ph(6.5, 0.5)], read(ph=6.5))
    assert [event.value for event in case.seen] == [6.8, 6.5]
    assert case.before.gaussian is not None and case.before.gaussian.mean[b.PH] == pytest.approx(6.8)
    unread = case_of([ph(6.8, 24.0)], read(ph=None))
    assert unread.state is None and [event.value for event in unread.seen] == [6.8]


def test_a_first_reading_is_believed_as_the_meter_is() -> None:
    projected = as_read(case_of(readings=read(ph=6.5)))
    spread = 1.645 * math.hypot(0.05, 0.05)
    assert projected.ph_range == pytest.approx((6.5, 6.5 - spread, 6.5 + spread))
    assert (projected.ec_ms_cm, projected.ec_sd, projected.inside_l, projected.outside_l) == (1.8, 0.02, 300.0, 20.0)
    unread = as_read(case_of(readings=read(ph=None, ec_ms_cm=None)))
    assert unread.state.mean[b.PH] == pytest.approx(5.8) and unread.state.sd(b.PH) == pytest.approx(0.5)
    assert unread.state.sd(b.PHOSPHATE) == pytest.approx(0.5)
    assert unread.state.sd(b.PRESSURE) == pytest.approx(math.hypot(0.2, 0.65))
    assert unread.ec_sd == pytest.approx(0.15 * unread.ec_ms_cm)
    assert believed_share_in_band(case_of(readings=read(ph=None))) == 0.0
    assert believed_share_in_band(case_of(readings=read(ph=5.8))) > 0.99
    assert believed_share_in_band(case_of(readings=read(ph=6.1))) == pytest.approx(0.5, abs=0.01)


def test_what_is_said_of_where_it_stands_holds_nine_in_ten() -> None:
    case = case_of(readings=read(ph=6.5))
    after = as_read(case).after()
    assert (after.volume_l.value, after.ph.value, after.ec_ms_cm.value) == (320.0, 6.5, 1.8)
    half = 1.645 * math.hypot(9.0 / 1.645, 0.15 * 20.0)
    assert (after.volume_l.low, after.volume_l.high) == pytest.approx((320.0 - half, 320.0 + half))
    half = 1.645 * math.hypot(0.02, 0.02 * 1.8)
    assert (after.ec_ms_cm.low, after.ec_ms_cm.high) == pytest.approx((1.8 - half, 1.8 + half))


def test_draining_takes_litres_and_nothing_else() -> None:
    before = as_read(case_of())
    after = drained(before, 40.0)
    assert (after.inside_l, after.outside_l, after.ec_ms_cm, after.state) == (260.0, 20.0, 1.8, before.state)
    assert drained(before, 400.0).inside_l == 0.0


def test_water_thins_by_its_share_and_brings_its_litres() -> None:
    case = case_of()
    before = as_read(case)
    water = case.waters[0]
    after = with_water(before, water, 40.0)
    assert (after.inside_l, after.volume_l) == (340.0, 360.0)
    assert after.ec_ms_cm == pytest.approx((1.8 * 320.0 + 0.02 * 40.0) / 360.0, abs=0.02)
    assert math.exp(after.state.mean[b.PHOSPHATE]) == pytest.approx(
        math.exp(before.state.mean[b.PHOSPHATE]) * 320.0 / 360.0, rel=0.02
    )
    moved = 1.8 - after.ec_ms_cm
    assert after.ec_sd == pytest.approx(math.hypot(0.02, moved * math.hypot(0.03, before.volume_times_sd)), rel=0.01)


def test_a_concentrate_raises_by_what_it_brings() -> None:
    case = case_of()
    before = as_read(case)
    liquid = Solution(k=1000.0, no3=1000.0)
    after = with_liquid(before, liquid, 0.32, 0.05, strong=True)
    brought = ec25_ms_cm(after.solution, 6.0) - ec25_ms_cm(before.solution, 6.0)
    assert after.solution.k == pytest.approx((before.solution.k * 320.0 + 320.0) / 320.32)
    assert after.ec_ms_cm == pytest.approx(1.8 + brought * before.ec_scale, rel=1e-3)
    assert after.ec_sd == pytest.approx(math.hypot(0.02, (after.ec_ms_cm - 1.8) * before.feeding_sd), rel=1e-3)
    assert after.inside_l == pytest.approx(300.32)


def test_a_dose_is_booked_and_stirred_in() -> None:
    before = as_read(case_of(readings=read(ph=6.8)))
    after = with_dose(before, NITRIC, 32.0)
    assert after.solution.no3 == pytest.approx(before.solution.no3 + 32.0 * 1.3 / 320.0)
    assert after.inside_l == pytest.approx(300.032)
    assert after.ph_range[0] < 6.7
    waited = with_dose(before, NITRIC, 32.0, hours=2.0)
    assert waited.ph_range[0] > after.ph_range[0] + 0.005, "CO2 leaves meanwhile"
    assert with_dose(before, NITRIC, 0.0).ph_range[0] == pytest.approx(6.8, abs=0.01)


@pytest.mark.parametrize("hours", [12.0, 24.0, 48.0])
def test_hours_loosen_by_0_02_in_a_day_and_doubt_by_less_than_a_bell(hours: float) -> None:
    before = as_read(case_of(readings=read(ph=6.5)))
    after = later(before, hours)
    bare = b.summed_up(b.aged(before.state, before.curve, hours))
    assert after.state.mean == pytest.approx(bare.mean)
    assert after.state.covariance[0][0] == pytest.approx(bare.covariance[0][0] + 0.02**2 * hours / 24.0)
    spread = 1.9 * math.hypot(after.state.sd(b.PH), 0.05)
    middle = after.state.mean[b.PH]
    assert after.ph_range == pytest.approx((middle, middle - spread, middle + spread))
    assert (after.inside_l, after.ec_ms_cm) == (before.inside_l, before.ec_ms_cm)


def test_the_ph_of_a_mixture_is_that_of_the_cloud_in_its_middle() -> None:
    farm = a_farm(waters=(hard_water(), rain_water()))
    case = case_of([], read(ph=6.0), farm)
    before = as_read(case)
    for water in case.waters:
        assert ph_mixed(before, water.solution, 40.0) == pytest.approx(
            with_water(before, water, 40.0).state.mean[b.PH], abs=0.06
        )
    hard = case.waters[0].solution
    assert ph_mixed(before, hard, 0.0) == pytest.approx(6.0, abs=0.01)
    assert ph_mixed(before, hard, 40.0, 1.35) > ph_mixed(before, hard, 40.0) > ph_mixed(before, hard, 40.0, 0.6)
    assert ph_mixed(before, hard, 40.0, weak_sds=1.0) > ph_mixed(before, hard, 40.0) + 0.02
    assert ph_mixed(before, hard, 40.0, at_rest=True) > ph_mixed(before, hard, 40.0) + 0.1


def test_a_dose_that_hardly_moves_anything_is_told_from_one_that_does() -> None:
    before = as_read(case_of(readings=read(ph=6.6)))
    assert not hardly_moves(before, NITRIC, Measured(20.0, "mL"))
    assert not hardly_moves(before, NITRIC, Measured(0.0, "mL"))
    assert kept_above_lowest(case_of(), before, NITRIC, Measured(5.0, "mL")) == Measured(5.0, "mL")


def test_no_prediction_of_an_acid_ends_below_the_lowest_ph() -> None:
    """Cut by 0.6 at a time, eight times; of base nothing is cut."""
    case = case_of(readings=read(ph=6.0))
    before = as_read(case)
    found = kept_above_lowest(case, before, NITRIC, Measured(400.0, "mL"))
    assert 0.0 < found.amount < 400.0
    assert with_dose(before, NITRIC, found.amount).ph_range[1] >= 5.0
    steps = [400.0]
    while steps[-1] > found.amount:
        steps.append(millilitres_down(steps[-1] * 0.6).amount)
    assert steps[-1] == found.amount
    assert with_dose(before, NITRIC, steps[-2]).ph_range[1] < 5.0
    assert kept_above_lowest(case, before, POTASH, Measured(400.0, "mL"), "base") == Measured(400.0, "mL")
    low = as_read(case_of(readings=read(ph=5.0)))
    assert kept_above_lowest(case, low, NITRIC, Measured(400.0, "mL")).amount == 0.0


@pytest.mark.parametrize(("value", "sign"), [(6.9, -1.0), (5.0, 1.0)])
def test_a_dose_is_aimed_past_the_middle_against_what_will_come_by_no_more_than_a_quarter_of_the_band(
    value: float, sign: float
) -> None:
    """CO2 that an acid sets free leaves again, so that the pH climbs by the next round; base takes some up."""
    case = case_of([buffer_dip()], read(ph=value), FULL)
    agent, direction = (NITRIC, "acid") if sign < 0.0 else (POTASH, "base")
    aim = dose_for(case, as_read(case), agent, direction, direction, gates_for(case, direction), 500.0).aim_ph  # type: ignore[arg-type]
    assert abs(aim - 5.8) <= 0.25 * 0.6 + 1e-9
    assert (aim < 5.8) is (sign < 0.0)


@pytest.mark.parametrize(("next_h", "value"), [(24.0, 6.0), (1.0, 6.0)])
def test_what_will_not_stay_in_its_band_is_moved_ahead_of_time(next_h: float, value: float) -> None:
    """A fresh fill whose CO2 leaves: in band now, above it at the next round, within an hour not yet."""
    farm = a_farm(waters=(hard_water(),), limits=Limits(next_round_h=next_h), full_volume_l=301.0)
    fill = [poured("well", 320.0, 1.2, "change_out"), poured("acid", 900.0, 1.1)]
    case = case_of(fill, read(ph=value), farm)
    projected = as_read(case)
    found = wanted(case, projected)
    then = later(projected, next_h, QUICK_POINTS)
    stays = b.share_within(then.state, 5.5, 6.1) >= 0.45 or 5.5 <= then.state.mean[b.PH] <= 6.1
    if b.share_within(projected.state, 5.5, 6.1) >= 0.82:
        assert (found is None) is stays
        if found is not None:
            assert found.ahead_of_time and found.direction == "acid" and "better moved now" in told_why(found)
            assert (
                told(found.outlook) == f"The pH is in band now, but about {then.state.mean[b.PH]:.1f} by the next round"
            )
            dose = SimpleNamespace(measured=Measured(0.0, "mL"))
            assert not is_worth_it(projected, NITRIC, dose)  # type: ignore[arg-type]
