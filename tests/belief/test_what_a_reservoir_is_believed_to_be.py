"""The belief against sums by hand: bells and clouds, what a dose, water and hours move, what is stored and taken up."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta
from types import SimpleNamespace
from typing import Any

import pytest

from rounds.belief import state as b
from rounds.belief.curve import Curve, curve_of
from rounds.belief.feeding import strength_seen
from rounds.belief.first_reading import first_belief
from rounds.belief.gaussian import Gaussian, independent, of_cloud, quantile, standard_cloud
from rounds.belief.memory import digest, kept, resumed, that_teach, thinned
from rounds.belief.pooling import pooled_habits
from rounds.belief.response import Response, after_event, followed, waited
from rounds.belief.stored import BELIEVABLE, gaussian_of
from rounds.book.entries import entries_of
from rounds.book.ledger import UNKNOWN_DOUBT, Ledger, LedgerEvent
from rounds.book.parcel import Parcel
from rounds.science.conductivity import ec25_ms_cm
from rounds.science.solution import Solution, mix

NOON = datetime(2026, 6, 10, 12, 0, tzinfo=UTC)
FEED = Solution(ca=3.0, mg=1.0, k=5.0, no3=10.0, so4=1.0, po4=1.0, carbonate=0.3, na=0.5, cl=0.5)
AIR_ATM = 0.00042
ACID = Parcel(alkalinity_meq_l=-0.2)


@pytest.fixture(scope="module")
def curve() -> Curve:
    return curve_of(FEED, 20.0)


# ----------------------------------------------------------------------------------------------------- bells, clouds


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


# ------------------------------------------------------------------------------------------------------------- curve


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


# ------------------------------------------------------------------------------------------------- the seven numbers


def begun(ph: float = 6.5, **other: Any) -> Gaussian:
    usual = {"ph_sd": 0.05, "phosphate": 1.0, "phosphate_sd": 0.2, "pressure_atm": None, "pressure_sd": 0.15}
    return b.begun(ph=ph, habits=b.habits(), **{**usual, **other})


def sure(ph: float = 6.5, times_air: float = 3.0, arrives: float = 1.0, leaving: float = 0.25, plants: float = 0.0):
    """A belief without any doubt."""
    mean = (
        ph,
        0.0,
        math.log(times_air * AIR_ATM),
        math.log(3.0 * AIR_ATM),
        math.log(leaving),
        math.log(arrives),
        plants,
    )
    return independent(mean, (1e-6,) * 7)


def test_a_belief_begins_with_what_was_read_and_what_is_usual() -> None:
    rest = begun()
    logs = (0.0, math.log(3.0 * AIR_ATM), math.log(3.0 * AIR_ATM), math.log(0.25), 0.0, 0.0)
    assert rest.mean == pytest.approx((6.5, *logs))
    assert [rest.sd(i) for i in range(7)] == pytest.approx([0.05, 0.2, math.hypot(0.15, 0.65), 0.65, 0.5, 0.14, 0.04])
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


def test_what_is_needed_at_rest_is_what_holds_once_the_co2_has_come_to_rest(curve: Curve) -> None:
    start = sure(6.2, times_air=20.0)
    (needed,) = b.demand_at_rest([list(start.mean)], curve, 6.5, Parcel(alkalinity_meq_l=-0.1))
    dosed = b.summed_up(b.dosed(start, curve, Parcel(alkalinity_meq_l=-0.1).times(needed)))
    assert b.summed_up(b.aged(dosed, curve, 96.0)).mean[b.PH] == pytest.approx(6.5, abs=0.02)


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


# ----------------------------------------------------------------------------------------------------- what is stored


def stored(**changes: Any) -> dict[str, Any]:
    return {"mean": [6.0, 0.0], "covariance": [[0.25], [0.1, 1.0]], **changes}


TWO = ((3.0, 10.0), (-8.0, 4.0))


def test_stored_numbers_come_back_as_they_were() -> None:
    assert gaussian_of(stored(), TWO) == Gaussian((6.0, 0.0), ((0.25, 0.1), (0.1, 1.0)))
    assert gaussian_of(stored(mean=[3.0, 4.0]), TWO) is not None
    assert gaussian_of(stored(covariance=[[25.0], [0.0, 0.0]]), TWO) is not None
    assert gaussian_of(stored(covariance=[[0.25], [0.505, 1.0]]), TWO) is not None


@pytest.mark.parametrize("changes", [
    {"mean": [6.0]}, {"mean": [6.0, 0.0, 0.0]}, {"mean": [2.9, 0.0]}, {"mean": [10.1, 0.0]}, {"mean": [6.0, 4.1]},
    {"mean": [math.nan, 0.0]}, {"covariance": [[0.25]]}, {"covariance": [[0.25], [0.1]]},
    {"covariance": [[25.1], [0.0, 1.0]]}, {"covariance": [[-0.1], [0.0, 1.0]]},
    {"covariance": [[0.25], [0.51, 1.0]]}, {"covariance": [[0.25], [-0.51, 1.0]]},
])  # fmt: skip
def test_what_nobody_could_have_believed_is_none(changes: dict[str, Any]) -> None:
    assert gaussian_of(stored(**changes), TWO) is None


def event(what: str, hours: float, value: float = 0.0, **other: Any) -> LedgerEvent:
    usual = {"record_id": f"{what}{hours}", "solution": FEED, "volume_l": 300.0}
    return LedgerEvent(at=NOON + timedelta(hours=hours), what=what, value=value, **{**usual, **other})  # type: ignore[arg-type]


def ledger(*events: LedgerEvent, since: datetime | None = None) -> Ledger:
    return Ledger(solution=FEED, volume_l=300.0, since=since, drunk_share=0.0, events=events)


ACID_EVENT = {"parcel": ACID, "item": "acid"}
SD = {None: 0.05, "pen": 0.03}


def lived(curve: Curve, *events: LedgerEvent) -> Response:
    return followed(ledger(*events), curve, SD, b.habits())


def test_readings_doses_water_and_change_outs_are_counted(curve: Curve) -> None:
    nothing = lived(curve, event("dose", 0.0, 5.0, **ACID_EVENT), event("ec", 1.0, 1.8))
    assert (nothing.gaussian, nothing.closed, nothing.dosed_since_reading) == (None, 0, False)
    first = event("ph", 0.0, 6.5)
    read = lived(curve, first)
    assert read.gaussian is not None and read.at == first.at
    assert (read.gaussian.mean[b.PH], read.gaussian.sd(b.PH)) == pytest.approx((6.5, 0.05))
    dosed = lived(curve, first, event("dose", 1.0, 5.0, **ACID_EVENT))
    assert (dosed.dosed_since_reading, dosed.tried, dosed.last_item, dosed.closed) == (True, True, "acid", 0)
    assert [rival.name for rival in dosed.rivals] == ["nothing", "other way", "twice", "far more"]
    assert dosed.gaussian is not None
    again = event("ph", 2.0, round(dosed.gaussian.mean[b.PH], 2))
    closed = lived(curve, first, event("dose", 1.0, 5.0, **ACID_EVENT), again)
    assert (closed.closed, closed.proven, closed.tried, closed.dosed_since_reading) == (1, 1, False, False)
    assert closed.surprise is None and closed.at == again.at
    renewed = lived(curve, first, event("dose", 1.0, 5.0, **ACID_EVENT), again, event("renewed", 3.0, 320.0))
    assert (renewed.gaussian, renewed.closed, renewed.proven, renewed.tried) == (None, 1, 0, False)
    assert renewed.at == NOON + timedelta(hours=3)
    assert closed.gaussian is not None and renewed.habits == b.habits_of(closed.gaussian)
    water = lived(curve, first, event("water", 1.0, 30.0, share=0.1, item="well", parcel=Parcel(alkalinity_meq_l=4.0,
                  carbonate=4.2)))  # fmt: skip
    assert (water.dosed_since_reading, water.tried, water.last_item, water.rivals) == (True, False, "well", ())


def test_a_dose_of_nobody_knows_what_loosens_and_is_held_against_nobody(curve: Curve) -> None:
    first = event("ph", 0.0, 6.5)
    unknown = lived(curve, first, event("dose", 0.01, 5.0, doubt=UNKNOWN_DOUBT))
    known = lived(curve, first)
    assert unknown.gaussian is not None and known.gaussian is not None
    assert unknown.gaussian.covariance[b.PH][b.PH] == pytest.approx(known.gaussian.covariance[b.PH][b.PH] + 0.5)
    assert (unknown.dosed_since_reading, unknown.tried, unknown.rivals) == (False, False, ())


@pytest.mark.parametrize(("off", "surprised"), [(0.0, False), (3.2, False), (3.4, True), (-3.2, False), (-3.4, True)])
def test_a_reading_more_than_3_3_standard_deviations_off_is_a_surprise(
    curve: Curve, off: float, surprised: bool
) -> None:
    before = lived(curve, event("ph", 0.0, 6.5))
    state = waited(before, curve, NOON + timedelta(hours=12), 24)
    spread = math.hypot(state.sd(b.PH), 0.05)
    value = state.mean[b.PH] + off * spread
    found = after_event(before, event("ph", 12.0, value), ledger(event("ph", 12.0, value)), curve, SD)
    assert (found.surprise is not None) is surprised
    if found.surprise is not None:
        told = found.surprise
        assert (told.read, told.expected, told.sd) == pytest.approx((value, state.mean[b.PH], spread))
        assert (told.after_dose, told.rival, told.at) == (False, "", NOON + timedelta(hours=12))
        assert found.surprises == (told,) and found.gaussian is not None
        assert (found.gaussian.mean[b.PH], found.gaussian.sd(b.PH)) == pytest.approx((value, 0.15))


@pytest.mark.parametrize(
    ("share", "rival"),
    [
        (0.0, "nothing"),
        (-1.0, "other way"),
        (1.0, None),
        (2.0, None),
        (3.0, "far more"),
    ],
)
def test_what_explains_a_reading_far_better_is_named(curve: Curve, share: float, rival: str | None) -> None:
    """A dose meant to move the pH by 1, and the reading as if so much of it had arrived; twice is only spoken of."""
    big = Parcel(alkalinity_meq_l=-0.35)
    first, dose = event("ph", 0.0, 7.0), event("dose", 0.1, 9.0, parcel=big, item="acid")
    start = lived(curve, first)
    assert start.gaussian is not None
    value = b.summed_up(b.dosed(start.gaussian, curve, big.times(share))).mean[b.PH]
    found = lived(curve, first, dose, event("ph", 0.3, value))
    assert (None if found.surprise is None else found.surprise.rival) == rival
    if found.surprise is not None:
        assert found.surprise.after_dose and found.surprise.item == "acid" and found.rivals == ()


def test_within_three_minutes_nothing_has_moved_and_days_loosen(curve: Curve) -> None:
    start = lived(curve, event("ph", 0.0, 6.5))
    assert start.gaussian is not None
    assert waited(start, curve, NOON + timedelta(minutes=2, seconds=59)) is start.gaussian
    later = waited(start, curve, NOON + timedelta(minutes=3))
    assert later is not start.gaussian
    day = waited(start, curve, NOON + timedelta(days=1))
    assert day.covariance[b.ARRIVING][b.ARRIVING] - start.gaussian.covariance[b.ARRIVING][b.ARRIVING] == pytest.approx(
        0.01**2, rel=0.05
    )
    ten, more = (waited(start, curve, NOON + timedelta(days=days)) for days in (10, 40))
    assert ten.covariance[b.PLANTS][b.PLANTS] == pytest.approx(more.covariance[b.PLANTS][b.PLANTS])
    with pytest.raises(ValueError, match="nothing is believed"):
        waited(Response(gaussian=None, at=None, habits=b.habits()), curve, NOON)


def test_the_meter_of_a_reading_says_how_sure_it_is(curve: Curve) -> None:
    for meter, sd in ((None, 0.05), ("pen", 0.03), ("unknown", 0.05)):
        found = lived(curve, event("ph", 0.0, 6.5, meter=meter))
        assert found.gaussian is not None and found.gaussian.sd(b.PH) == pytest.approx(sd)


def test_a_worn_feed_has_less_phosphate_and_a_fresh_one_that_of_the_book(curve: Curve) -> None:
    """exp(-0.62) of it where it is worn; half of that, by the logarithm, where it is half worn: 5 days * ln 2."""
    at = event("ph", 0.0, 6.5)
    half = NOON - timedelta(days=5.0 * math.log(2.0))
    for since, worn in ((None, 1.0), (half, 0.5)):
        found = first_belief(ledger(at, since=since), curve, b.habits(), 6.5, 0.05, at)
        assert found.mean[b.PHOSPHATE] == pytest.approx(math.log(1.0) - 0.62 * worn)
        assert found.sd(b.PHOSPHATE) == pytest.approx(0.12 + 0.33 * worn)
        assert found.sd(b.PRESSURE) == pytest.approx(math.hypot(0.15, 0.65))


@pytest.mark.parametrize(("hours", "fresh"), [(17.9, True), (18.0, True), (18.1, False)])
def test_a_fill_still_holds_its_co2_for_eighteen_hours(curve: Curve, hours: float, fresh: bool) -> None:
    water = Solution(ca=2.0, na=0.5, cl=0.5, carbonate=4.2)
    fill = event("renewed", -hours, 320.0, solution=water)
    read = event("ph", 0.0, 6.5)
    found = first_belief(ledger(fill, read, since=fill.at), curve, b.habits(), 6.5, 0.05, read)
    at_rest = math.hypot(0.15, 0.65)
    assert (found.sd(b.PRESSURE) != pytest.approx(at_rest)) is fresh
    assert (found.covariance[b.PRESSURE][b.RESTING] == 0.0) is fresh


# ------------------------------------------------------------------------------------------------- taking up a belief


def offer(kept_belief: dict[str, Any], station: str = "r", hours: float = 5.0) -> Any:
    data = {"prediction": {"belief": kept_belief}}
    return SimpleNamespace(id=f"k{hours}", kind="correction", station=station, item="", value=None, unit=None,
                           measured_at=NOON + timedelta(hours=hours), meter=None, note=None, data=data)  # fmt: skip


def test_a_belief_is_stored_and_taken_up_field_by_field(curve: Curve) -> None:
    first, last = (event("dose", hours, 5.0, **ACID_EVENT) for hours in (1.0, 2.0))
    events = (event("ph", 0.0, 6.5), event("ec", 0.5, 1.8), first, event("ph", 1.5, 8.0), last)
    answer = lived(curve, *events)
    assert len(answer.surprises) == 1 and answer.rivals and answer.dosed_since_reading
    written = kept(answer, events)
    assert (written["format"], written["last"], written["whole"][0]) == (3, "dose2.0", 4)
    assert written["at"] == (NOON + timedelta(hours=2)).isoformat()
    assert (written["closed"], written["proven"], written["tried"], written["dosed"], written["last_item"]) == (
        answer.closed, answer.proven, True, True, "acid",
    )  # fmt: skip
    again = resumed(ledger(*events), curve, SD, "r", True, entries_of([offer(written)]), events)
    for name in ("at", "closed", "proven", "tried", "dosed_since_reading", "last_item", "surprises", "rivals"):
        assert getattr(again, name) == getattr(answer, name), name
    assert again.gaussian is not None and answer.gaussian is not None
    assert again.gaussian.mean == pytest.approx(answer.gaussian.mean, abs=1e-6)
    assert again.habits.mean == pytest.approx(answer.habits.mean, abs=1e-6)
    assert kept(Response(gaussian=None, at=None, habits=b.habits()), ())["state"] is None


def marked(written: dict[str, Any]) -> dict[str, Any]:
    """The same belief with a count that nothing on record would give: by it one sees that it was taken up."""
    return written | {"closed": 99}


@pytest.mark.parametrize(("change", "taken"), [
    ({}, True), ({"format": 2}, False), ({"habits": None}, False), ({"last": "unknown"}, False),
    ({"digest": "x"}, True), ({"whole": [4, "x"]}, False), ({"whole": [0, ""]}, True), ({"whole": [99, "x"]}, True),
    ({"whole": [99, "x"], "digest": "x"}, False), ({"state": {"mean": [1.0], "covariance": [[1.0]]}}, False),
])  # fmt: skip
def test_a_belief_is_taken_up_where_its_past_still_stands(curve: Curve, change: dict[str, Any], taken: bool) -> None:
    events = (
        event("ph", 0.0, 6.5),
        event("dose", 1.0, 5.0, **ACID_EVENT),
        event("ph", 2.0, 6.2),
        event("ph", 3.0, 6.2),
    )
    written = marked(kept(lived(curve, *events), events)) | change
    found = resumed(ledger(*events), curve, SD, "r", True, entries_of([offer(written)]), events)
    assert (found.closed == 99) is taken
    elsewhere = resumed(ledger(*events), curve, SD, "other", True, entries_of([offer(written)]), events)
    assert elsewhere.closed != 99


def test_what_came_after_a_stored_belief_is_gone_through_on_top_of_it(curve: Curve) -> None:
    first, more = event("ph", 0.0, 6.5), (event("dose", 1.0, 5.0, **ACID_EVENT), event("ph", 2.0, 6.2))
    written = marked(kept(lived(curve, first), (first,)))
    found = resumed(ledger(first, *more), curve, SD, "r", True, entries_of([offer(written)]), (first, *more))
    assert found.closed == 100
    newest = marked(kept(lived(curve, first, *more), (first, *more))) | {"closed": 50}
    both = entries_of([offer(written, hours=5.0), offer(newest, hours=6.0)])
    assert resumed(ledger(first, *more), curve, SD, "r", True, both, (first, *more)).closed == 50


def test_a_fingerprint_tells_what_when_and_how_much() -> None:
    base = event("ph", 0.0, 6.5)
    later, more = event("ph", 0.1, 6.5, record_id="ph0.0"), event("ph", 0.0, 6.51)
    others = (later, more, event("dose", 0.0, 6.5, record_id="ph0.0"), event("ph", 0.0, 6.5, record_id="x"))
    assert len({digest([each]) for each in (base, *others)}) == 5
    assert digest([base]) == digest([event("ph", 0.0, 6.5, meter="pen")]) and len(digest([base])) == 16
    assert that_teach([base, event("ec", 1.0, 1.8)]) == (base,)


def test_quiet_stretches_are_left_out_and_what_lies_beside_a_dose_stays() -> None:
    quiet = [event("ph", float(n), 6.5) for n in range(12)]
    assert thinned(quiet) == tuple(quiet[-6:])
    dose = event("dose", 3.5, 5.0)
    found = thinned([*quiet[:4], dose, *quiet[4:]])
    assert found == (*quiet[2:4], dose, *quiet[4:6], *quiet[6:])
    many = [event("dose", float(n), 5.0) for n in range(30)]
    assert thinned(many) == tuple(many[-20:])


# ---------------------------------------------------------------------------------------------------- the other ones


def shown(mean: float, sd: float, closed: int = 3) -> dict[str, Any]:
    """A stored belief of a reservoir where CO2 rests at another pressure, and all else is as usual."""
    start = begun()
    means, rows = list(start.mean), [list(row) for row in start.covariance]
    for row in rows:
        row[b.PRESSURE] = row[b.RESTING] = 0.0
    rows[b.PRESSURE], rows[b.RESTING] = [0.0] * 7, [0.0] * 7
    rows[b.PRESSURE][b.PRESSURE] = 0.1
    means[b.RESTING], rows[b.RESTING][b.RESTING] = mean, sd * sd
    return {"state": {"mean": means, "covariance": [row[: i + 1] for i, row in enumerate(rows)]}, "closed": closed}


def test_a_new_reservoir_begins_between_the_usual_and_what_the_others_have_shown() -> None:
    """By hand: weights 1 / (0.4 * 0.65²) of the usual and 1 / (0.2² + 0.6 * 0.65²) of the other."""
    usual, other = math.log(3.0 * AIR_ATM), math.log(9.0 * AIR_ATM)
    spread = 0.65**2
    weights = 1.0 / (0.4 * spread), 1.0 / (0.04 + 0.6 * spread)
    found = pooled_habits([offer(shown(other, 0.2), "other")], "r", True)
    assert found.mean[0] == pytest.approx((weights[0] * usual + weights[1] * other) / sum(weights))
    assert found.sd(0) == pytest.approx(math.sqrt(0.6 * spread + 1.0 / sum(weights)))
    for alone in ([], [offer(shown(other, 0.2), "r")], [offer(shown(other, 0.2, closed=2), "other")],
                  [offer({"closed": 5}, "other")], [offer(shown(5.0, 0.2), "other")]):  # fmt: skip
        bare = pooled_habits(alone, "r", True)
        assert bare.mean == pytest.approx(b.habits().mean)
        assert [bare.sd(i) for i in range(4)] == pytest.approx([b.habits().sd(i) for i in range(4)])
    newest = pooled_habits([offer(shown(other, 0.2), "other"), offer(shown(usual, 0.2), "other", 6.0)], "r", True)
    assert newest.mean[0] == pytest.approx(usual)
    assert pooled_habits([], "r", False).mean[1] == pytest.approx(math.log(0.08))
    assert len(BELIEVABLE) == 7


# ------------------------------------------------------------------------------------------------------ conductivity


CONCENTRATE = Solution(ca=300.0, k=500.0, no3=1000.0, po4=100.0)
PLAIN = Solution(na=0.1, cl=0.1)


def fed(times: float = 1.0, hours: float = 1.0, start: float = 0.0, item: str = "a", litres: float = 3.0,
        liquid: Solution = CONCENTRATE):  # fmt: skip
    """A conductivity, a liquid poured, and a conductivity that moved so many times as far as the book foresees."""
    share = litres / (300.0 + litres)
    after = mix([(FEED, 300.0), (liquid, litres)])
    before_ec, after_ec = ec25_ms_cm(FEED, 6.0), ec25_ms_cm(after, 6.0)
    return (
        event("ec", start, before_ec), event("water", start + 0.1, litres, item=item, share=share, solution=after),
        event("ec", start + hours, before_ec + times * (after_ec - before_ec), solution=after),
    )  # fmt: skip


def seen(*events: LedgerEvent, volume_sd: float = 0.08):
    return strength_seen(ledger(*events), ("a", "b"), volume_sd)


def test_nothing_seen_is_the_book_with_its_spread() -> None:
    found = seen()
    assert (found.times, found.volume_times, found.from_feedings, found.from_top_ups) == (1.0, 1.0, 0, 0)
    assert found.sd == pytest.approx(math.sqrt(0.25 * 2 * 0.12**2 + 0.08**2))
    assert (found.volume_sd, found.told_apart) == (pytest.approx(0.08), False)
    assert found.in_words() == "No feeding was read before and after yet: the book's EC per mL is used."
    assert seen(volume_sd=0.001).volume_sd == pytest.approx(0.02)


@pytest.mark.parametrize(("events", "feedings", "top_ups"), [
    (fed(), 1, 0), (fed(hours=6.0), 1, 0), (fed(hours=6.01), 0, 0), (fed(item="rain", litres=30.0, liquid=PLAIN), 0, 1),
    (fed(1.99), 1, 0), (fed(2.01), 0, 0), (fed(0.41), 1, 0), (fed(0.39), 0, 0), (fed(litres=0.1), 0, 0),
    (fed(item="rain", litres=8.0, liquid=PLAIN), 0, 0), ((*fed(), *fed(start=10.0)), 2, 0),
    ([each for n in range(9) for each in fed(start=10.0 * n)], 6, 0),
    ([fed()[0], event("renewed", 0.05, 320.0), *fed()[1:]], 0, 0), ([fed()[0], fed()[2]], 0, 0),
])  # fmt: skip
def test_which_pairs_of_conductivities_teach(events: Any, feedings: int, top_ups: int) -> None:
    found = seen(*events)
    assert (found.from_feedings, found.from_top_ups) == (feedings, top_ups)


def test_a_feeding_that_moved_more_is_taken_up_by_its_weight() -> None:
    """A alone against the volume: both prior variances, 0.12² and 0.08², against the meter's and 0.06²."""
    for times in (0.8, 1.25):
        events = fed(times)
        foreseen = (events[2].value - events[0].value) / times
        read = (0.03 * math.sqrt(2.0) / foreseen) ** 2 + 0.06**2
        prior = 0.12**2 + 0.08**2
        found = seen(*events)
        taken = prior / (prior + read) * math.log(times)
        assert math.log(found.volume_times) == pytest.approx(-taken * 0.08**2 / prior, rel=0.01)
        half_a = 0.5 * taken * 0.12**2 / prior
        assert math.log(found.times) == pytest.approx(half_a + taken * 0.08**2 / prior, rel=0.01)


def test_what_conductivities_have_taught_is_said() -> None:
    told = seen(*fed(), *fed(start=10.0, item="rain", litres=30.0, liquid=PLAIN)).in_words()
    assert told.startswith(
        "A millilitre of A and B brings 1.00 times the EC of the book; A alone 1.00, B 1.00; 1.00 times"
    )
    assert told.endswith("from 1 feeding and 1 top-up.")
    two = seen(*fed(), *fed(start=10.0, item="b")).in_words()
    assert "from 2 feedings." in two and "A alone 1.00, B 1.00" in two
    water = seen(*fed(item="rain", litres=30.0, liquid=PLAIN)).in_words()
    assert water.startswith("1.00 times the litres of stick and pipes circulate (") and "A alone" not in water


# ------------------------------------------------------------------------------------------------------ a fresh fill


def weighed(curve: Curve, ph: float, hours: float, water: Solution, book: Solution) -> tuple[float, float]:
    """The rule of a fill, summed up here: alkalinities a tenth apart in logarithm, spread 0.4; three paces; pH to 0.12.

    What the water had less the acid is the alkalinity; the CO2 set free goes to where it rests at its pace, slowed by
    half again by the bicarbonate that follows.
    """
    weights, logs = [], []
    for pace_sds in (-1.2, 0.0, 1.2):
        left = math.exp(-0.25 * math.exp(0.5 * pace_sds) * hours / 1.5)
        for tenth in range(-10, 11):
            more = math.exp(tenth / 10.0) - 1.0
            alkalinity = book.alkalinity_meq_l + more * water.alkalinity_meq_l
            carbonate = max(book.carbonate + more * water.carbonate, 1e-3)
            at_first = curve.parts(curve.ph_closed(alkalinity, book.po4, carbonate))[3]
            pressure = 3.0 * AIR_ATM + (carbonate / at_first - 3.0 * AIR_ATM) * left
            off = (ph - curve.ph_held(alkalinity, book.po4, max(pressure, 1e-5))) / 0.12
            weights.append(math.exp(-((tenth / 10.0 / 0.4) ** 2 + off**2 + pace_sds**2) / 2.0) + 1e-12)
            logs.append(math.log(max(pressure, 1e-5)))
    mean = sum(w * v for w, v in zip(weights, logs, strict=True)) / sum(weights)
    variance = sum(w * (v - mean) ** 2 for w, v in zip(weights, logs, strict=True)) / sum(weights)
    return mean, math.sqrt(variance + 0.15**2)


@pytest.mark.parametrize("hours", [0.0, 2.0, 10.0])
@pytest.mark.parametrize("value", [5.4, 6.0, 6.8])
def test_a_fill_is_weighed_by_what_explains_the_ph_that_was_read(curve: Curve, hours: float, value: float) -> None:
    water = Solution(ca=2.0, na=0.5, cl=0.5, carbonate=4.2)
    book = Solution(ca=4.0, k=5.0, no3=12.0, po4=1.0, carbonate=4.2)
    fill, at = event("renewed", -hours, 320.0, solution=water), event("ph", 0.0, value, solution=book)
    found = first_belief(ledger(fill, at, since=fill.at), curve, b.habits(), value, 0.05, at)
    mean, sd = weighed(curve, value, hours, water, book)
    assert found.mean[b.PRESSURE] == pytest.approx(max(mean, math.log(2e-4)), abs=1e-6)
    assert found.sd(b.PRESSURE) == pytest.approx(sd, rel=1e-6)
    assert found.mean[b.PH] == value and found.sd(b.PH) == pytest.approx(0.05)


def test_what_is_needed_at_rest_is_less_where_more_arrives(curve: Curve) -> None:
    for arrives in (0.5, 2.0):
        (needed,) = b.demand_at_rest([list(sure(arrives=arrives).mean)], curve, 5.8, ACID)
        (by_book,) = b.demand_at_rest([list(sure().mean)], curve, 5.8, ACID)
        assert needed == pytest.approx(by_book / arrives)


def test_a_belief_without_its_moment_is_none() -> None:
    with pytest.raises(ValueError, match="nothing is believed"):
        waited(Response(gaussian=begun(), at=None, habits=b.habits()), None, NOON)  # type: ignore[arg-type]


@pytest.mark.parametrize("times", [1.0, 0.8])
def test_a_and_b_read_only_before_and_after_teach_of_both_together(times: float) -> None:
    """Other liquids, other shares: where it moved as foreseen nothing changes."""
    second = Solution(mg=200.0, so4=200.0, k=200.0, no3=200.0)
    one = mix([(FEED, 300.0), (CONCENTRATE, 3.0)])
    both = mix([(one, 303.0), (second, 9.0)])
    before, after = ec25_ms_cm(FEED, 6.0), ec25_ms_cm(both, 6.0)
    events = (
        event("ec", 0.0, before), event("water", 0.1, 3.0, item="a", share=3.0 / 303.0, solution=one),
        event("water", 0.2, 9.0, item="b", share=9.0 / 312.0, solution=both),
        event("ec", 1.0, before + times * (after - before), solution=both),
    )  # fmt: skip
    found = seen(*events)
    assert (found.from_feedings, found.from_top_ups) == (1, 0)
    assert (found.times < 0.95) is (times < 1.0)
    if times == 1.0:
        assert (found.times, found.volume_times) == pytest.approx((1.0, 1.0), abs=1e-6)
