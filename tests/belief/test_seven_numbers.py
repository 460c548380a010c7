"""What a dose, water and hours move of the seven numbers, and what a target needs, by hand."""

from __future__ import annotations

import math

import pytest
from believed import ACID, AIR_ATM, begun, sure

from rounds.belief import state as b
from rounds.belief.curve import Curve
from rounds.book.parcel import Parcel


def test_a_belief_begins_with_what_was_read_and_what_is_usual() -> None:
    rest = begun()
    logs = (0.0, math.log(3.0 * AIR_ATM), math.log(3.0 * AIR_ATM), math.log(0.25), 0.0, 0.03)
    assert rest.mean == pytest.approx((6.5, *logs))
    assert [rest.sd(i) for i in range(7)] == pytest.approx([0.05, 0.2, math.hypot(0.15, 0.65), 0.65, 0.5, 0.14, 0.1])
    assert rest.covariance[b.PRESSURE][b.RESTING] == rest.covariance[b.RESTING][b.PRESSURE] == pytest.approx(0.65**2)
    known = begun(pressure_atm=0.01)
    assert (known.mean[b.PRESSURE], known.sd(b.PRESSURE)) == pytest.approx((math.log(0.01), 0.15))
    assert known.covariance[b.PRESSURE][b.RESTING] == 0.0
    assert begun(phosphate=0.0).mean[b.PHOSPHATE] == pytest.approx(math.log(1e-3))
    assert b.habits_of(rest) == b.habits()
    assert b.habits(aerated=False).mean[1] == pytest.approx(math.log(0.08))


def test_a_dose_that_is_sure_moves_the_ph_along_the_curve(curve: Curve) -> None:
    held = 3.0 * AIR_ATM * curve.parts(6.5)[3]
    for arrives in (1.0, 1.3):
        after = b.summed_up(b.dosed(sure(arrives=arrives), curve, ACID))
        meant = curve.ph_closed(curve.alkalinity_meq_l(6.5, 1.0, held) - arrives * 0.2, 1.0, held)
        assert after.mean[b.PH] == pytest.approx(meant, abs=1e-4)
        assert math.exp(after.mean[b.PRESSURE]) * curve.parts(meant)[3] == pytest.approx(held, rel=1e-3)
    fed = b.summed_up(b.dosed(sure(arrives=2.0), curve, Parcel(phosphate=0.25, carbonate=0.1)))
    assert math.exp(fed.mean[b.PHOSPHATE]) == pytest.approx(1.5, rel=1e-4)
    assert math.exp(fed.mean[b.PRESSURE]) * curve.parts(fed.mean[b.PH])[3] == pytest.approx(held + 0.2, rel=1e-3)


def test_water_that_is_sure_moves_everything_by_its_share(curve: Curve) -> None:
    held = 3.0 * AIR_ATM * curve.parts(6.5)[3]
    water = Parcel(alkalinity_meq_l=4.0, phosphate=0.2, carbonate=4.2)
    after = b.summed_up(b.diluted(sure(), curve, 0.25, water))
    alkalinity = 0.75 * curve.alkalinity_meq_l(6.5, 1.0, held) + 0.25 * 4.0
    carbonate, phosphate = 0.75 * held + 0.25 * 4.2, 0.75 + 0.05
    assert math.exp(after.mean[b.PHOSPHATE]) == pytest.approx(phosphate, rel=1e-4)
    assert after.mean[b.PH] == pytest.approx(curve.ph_closed(alkalinity, phosphate, carbonate), abs=1e-3)
    assert len(after.mean) == 7
    doubted = b.summed_up(b.diluted(sure(), curve, 0.25, water, 0.3))
    assert doubted.sd(b.PH) > 10.0 * after.sd(b.PH)


def test_co2_leaves_at_its_pace_and_plants_add_theirs(curve: Curve) -> None:
    """Where next to no bicarbonate follows (pH 4) the rest of the difference is exp(-0.25 * 4 h)."""
    for hours in (1.0, 4.0):
        after = b.summed_up(b.aged(sure(4.0, times_air=30.0), curve, hours))
        gone = (math.exp(after.mean[b.PRESSURE]) - 3.0 * AIR_ATM) / (27.0 * AIR_ATM)
        assert gone == pytest.approx(math.exp(-0.25 * hours), rel=0.02)
    rest = b.summed_up(b.aged(sure(), curve, 30.0))
    assert rest.mean[b.PH] == pytest.approx(6.5, abs=1e-3)
    fed = b.summed_up(b.aged(sure(plants=0.1), curve, 48.0))
    phosphate_and_air = curve.alkalinity_meq_l(6.5, 1.0, 3.0 * AIR_ATM * curve.parts(6.5)[3])
    assert fed.mean[b.PH] == pytest.approx(curve.ph_held(phosphate_and_air + 0.2, 1.0, 3.0 * AIR_ATM), abs=1e-3)
    longest = b.summed_up(b.aged(sure(plants=0.1), curve, 500.0))
    assert longest.mean[b.PH] == pytest.approx(curve.ph_held(phosphate_and_air + 0.4, 1.0, 3.0 * AIR_ATM), abs=1e-3)


def test_bicarbonate_slows_the_co2_down(curve: Curve) -> None:
    fast, slow = (b.summed_up(b.aged(sure(ph, times_air=30.0), curve, 2.0)).mean[b.PRESSURE] for ph in (4.0, 7.0))
    assert fast < slow < math.log(30.0 * AIR_ATM)


def test_what_a_target_needs_is_what_brings_it_there(curve: Curve) -> None:
    for target in (5.8, 7.0):
        (needed,) = b.demand([list(sure().mean)], curve, target, ACID)
        assert (needed > 0.0) is (target < 6.5)
        there = b.summed_up(b.dosed(sure(), curve, ACID.times(needed)))
        assert there.mean[b.PH] == pytest.approx(target, abs=0.003)
    (half,) = b.demand([list(sure(arrives=2.0).mean)], curve, 5.8, ACID)
    (whole,) = b.demand([list(sure().mean)], curve, 5.8, ACID)
    assert half == pytest.approx(whole / 2.0)
    phosphoric = Parcel(alkalinity_meq_l=-0.2, phosphate=0.2)
    (needed,) = b.demand([list(sure().mean)], curve, 5.8, phosphoric)
    assert b.summed_up(b.dosed(sure(), curve, phosphoric.times(needed))).mean[b.PH] == pytest.approx(5.8, abs=0.003)


@pytest.mark.parametrize(("start_ph", "target"), [(6.2, 6.5), (6.8, 6.0), (4.8, 4.0)])
def test_what_is_needed_at_rest_is_what_holds_once_the_co2_has_come_to_rest(
    curve: Curve, start_ph: float, target: float
) -> None:
    """Down at 4 the protons themselves count."""
    start = sure(start_ph, times_air=20.0)
    (needed,) = b.demand_at_rest([list(start.mean)], curve, target, Parcel(alkalinity_meq_l=-0.1))
    dosed = b.summed_up(b.dosed(start, curve, Parcel(alkalinity_meq_l=-0.1).times(needed)))
    assert b.summed_up(b.aged(dosed, curve, 96.0)).mean[b.PH] == pytest.approx(target, abs=0.02)


@pytest.mark.parametrize(("plants", "worth", "helps"), [
    (0.12, -0.2, False), (-0.12, -0.2, True), (0.12, 0.2, True), (-0.12, 0.2, False), (0.0, -0.2, False),
])  # fmt: skip
def test_what_plants_do_meanwhile_may_help_and_never_hinder(
    curve: Curve, plants: float, worth: float, helps: bool
) -> None:
    """0.12 meq/L a day are 0.06 in 12 hours: of a dose of 0.2 meq/L by 0.3 of it less."""
    target, parcel = (5.8 if worth < 0.0 else 7.0), Parcel(alkalinity_meq_l=worth)
    for asked in (b.demand, b.demand_at_rest):
        (now,), (then,) = (
            asked([list(sure(plants=plants).mean)], curve, target, parcel, hours) for hours in (0.0, 12.0)
        )
        assert now - then == pytest.approx(0.3 if helps else 0.0, abs=1e-9)


def test_how_likely_the_ph_lies_between_two_values() -> None:
    """One standard deviation to both sides hold 68.27 %, 1.645 of them nine in ten."""
    belief = begun(6.0, ph_sd=0.1)
    assert b.share_within(belief, 5.9, 6.1) == pytest.approx(0.6827, abs=1e-4)
    assert b.share_within(belief, 6.0, 9.0) == pytest.approx(0.5, abs=1e-6)
    assert b.share_within(belief, 6.0 - 0.1645, 6.0 + 0.1645) == pytest.approx(0.9, abs=1e-3)
    middle, low, high = b.ph_range(belief.cloud(64))
    assert (middle, low, high) == pytest.approx((6.0, 5.8355, 6.1645), abs=0.02)
    wide = b.ph_range([[6.0]] * 4, 0.1)
    assert wide == pytest.approx((6.0, 6.0 - 0.1645, 6.0 + 0.1645))
