"""What readings, doses, water and a fresh fill teach, event by event."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import timedelta
from itertools import product
from typing import Any

import pytest
from believed import ACID, ACID_EVENT, AIR_ATM, NOON, SD, begun, event, ledger, lived, sure

from rounds.belief import state as b
from rounds.belief.curve import Curve
from rounds.belief.first_reading import first_belief
from rounds.belief.gaussian import Gaussian
from rounds.belief.response import Response, after_event, waited
from rounds.belief.stored import gaussian_of
from rounds.book.ledger import UNKNOWN_DOUBT
from rounds.book.parcel import Parcel
from rounds.science.solution import Solution


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
    more = [unknown.gaussian.covariance[i][i] - known.gaussian.covariance[i][i] for i in range(7)]
    assert more == pytest.approx([0.5, 0.1, 0.3, 0.0, 0.0, 0.0, 0.0])
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
    """A dose meant to move the pH by 1.2, and the reading as if so much of it had arrived; twice is only spoken of."""
    big = Parcel(alkalinity_meq_l=-0.4)
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


def weighed(
    curve: Curve, ph: float, hours: float, water: Solution, book: Solution, held: tuple[float, ...]
) -> tuple[float, float]:
    """The rule of a fill, summed up here: alkalinities a tenth apart in logarithm, spread 0.4; three paces; pH to 0.12.

    What the water had less the acid is the alkalinity; the CO2 set free goes to where it rests at its pace, slowed by
    half again by the bicarbonate that follows. Of its CO2 one of the shares `held` was in it when it was full.
    """
    weights, logs = [], []
    for share, pace_sds in product(held, (-1.2, 0.0, 1.2)):
        left = share * math.exp(-0.25 * math.exp(0.5 * pace_sds) * hours / 1.5)
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
@pytest.mark.parametrize(("how", "held"), [
    ("", (1.0, 0.5)), ("still", (1.0,)), ("splashed", (0.8, 0.5)), ("aired", (0.5, 0.2)),
])  # fmt: skip
def test_a_fill_is_weighed_by_what_explains_the_ph_that_was_read(
    curve: Curve, hours: float, value: float, how: str, held: tuple[float, ...]
) -> None:
    """Through a hose under water it keeps all its CO2, splashing in half or more, with an air stone half or less."""
    water = Solution(ca=2.0, na=0.5, cl=0.5, carbonate=4.2)
    book = Solution(ca=4.0, k=5.0, no3=12.0, po4=1.0, carbonate=4.2)
    fill, at = event("renewed", -hours, 320.0, solution=water), event("ph", 0.0, value, solution=book)
    filled = replace(ledger(fill, at, since=fill.at), filled_how=how)
    found = first_belief(filled, curve, b.habits(), value, 0.05, at)
    mean, sd = weighed(curve, value, hours, water, book, held)
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


def test_the_rivals_of_a_dose_lie_where_it_would_have_led_and_stay_until_the_next_one(curve: Curve) -> None:
    """Of acid: the other kind above, nothing where it was, twice and three times ever further down."""
    first, dose = event("ph", 0.0, 6.8), event("dose", 0.1, 9.0, parcel=ACID, item="acid")
    dosed = lived(curve, first, dose)
    by_name = {rival.name: rival.ph for rival in dosed.rivals}
    assert dosed.gaussian is not None
    meant = dosed.gaussian.mean[b.PH]
    assert by_name["other way"] > by_name["nothing"] > meant > by_name["twice"] > by_name["far more"]
    assert by_name["nothing"] == pytest.approx(6.8, abs=0.01)
    assert by_name["nothing"] - meant == pytest.approx(by_name["other way"] - by_name["nothing"], rel=0.6)
    half_way = event("ph", 0.2, 0.5 * meant + 0.5 * by_name["twice"])
    read = lived(curve, first, dose, half_way)
    again = lived(curve, first, dose, half_way, event("ph", 0.3, half_way.value))
    evidence = {rival.name: rival.evidence for rival in read.rivals}
    assert evidence["twice"] > 0.0 == evidence["nothing"] == evidence["other way"]
    assert again.rivals == read.rivals, "a reading with no dose before it weighs nothing"
    more = lived(curve, first, dose, half_way, event("dose", 2.0, 9.0, parcel=ACID))
    assert {rival.name: rival.evidence for rival in more.rivals} == evidence, "it is carried on"
    long_after = (event("ph", 0.0, 6.8), dose, event("ph", 48.2, 6.6))
    assert lived(curve, *long_after).rivals == ()


@pytest.mark.parametrize("ph", [6.0, 6.8, 7.2])
def test_bicarbonate_slows_co2_by_what_must_leave_for_each_mmol_of_it(curve: Curve, ph: float) -> None:
    """By hand: at one alkalinity and phosphate the carbonate at two pressures near by, against the CO2 in it alone."""
    pressure = 6.0 * AIR_ATM
    alkalinity = curve.alkalinity_meq_l(ph, 1.0, pressure * curve.parts(ph)[3])
    low, high = (0.9 * pressure, 1.1 * pressure)
    carbonates = [p * curve.parts(curve.ph_held(alkalinity, 1.0, p, ph))[3] for p in (low, high)]
    slowed = (carbonates[1] - carbonates[0]) / ((high - low) * curve.parts(3.5)[3])
    assert slowed >= 1.0
    after = b.summed_up(b.aged(sure(ph, times_air=6.0), curve, 0.5))
    left = (math.exp(after.mean[b.PRESSURE]) - 3.0 * AIR_ATM) / (3.0 * AIR_ATM)
    assert -math.log(left) == pytest.approx(0.25 * 0.5 / slowed, rel=0.06)


def test_a_reading_that_means_nothing_is_undone_by_the_next(curve: Curve) -> None:
    """A bubble at the probe after a dose: what is believed is as if it had not been read, and no surprise is left."""
    first, dose = event("ph", 0.0, 6.6), event("dose", 0.1, 9.0, **ACID_EVENT)
    meant = lived(curve, first, dose).gaussian
    assert meant is not None
    slip, right = event("ph", 0.9, meant.mean[b.PH] + 1.5), event("ph", 1.0, meant.mean[b.PH])
    odd = lived(curve, first, dose, slip)
    assert odd.surprise is not None and odd.passed_over is not None
    undone, never = lived(curve, first, dose, slip, right), lived(curve, first, dose, right)
    assert undone.surprise is None and undone.surprises == () and undone.passed_over is None
    assert undone.gaussian is not None and never.gaussian is not None
    assert undone.gaussian.mean == pytest.approx(never.gaussian.mean, abs=0.02)
    assert (undone.proven, undone.closed) == (never.proven, never.closed) == (1, 1)


@pytest.mark.parametrize(("hours", "off", "undone"), [
    (2.8, 0.0, True), (2.9, 0.0, True), (3.0, 0.0, False), (1.0, 1.5, False), (1.0, 0.7, False),
])  # fmt: skip
def test_only_one_visit_undoes_it_and_only_a_reading_that_agrees_with_what_was_expected(
    curve: Curve, hours: float, off: float, undone: bool
) -> None:
    """The slip was read at 0.9 h, 1.5 too high; for two hours the next reading may speak against it."""
    first = event("ph", 0.0, 6.6)
    slip, then = event("ph", 0.9, 8.1), event("ph", hours, 6.6 + off)
    found = lived(curve, first, slip, then)
    assert (found.surprises == ()) is undone


def test_after_a_dose_nothing_is_undone(curve: Curve) -> None:
    """What was believed before the slip is not what is there since something went in."""
    slip, dose = event("ph", 0.9, 8.1), event("dose", 1.0, 9.0, **ACID_EVENT)
    assert lived(curve, event("ph", 0.0, 6.6), slip, dose).passed_over is None
    assert len(lived(curve, event("ph", 0.0, 6.6), slip, dose, event("ph", 1.5, 6.6)).surprises) >= 1
