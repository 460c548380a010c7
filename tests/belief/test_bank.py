"""What every named fault makes of readings, jars, strips and looks, against Bayes by hand."""

from __future__ import annotations

import math
from datetime import datetime, timedelta
from typing import Any

import pytest
from believed import ACID, FEED, NOON, begun, event, ledger

from rounds.belief import state as b
from rounds.belief.bank import Bank, bank_of, weights_of
from rounds.belief.curve import Curve
from rounds.belief.following import OUTLIER, SEEN_RIGHT, Setting, likelihood
from rounds.belief.hypotheses import FAULTS
from rounds.belief.jar import after_jar
from rounds.book.ledger import LedgerEvent
from rounds.book.parcel import Parcel

SMALL = Parcel(alkalinity_meq_l=-0.1)
"""What goes into each litre of the jar. [meq/L]"""
PRIOR = {each.code: each.prior for each in FAULTS}
READ = event("ph", 0.0, 6.6)


def bank(curve: Curve, *events: LedgerEvent, sd: float = 0.03, **other: Any) -> Bank:
    usual = {"priors": {}, "counted_from": {}, "item": "acid", "supposed": begun(5.8, ph_sd=0.5), "habits": b.habits()}
    setting = Setting(ledger=ledger(*events), curve=curve, meter_sd={None: sd}, **{**usual, **other})
    return bank_of(setting, events)


def weight(found: Bank, code: str) -> float:
    return next(each.weight for each in found.accounts if each.hypothesis.code == code)


def odds(found: Bank, code: str) -> float:
    """Against all being as told."""
    return weight(found, code) / found.sound.weight


def jar(curve: Curve, hours: float, times: float, **other: Any) -> LedgerEvent:
    """A jar that shows what so many times the acid makes of the feed, by the titration curve of what is believed."""
    begun_with = bank(curve, READ).sound.state
    _, shown, _ = after_jar(begun_with, curve, SMALL.times(times), 6.0, 0.03)
    return event("jar", hours, shown, parcel=SMALL, item="acid", **other)


def test_before_anything_was_read_each_fault_has_its_prior(curve: Curve) -> None:
    found = bank(curve)
    for each in FAULTS:
        assert odds(found, each.code) == pytest.approx(each.prior)
    assert math.fsum(account.weight for account in found.accounts) == pytest.approx(1.0)


@pytest.mark.parametrize(("times", "code"), [
    (10.0, "bottle-ten-times"), (3.0, "bottle-three-times"), (-1.0, "bottles-swapped"),
])  # fmt: skip
def test_a_jar_is_weighed_as_bayes_has_it(curve: Curve, times: float, code: str) -> None:
    """Prior odds times how much likelier the reading is: both by the bell around what the jar should have shown."""
    start = next(each for each in bank(curve, READ).accounts if each.hypothesis.code == code)
    sound = bank(curve, READ).sound
    shown = jar(curve, 0.1, times)
    found = bank(curve, READ, shown)
    _, expected, spread = after_jar(start.state, curve, SMALL.times(times), shown.value, 0.03, 16)
    _, expected_sound, spread_sound = after_jar(sound.state, curve, SMALL, shown.value, 0.03, 16)
    ratio = likelihood(shown.value - expected, spread) / likelihood(shown.value - expected_sound, spread_sound)
    assert odds(found, code) == pytest.approx(PRIOR[code] * ratio, rel=0.02)
    assert weight(found, code) > 10.0 * PRIOR[code]


def test_a_jar_that_shows_what_was_told_clears_a_strong_bottle_and_no_meter(curve: Curve) -> None:
    found = bank(curve, READ, jar(curve, 0.1, 1.0))
    for code in ("bottle-ten-times", "bottles-swapped"):
        assert odds(found, code) < 0.1 * PRIOR[code]
    for code in ("half-circulates", "meter-high", "meter-low"):
        assert odds(found, code) >= 0.5 * PRIOR[code]
    assert not found.jar_unexplained


def test_a_jar_that_nothing_explains_is_said_to_be_so(curve: Curve) -> None:
    odd = event("jar", 0.1, 3.5, parcel=SMALL, item="acid")
    assert bank(curve, READ, odd).jar_unexplained
    assert not bank(curve, READ, odd, jar(curve, 0.2, 1.0)).jar_unexplained, "the last one counts"


def test_another_bottles_jar_says_nothing_of_this_one(curve: Curve) -> None:
    shown = jar(curve, 0.1, 10.0)
    other = event("jar", 0.1, shown.value, parcel=SMALL, item="base")
    assert weights_of(bank(curve, READ, other)) == weights_of(bank(curve, READ))


@pytest.mark.parametrize("code", [each.code for each in FAULTS if each.sort != "meter"])
def test_no_fault_is_dropped_for_good(curve: Curve, code: str) -> None:
    """However often it is spoken against, a thousandth or ten-thousandth of its prior stays."""
    jars = [jar(curve, 0.05 * n, 1.0) for n in range(1, 8)]
    poured = [event("dose", 0.5, 9.0, parcel=ACID, item="acid"), event("ph", 1.2, 6.3), event("ph", 1.3, 6.45)]
    found = bank(curve, READ, *jars, *poured)
    assert weight(found, code) >= 0.9e-4 * PRIOR[code]


def test_readings_alone_do_not_clear_a_meter_and_a_strip_does(curve: Curve) -> None:
    """A strip of 6.6 where the meter shows 6.6: were it 0.5 too high, the strip would show 6.1, good to 0.3."""
    poured = [event("dose", 0.5 + n, 9.0, parcel=ACID, item="acid") for n in range(3)]
    read = [event("ph", 1.3 + n, 6.6 - 0.15 * n) for n in range(3)]
    many = bank(curve, READ, *[each for pair in zip(poured, read, strict=True) for each in pair])
    assert odds(many, "meter-high") >= PRIOR["meter-high"] * 0.999
    before, after = bank(curve, READ), bank(curve, READ, event("strip", 0.1, 6.6))
    spread = math.hypot(0.3, 0.03)
    by_hand = likelihood(0.5, spread) / likelihood(0.0, spread)
    assert odds(after, "meter-high") / odds(before, "meter-high") == pytest.approx(by_hand, rel=0.05)
    assert odds(after, "meter-very-high") < odds(after, "meter-high") * 0.4


def test_three_strips_clear_a_meter(curve: Curve) -> None:
    strips = [event("strip", 0.1 + 0.01 * n, 6.6) for n in range(3)]
    assert odds(bank(curve, READ, *strips), "meter-very-high") < 1e-2 * PRIOR["meter-very-high"]


@pytest.mark.parametrize(("code", "factor"), [
    ("bottle-ten-times", SEEN_RIGHT), ("half-circulates", SEEN_RIGHT), ("nothing-arrives", SEEN_RIGHT),
    ("meter-high", 1.0), ("meter-stuck", 1.0),
])  # fmt: skip
def test_a_bottle_that_was_looked_at_and_is_right_is_three_in_ten_as_likely_wrong(
    curve: Curve, code: str, factor: float
) -> None:
    before, after = bank(curve, READ), bank(curve, READ, event("checked", 0.1, item="bottles"))
    assert odds(after, code) / odds(before, code) == pytest.approx(factor)


def test_a_ph_that_stood_still_overnight_is_no_proof_that_the_meter_is_stuck(curve: Curve) -> None:
    """Within a visit a meter that shows the same after a dose is; after a night it is tried afresh."""
    dose = event("dose", 0.2, 9.0, parcel=Parcel(alkalinity_meq_l=-0.3), item="acid")
    same_visit = bank(curve, READ, dose, event("ph", 1.0, 6.6))
    assert odds(same_visit, "meter-stuck") > 10.0 * PRIOR["meter-stuck"]
    night, day = (bank(curve, READ, event("ph", hours, 6.6)) for hours in (15.0, 13.0))
    assert odds(night, "meter-stuck") < odds(day, "meter-stuck")
    assert odds(night, "meter-stuck") < 2.0 * PRIOR["meter-stuck"]


def test_a_dip_in_the_acid_buffer_clears_a_stuck_meter_and_names_one(curve: Curve) -> None:
    moves = event("buffer", 0.1, 4.02, share=4.01)
    stands = event("buffer", 0.1, 6.6, share=4.01)
    assert odds(bank(curve, READ, moves), "meter-stuck") < 0.02 * PRIOR["meter-stuck"]
    assert weight(bank(curve, READ, stands), "meter-stuck") > 0.1


def test_what_was_counted_before_is_not_counted_twice(curve: Curve) -> None:
    """Weights kept by a correction hold what was read until then."""
    shown = jar(curve, 0.1, 10.0)
    kept = dict.fromkeys(PRIOR, 1e-3)
    counted = dict.fromkeys(PRIOR, NOON + timedelta(hours=1))
    found = bank(curve, READ, shown, priors=kept, counted_from=counted)
    assert odds(found, "bottle-ten-times") == pytest.approx(1e-3)
    late = dict.fromkeys(PRIOR, shown.at - timedelta(minutes=1))
    assert odds(bank(curve, READ, shown, priors=kept, counted_from=late), "bottle-ten-times") > 1e-2


def test_one_reading_that_means_nothing_is_undone_by_the_next(curve: Curve) -> None:
    """A bubble at the probe: 7.6 between 6.6 and 6.6 leaves what was believed of buffer and CO2 as it was."""
    found = bank(curve, READ, event("ph", 0.3, 7.6), event("ph", 0.4, 6.6)).sound.state
    never = bank(curve, READ, event("ph", 0.4, 6.6)).sound.state
    assert found.mean == pytest.approx(never.mean, abs=0.02)
    assert [found.sd(i) for i in range(7)] == pytest.approx([never.sd(i) for i in range(7)], rel=0.05)
    twice = bank(curve, READ, event("ph", 0.3, 7.6), event("ph", 0.4, 7.6)).sound.state
    assert twice.mean[b.PH] == pytest.approx(7.6, abs=0.1)
    late = bank(curve, READ, event("ph", 0.3, 7.6), event("ph", 2.5, 6.6)).sound.state
    assert late.sd(b.PRESSURE) > 1.05 * never.sd(b.PRESSURE), "two hours later it is another visit"


def test_a_reading_is_likelier_where_it_was_expected_and_one_in_a_hundred_means_nothing() -> None:
    peak = 1.0 / (0.1 * math.sqrt(2.0 * math.pi))
    assert likelihood(0.0, 0.1) == pytest.approx((1.0 - OUTLIER) * peak + OUTLIER * 0.2)
    assert likelihood(0.1, 0.1) == pytest.approx((1.0 - OUTLIER) * peak * math.exp(-0.5) + OUTLIER * 0.2)
    assert likelihood(4.0, 0.1) == pytest.approx(OUTLIER * 0.2)


def test_a_renewed_reservoir_is_begun_anew_and_its_bottle_stays_what_it_was(curve: Curve) -> None:
    since: datetime = NOON + timedelta(hours=1)
    fill = event("renewed", 1.0, 300.0, solution=FEED)
    events = (READ, jar(curve, 0.1, 1.0), fill, event("ph", 2.0, 6.9))
    setting = Setting(
        ledger=ledger(*events, since=since), curve=curve, meter_sd={None: 0.03}, habits=b.habits(), item="acid",
        supposed=begun(5.8, ph_sd=0.5), priors={}, counted_from={},
    )  # fmt: skip
    found = bank_of(setting, events)
    assert found.sound.state.mean[b.PH] == pytest.approx(6.9, abs=0.01)
    assert odds(found, "bottle-ten-times") < 0.1 * PRIOR["bottle-ten-times"]


def test_faults_of_one_sort_count_together_and_the_likeliest_of_them_is_named(curve: Curve) -> None:
    found = bank(curve, READ)
    by_hand = sum(each.weight for each in found.faults if each.hypothesis.sort == "bottle")
    assert found.by_sort["bottle"] == pytest.approx(by_hand) and sum(found.by_sort.values()) < 0.05
    assert found.likeliest_of("bottle").hypothesis.code == "bottle-three-times"


@pytest.mark.parametrize(("code", "factor"), [("meter-stuck", SEEN_RIGHT), ("meter-high", SEEN_RIGHT),
                                              ("bottle-ten-times", 1.0)])  # fmt: skip
def test_a_meter_that_was_calibrated_is_three_in_ten_as_likely_wrong(curve: Curve, code: str, factor: float) -> None:
    before, after = bank(curve, READ), bank(curve, READ, event("checked", 0.1, item="calibrated"))
    assert odds(after, code) / odds(before, code) == pytest.approx(factor)


def test_a_top_up_that_hardly_moves_the_ph_speaks_for_another_water(curve: Curve) -> None:
    """A third of hard water, 4 meq/L, into a feed at 5.8: with a tenth of that the pH hardly rises."""
    hard = Parcel(alkalinity_meq_l=4.0, carbonate=4.4)
    poured = event("water", 0.1, share=0.3, parcel=hard, doubt=0.2)
    soft, told = (bank(curve, event("ph", 0.0, 5.8), poured, event("ph", 1.0, read)) for read in (5.95, 6.6))
    assert odds(soft, "another-water") > 20.0 * PRIOR["another-water"]
    assert odds(told, "another-water") < PRIOR["another-water"]


def test_a_meter_that_reads_low_is_not_named_for_readings_alone(curve: Curve) -> None:
    """Doses that do less than expected look as if the true pH were higher, where more alkalinity takes them."""
    doses = [event("dose", 0.5 + n, 9.0, parcel=ACID, item="acid") for n in range(3)]
    shown = [event("ph", 1.0 + n, 6.45 - 0.1 * n) for n in range(3)]
    told = bank(curve, READ, *[each for pair in zip(doses, shown, strict=True) for each in pair])
    assert odds(told, "meter-low") <= 10.0 * PRIOR["meter-low"] * 1.001
