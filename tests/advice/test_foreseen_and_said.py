"""What a correction foresees, doubts and says, against sums by hand and stated rules: projections, rechecks, steps."""

from __future__ import annotations

import math
from datetime import timedelta
from types import SimpleNamespace
from typing import Any

import msgspec
import pytest
from light_cases import RAIN, TURNOVER_MIN, case_of, check, dip, ec, note, ph, poured, read
from light_farm import ACID, BASE, CONCENTRATES, MORNING, Note, a_farm, buffer_dip, hard_water, rain_water

from rounds.advice import cautions as c
from rounds.advice.bottle_effect import surprise_beside_water, surprised, surprised_twice, twice_suspected
from rounds.advice.correction import Correction, correct
from rounds.advice.gates import believed_share_in_band, fill_gates, gates_for
from rounds.advice.misread import brought_meq_l, doubted_ph, implied_meq_l, supposed, too_alkaline
from rounds.advice.plan import StepPlan
from rounds.advice.planning_ph import QUICK_POINTS, dose_for, hardly_moves, is_worth_it, kept_above_lowest, wanted
from rounds.advice.projection import as_read, drained, later, ph_mixed, with_dose, with_liquid, with_water
from rounds.advice.rechecks import ec_surprise, likely_causes, recheck_due
from rounds.advice.unsure_readings import unsure
from rounds.advice.words import answer_in_words
from rounds.belief import state as b
from rounds.belief.gaussian import independent
from rounds.belief.memory import kept
from rounds.belief.response import Response
from rounds.book.measures import Measured, millilitres_down
from rounds.farm.farm import Farm
from rounds.farm.model import Limits
from rounds.science.acids_bases import agent_by_molarity
from rounds.science.conductivity import ec25_ms_cm
from rounds.science.solution import Solution

SECOND = 1.0 / 3600.0
FULL = a_farm(full_volume_l=301.0, waters=(rain_water(),))
NITRIC, POTASH = agent_by_molarity("nitric", 1.3), agent_by_molarity("potassium_hydroxide", 1.0)
WORN = math.exp(-0.62)


def codes(found: Correction) -> set[str]:
    return {each.code for each in (*found.findings, *found.refusals)}


def actions(found: Correction) -> list[str]:
    return [step.action for step in found.steps]


# ------------------------------------------------------------------------------------------------ as it is read


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
    spread = 1.55 * math.hypot(after.state.sd(b.PH), 0.05)
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


# -------------------------------------------------------------------------------------------------------- misread


@pytest.mark.parametrize(("records", "days"), [
    ([], 14.0), ([poured("rain", 320.0, 24.0, "change_out")], 1.0), ([poured("rain", 320.0, 48.0, "change_out")], 2.0),
    ([poured("rain", 320.0, 480.0, "change_out")], 14.0),
])  # fmt: skip
def test_what_plants_may_have_added_counts_by_days_up_to_fourteen(records: list[Note], days: float) -> None:
    """0.1 meq/L a day, on top of 0.3 that a feed near pH 6 has anyway: rain water brings but 0.1."""
    case = case_of(records)
    assert max(case.ledger.solution.alkalinity_meq_l, 0.3) == pytest.approx(0.3)
    assert brought_meq_l(case) == pytest.approx(0.3 + 0.1 * days)


def test_a_tenth_of_the_acid_on_record_may_not_have_arrived() -> None:
    """64 mL of 1.3 mol/L in 320 L are 0.26 meq/L."""
    fill = poured("well", 320.0, 24.0, "change_out")
    farm = a_farm(waters=(hard_water(),))
    bare = brought_meq_l(case_of([fill], farm=farm))
    assert bare == pytest.approx(4.6 + 0.1, abs=0.02)
    with_acid = brought_meq_l(case_of([fill, poured("acid", 64.0, 20.0)], farm=farm))
    assert with_acid == pytest.approx(bare - 0.26 + 0.1 * 0.26, abs=0.002)
    with_base = brought_meq_l(case_of([fill, poured("base", 64.0, 20.0, "base")], farm=farm))
    assert with_base == pytest.approx(bare + 0.2, abs=0.002)


def test_the_least_alkalinity_of_a_ph_is_that_of_water_under_air() -> None:
    """Under 0.00042 atm bicarbonate grows tenfold with each pH: Henry, 0.039 mol/(L atm), and pK 6.38 at 20 °C."""
    case = case_of()
    assert implied_meq_l(case, 8.0) / implied_meq_l(case, 7.0) == pytest.approx(10.0, rel=0.1)
    bicarbonate = 0.00042 * 0.039 * 10.0**-6.38 / 10.0**-7.0 * 1000.0
    assert bicarbonate < implied_meq_l(case, 7.0) < 1.6 * bicarbonate, "activity and ion pairs make it some more"


@pytest.mark.parametrize(("value", "second", "doubted"), [
    (8.0, None, False), (8.6, None, True), (8.6, 8.7, False), (8.6, 8.3, True), (8.6, 8.5, False), (None, None, False),
])  # fmt: skip
def test_a_ph_that_needs_more_alkalinity_than_was_brought_is_doubted(
    value: float | None, second: float | None, doubted: bool
) -> None:
    """Twice 1.7 meq/L are enough up to pH 8.7 under air; above 8.5 no feed comes; 0.2 is the same on two meters."""
    case = case_of(readings=read(ph=value, second_meter_ph=second))
    found = too_alkaline(case)
    assert (found is not None) is doubted
    assert (doubted_ph(case) is not None) is doubted if value is not None else doubted_ph(case) is None
    fresh = [poured("rain", 320.0, 2.0, "change_out")]
    assert (too_alkaline(case_of(fresh, read(ph=8.3))) is not None) and too_alkaline(
        case_of(fresh, read(ph=7.5))
    ) is None


def test_what_is_supposed_where_a_reading_is_wrong() -> None:
    """What was believed before it; with nothing else read here the middle of the band and a worn feed."""
    alone = supposed(case_of(readings=read(ph=8.6)))
    assert (alone.mean[b.PH], alone.sd(b.PH), alone.sd(b.PHOSPHATE)) == pytest.approx((5.8, 0.3, 0.45))
    worn = case_of(readings=read(ph=8.6)).solution.po4 * WORN
    assert math.exp(alone.mean[b.PHOSPHATE]) == pytest.approx(worn, rel=1e-6)
    assert alone.mean[b.PRESSURE] == alone.mean[b.RESTING]
    case = case_of([ph(5.9, 24.0)], read(ph=8.6))
    assert supposed(case).mean[b.PH] == pytest.approx(5.9, abs=0.15)
    same = case_of([ph(8.6, 4.0)], read(ph=8.6))
    assert supposed(same).mean[b.PH] == pytest.approx(5.8)


# ----------------------------------------------------------------------------------------- surprises, bottles, rechecks


SURPRISED = [ph(6.8, 2.0), poured("acid", 20.0, 1.9)]
"""Some 0.5 down were meant."""


def test_a_surprise_after_a_dose_shuts_and_names_its_causes_in_their_order() -> None:
    case = case_of(SURPRISED, read(ph=8.0))
    found = surprised(case)
    assert found is not None and found.code == "surprise"
    assert found.text.startswith("pH 8.00 after the last dose, where ")
    assert likely_causes(case)[:2] == ["bottles swapped: base instead of acid", "the meter is off: dip it in buffer"]
    (beside,) = surprise_beside_water(case)
    assert beside.severity == "act" and "bottles swapped: base instead of acid" in beside.text
    calm = case_of(SURPRISED, read(ph=6.5))
    assert surprised(calm) is None and surprise_beside_water(calm) == () and likely_causes(calm) == []
    without = case_of([ph(5.8, 24.0)], read(ph=8.0))
    assert surprised(without) is None and surprise_beside_water(without) == ()


def test_causes_follow_from_how_far_it_moved_and_which_way() -> None:
    far = likely_causes(case_of(SURPRISED, read(ph=4.0)))
    assert far[0] == "poured twice, or cL read as mL" and far[-1] == "the meter is off: dip it in buffer"
    base = [ph(5.0, 2.0), poured("base", 30.0, 1.9, "base")]
    assert likely_causes(case_of(base, read(ph=3.6)))[0] == "bottles swapped: acid instead of base"
    early = [ph(6.8, 1.0), poured("acid", 20.0, 40 / 60)]
    assert likely_causes(case_of(early, read(ph=8.0)))[0] == "not yet mixed"
    mixed = [ph(6.8, 1.0), poured("acid", 20.0, 3.0 * TURNOVER_MIN / 60)]
    assert likely_causes(case_of(mixed, read(ph=8.0)))[0] != "not yet mixed"


def test_one_dose_that_went_the_other_way_shuts_the_bottle_until_it_was_looked_at() -> None:
    wrong = [ph(6.8, 4.0), poured("acid", 20.0, 3.9), ph(8.0, 2.0)]
    now = read(ph=8.0)
    found = surprised_twice(case_of(wrong, now))
    assert found is not None and found.code == "bottle-doubtful" and "(Working acid)" in found.text
    assert surprised_twice(case_of([*wrong, check("bottles", True, 1.0)], now)) is None
    assert surprised_twice(case_of([*wrong, check("bottles", True, 3.0)], now)) is not None
    assert surprised_twice(case_of([*wrong, check("bottles", False, 1.0)], now)) is not None
    long_ago = [ph(6.8, 20.0), poured("acid", 20.0, 19.9), ph(8.0, 16.1)]
    assert surprised_twice(case_of(long_ago, now)) is None
    assert gates_for(case_of([buffer_dip(), *wrong], now), "acid").shut is not None
    assert fill_gates(case_of([buffer_dip(), *wrong], now)).shut is not None
    assert twice_suspected(case_of(wrong, now)) is None


def test_what_looks_as_if_twice_as_much_had_arrived_is_said() -> None:
    """The reading lies where twice the dose would have brought it."""
    case = case_of([ph(7.0, 2.0)], read(ph=7.0))
    before = as_read(case)
    there = with_dose(before, NITRIC, 40.0, hours=0.1).ph_range[0]
    found = twice_suspected(case_of([ph(7.0, 2.0), poured("acid", 20.0, 0.9)], read(ph=round(there, 2))))
    assert found is None or (found.code == "arrives-twice" and "times likelier" in found.text)
    assert twice_suspected(case_of([ph(7.0, 2.0)], read(ph=round(there, 2)))) is None


def offered(ago_h: float, **data: Any) -> Note:
    return note("correction", "", None, ago_h, id="k1", data=data)


def done(ago_h: float, action: str = "acid", correction: str = "k1", **more: Any) -> Note:
    return note("dose", "acid", 5.0, ago_h, unit="mL", data={"action": action, "correction": correction}, **more)


def due(records: list[Any], now_h: float = 0.0) -> dict[str, float]:
    """Which rechecks are open, and how many hours from the morning on."""
    found = recheck_due(RAIN, sorted(records, key=lambda r: r.measured_at), "r", MORNING + timedelta(hours=now_h))
    assert all((each.correction_id, each.reservoir_id) == ("k1", "r") for each in found)
    return {each.stage: (each.due_at - MORNING) / timedelta(hours=1) for each in found}


def test_when_rechecks_fall_due() -> None:
    """Three turnovers of 300 + 20 L by 20 L/min are 48 minutes; the next morning is ten hours on."""
    assert due([offered(2.0)]) == {}
    assert due([offered(2.0), done(1.0)]) == {"mixed": pytest.approx(-0.2), "next-morning": pytest.approx(9.0)}
    assert due([offered(2.0), done(1.0), done(0.5)])["mixed"] == pytest.approx(0.3)
    assert due([offered(2.0, prediction={"volume_l": 200.0}), done(1.0)])["mixed"] == pytest.approx(-0.5)
    assert due([offered(2.0, prediction={"volume_l": 10.0}), done(1.0)])["mixed"] == pytest.approx(-1.0 + 5.0 / 60.0)
    assert due([offered(2.0), done(1.0, correction="other"), done(1.0, "drain_off")]) == {}
    assert due([offered(-1.0), done(1.0)]) == {}
    assert due([]) == {}


@pytest.mark.parametrize(("record", "left"), [
    (ph(6.0, 0.2), {"next-morning"}), (ec(1.8, 0.2), {"next-morning"}), (ph(6.0, 0.2 + 60 * SECOND), {"next-morning"}),
    (ph(6.0, 0.2 + 61 * SECOND), {"mixed", "next-morning"}), (dip(50.0, 0.1), {"mixed", "next-morning"}),
    (ph(6.0, 0.1, station="other"), {"mixed", "next-morning"}), (ph(6.0, -9.0), set()),
    (note("recheck-done", "", None, 0.5, data={"correction": "k1", "stage": "mixed"}), {"next-morning"}),
    (note("recheck-done", "", None, 0.5, data={"correction": "k1", "stage": "next-morning"}), {"mixed"}),
    (note("recheck-done", "", None, 0.5, data={"correction": "k0", "stage": "mixed"}), {"mixed", "next-morning"}),
])  # fmt: skip
def test_what_closes_a_recheck(record: Note, left: set[str]) -> None:
    assert set(due([offered(2.0), done(1.0), record])) == left


def fed_offer(ago_h: float = 1.0, **more: Any) -> list[Note]:
    span = {"value": 1.8, "low": 1.7, "high": 1.9}
    data = {"prediction": {"mixed": {"ec_ms_cm": span}}, "assumed": {"ec_ms_cm": 1.4}} | more
    return [offered(ago_h, **data), done(ago_h - 0.1, "concentrate_a")]


@pytest.mark.parametrize(("value", "cause"), [
    (1.65, None), (1.95, None), (1.8, None), (1.96, "A or B poured twice"), (1.64, "half strength"),
    (1.51, "half strength"), (1.5, "not poured or not yet mixed"), (1.2, "not poured or not yet mixed"),
])  # fmt: skip
def test_a_conductivity_far_from_what_feeding_should_have_made(value: float, cause: str | None) -> None:
    """1.7 to 1.9 foreseen, 0.05 beyond it is let pass; up to a quarter of the way from 1.4 to 1.8 nothing moved."""
    found = ec_surprise(case_of(fed_offer(), read(ec_ms_cm=value)))
    assert (found is not None) is (cause is not None)
    if found is not None and cause is not None:
        assert found.code == "surprise-ec" and found.severity == "stop" and f"in this order: {cause}" in found.text
        assert f"EC {value:.2f} mS/cm after feeding, where 1.70 to 1.90 was expected." in found.text
        assert found.text.endswith("Read again before anything more is poured.")
        again = ec_surprise(case_of([*fed_offer(), ec(value, 0.2)], read(ec_ms_cm=value)))
        assert again is not None and "Read twice now" in again.text


@pytest.mark.parametrize(("records", "asked"), [
    (fed_offer(7.99), True), (fed_offer(8.0), False), ([fed_offer()[0]], False), ([*fed_offer(), offered(0.5)], False),
    (fed_offer(prediction={}), False), ([offered(1.0, prediction={"mixed": {"ec_ms_cm": {"low": 1.7, "high": 1.9}}}),
    done(0.9)], False),
])  # fmt: skip
def test_only_the_last_feeding_of_eight_hours_is_held_against_its_prediction(records: list[Note], asked: bool) -> None:
    records = [msgspec_id(each, n) for n, each in enumerate(records)]
    assert (ec_surprise(case_of(records, read(ec_ms_cm=2.5))) is not None) is asked
    assert ec_surprise(case_of(records, read(ec_ms_cm=None))) is None


def msgspec_id(record: Note, n: int) -> Note:
    """The same record; a second correction has an id of its own."""
    import dataclasses

    return dataclasses.replace(record, id="k2") if record.kind == "correction" and n > 0 else record


def test_which_readings_are_unsure_and_what_is_said_of_them() -> None:
    calm = unsure(case_of([ec(1.8, 24.0), ph(5.8, 24.0)]))
    assert (calm.names, calm.why, calm.no_feed, calm.ph_finding, calm.ec_finding) == ("", "", False, None, None)
    jump = unsure(case_of([ec(1.0, 24.0)]))
    assert (jump.names, jump.no_feed) == ("the EC", True)
    assert jump.ec_finding is not None and jump.why == jump.ec_finding.text
    both = unsure(case_of([ec(1.0, 24.0), ph(7.4, 24.0)]))
    assert both.names == "pH and EC" and both.ec is not None and both.ph is not None
    assert both.why == f"{both.ph} {both.ec}"
    alone = unsure(case_of(readings=read(ph=9.5)))
    assert alone.names == "the pH" and "is not that of a feed" in alone.why
    dead = unsure(case_of([ec(1.8, 24.0), ec(0.05, 0.5)], read(ec_ms_cm=0.05)))
    assert dead.names == "the EC" and dead.no_feed, "a dead cell reads the same twice"
    twice = unsure(case_of([*fed_offer(), ec(2.5, 0.2)], read(ec_ms_cm=2.5)))
    assert (twice.names, twice.no_feed) == ("", True), "it is believed, but A and B stay shut"
    assert unsure(case_of(readings=read(ph=None))).ph is None


# ----------------------------------------------------------------------------------------------- doses, ahead of time


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
    aim = dose_for(case, as_read(case), agent, direction, gates_for(case, direction), 500.0).aim_ph  # type: ignore[arg-type]
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
    stays = b.share_within(then.state, 5.5, 6.1) >= 0.45
    if b.share_within(projected.state, 5.5, 6.1) >= 0.82:
        assert (found is None) is stays
        if found is not None:
            assert found.ahead_of_time and found.direction == "acid" and "better moved now" in found.why
            assert found.outlook == f"The pH is in band now, but about {then.state.mean[b.PH]:.1f} by the next round"
            dose = SimpleNamespace(measured=Measured(0.0, "mL"))
            assert not is_worth_it(projected, NITRIC, dose)  # type: ignore[arg-type]


# -------------------------------------------------------------------------------------------------------------- steps


def plan_of(farm: Farm = RAIN, **readings: Any) -> StepPlan:
    return StepPlan(case_of([], read(**readings), farm))


def test_a_drain_and_a_top_up_are_written_field_by_field() -> None:
    """From 300 L, 50 cm, 30 L less are 45 cm; 2.4 L more are 0.4 cm."""
    plan = plan_of()
    plan.drain_off(30.2, "too strong")
    plan.top_up(plan.case.waters[0], 2.4, "fill")
    drain, top = plan.steps
    assert (drain.action, drain.amount, drain.unit, drain.product, drain.why) == (
        "drain_off",
        30.0,
        "L",
        None,
        "too strong",
    )
    assert drain.text == "Drain off 30 L, to a dip of 45 cm." and drain.cautions == (c.PLUG_BEFORE_DRAIN, c.WET_FLOOR)
    assert drain.after.volume_l.value == pytest.approx(290.0)
    assert (top.action, top.amount, top.unit, top.product) == ("top_up", 2.4, "L", "rain")
    assert top.text == "Add 2.4 L of Rain water, to a dip of 45.4 cm." and top.cautions == (c.RINSE,)
    assert top.explain == ("Rain water: alkalinity 0.10 meq/L within a factor of 1.2, EC 0.02 mS/cm",)
    hard = plan_of(a_farm(waters=(hard_water(),)))
    hard.top_up(hard.case.waters[0], 61.0, "fill")
    assert hard.steps[0].text == "Add 61 L of Well water." and hard.steps[0].cautions == (c.HARD_WATER_SLOWLY, c.RINSE)


def test_waits_are_turnovers_and_five_minutes_at_least() -> None:
    plan = plan_of()
    plan.circulate("mix")
    plan.circulate("mix more", 3.0)
    assert [(step.wait_min, step.text) for step in plan.steps] == [
        (16.0, "Let the pump run 16 minutes."), (48.0, "Let the pump run 48 minutes."),
    ]  # fmt: skip
    assert plan.steps[1].explain == ("wait = 3 x 320 L / 20 L/min",)
    assert plan.mixing_min == 48.0
    quick = plan_of(a_farm(waters=(rain_water(),), pump_l_min=200.0))
    quick.circulate("mix")
    assert quick.steps[0].wait_min == 5.0 and quick.mixing_min == 5.0
    plan.recheck("pH and EC", "why")
    assert (plan.steps[2].text, plan.steps[2].wait_min) == ("Read pH and EC again in 48 minutes.", 0.0)


def test_a_and_b_are_written_field_by_field_with_the_pump_between() -> None:
    plan = plan_of()
    plan.concentrates(Measured(240.0, "mL"), Measured(37.0, "mL"), "thin", ("sum",))
    a, pump, second = plan.steps
    assert (a.action, a.product, a.amount, a.unit, a.explain) == ("concentrate_a", "a", 240.0, "mL", ("sum",))
    assert a.text == "Pour 240 mL of Concentrate A (250 mL cylinder, to its 240 mL mark) into the return."
    assert a.cautions == (c.SHAKE, c.NOT_TOGETHER)
    assert (pump.action, second.action, second.product, second.amount, second.explain) == (
        "circulate", "concentrate_b", "b", 37.0, (),
    )  # fmt: skip
    both = plan_of().stand_with(Measured(240.0, "mL"), Measured(37.0, "mL"))
    assert both.ec_ms_cm == pytest.approx(plan.projected.ec_ms_cm) and both.ec_ms_cm > 1.8


def test_an_acid_is_written_field_by_field() -> None:
    found = correct(FULL, [buffer_dip()], "r", read(ph=7.0), MORNING)
    (acid,) = [step for step in found.steps if step.action == "acid"]
    assert (acid.product, acid.unit, acid.wait_min) == ("acid", "mL", 48.0)
    assert acid.cautions == (c.INTO_WATER, c.HANDS_AND_EYES, c.SLOWLY, c.NOT_WITH_BLEACH, c.NOT_WITH_SULFITE, c.NITRIC,
                             c.RESTRICTED, c.LOCAL)  # fmt: skip
    assert f"over {max(2.0, acid.amount / 50.0):.0f} minutes into the return." in acid.text
    amount = acid.amount
    assert acid.explain[0] == f"{amount:g} mL x 1.30 meq/mL / 320 L = {amount * 1.3 / 320.0:.3f} meq/L"
    assert acid.explain[4] == f"It brings {amount * 1.3 * 14.007 / 1000.0:.2f} g N: booked"
    assert acid.explain[3].startswith("'far edge' keeps 2.8 standard deviations")
    assert acid.explain[2].startswith("The least of (mL): ") and "held by: " in acid.explain[2]


@pytest.mark.parametrize(("agent", "eyes", "ammonia"), [
    ("potassium_hydroxide", c.BASE_EYES, True), ("potassium_carbonate", c.CARBONATE_EYES, True),
    ("potassium_hydrogen_carbonate", c.MILD_BASE, False),
])  # fmt: skip
def test_each_base_has_its_own_cautions(agent: str, eyes: str, ammonia: bool) -> None:
    found = c.for_base(msgspec.structs.replace(BASE, agent=agent))
    assert found[:2] == (eyes, c.SLOWLY) and found[-1] == c.LOCAL
    assert (c.BASE_AMMONIA in found) is ammonia
    assert (c.CARBONATE_FOAM in found) is (agent != "potassium_hydroxide")
    assert (c.BASE_METAL in found) is (agent == "potassium_hydroxide")
    assert (c.CARBONATE_METAL in found) is (agent == "potassium_carbonate")
    assert c.of_base(agent)[0] == eyes and c.SLOWLY not in c.of_base(agent)


def test_an_acid_as_bought_has_the_cautions_of_stock_first() -> None:
    strong = msgspec.structs.replace(ACID, working=False, agent="phosphoric")
    assert c.for_acid(strong) == (
        c.STOCK_ACID, c.INTO_WATER, c.HANDS_AND_EYES, c.SLOWLY, c.NOT_WITH_BLEACH, c.NOT_WITH_SULFITE, c.RESTRICTED,
        c.LOCAL,
    )  # fmt: skip


def test_a_doubted_reading_comes_before_all_that_hangs_on_it() -> None:
    plan = plan_of(ph=7.0)
    plan.buffer_dip()
    plan.top_up(plan.case.waters[0], 30.0, "fill")
    plan.circulate("mix")
    plan.read_first("the pH", "why", feed_waits=True)
    assert [step.action for step in plan.steps] == ["buffer_dip", "read_again", "top_up", "circulate"]
    assert plan.steps[1].text == (
        "Read the pH again before anything is poured. A and B wait for it: if it agrees, enter it and correct again."
    )
    assert plan.steps[2].text.endswith(" Only if the second reading agrees.")
    assert not plan.steps[3].text.endswith("agrees.")
    other = plan_of(ph=7.0)
    other.buffer_dip()
    other.drain_off(30.0, "x")
    other.top_up(other.case.waters[0], 30.0, "fill")
    other.read_first("the EC", "why")
    assert [step.action for step in other.steps] == ["read_again", "buffer_dip", "drain_off", "top_up"]
    assert [step.text.endswith("agrees.") for step in other.steps] == [False, False, True, False]
    assert "A and B wait" not in other.steps[0].text
    other.look_first("Look.", "leak", ("care",))
    assert (other.steps[0].action, other.steps[0].cautions, other.steps[0].why) == ("look", ("care",), "leak")


# ---------------------------------------------------------------------------------------------- the whole correction


def test_what_is_assumed_and_foreseen_is_kept_field_by_field() -> None:
    records = [buffer_dip(), ph(6.9, 0.0, id="p"), ec(1.8, 0.0)]
    found = correct(FULL, records, "r", read(ph=6.9), MORNING)
    assumed = found.assumed
    assert (assumed.volume_l, assumed.ph, assumed.ec_ms_cm, assumed.temperature_c) == (320.0, 6.9, 1.8, 20.0)
    assert assumed.alkalinity_meq_l == pytest.approx(0.10) and found.reservoir_id == "r"
    acid = next(step for step in found.steps if step.action == "acid")
    foreseen = found.prediction
    assert (foreseen["format"], foreseen["read_at"], foreseen["next_morning_h"]) == (1, MORNING.isoformat(), 12.0)
    assert foreseen["volume_l"] == pytest.approx(320.0 + acid.amount / 1000.0, abs=0.006)
    assert foreseen["mixed"] == {
        "ph": acid.after.ph.to_json(3), "ec_ms_cm": acid.after.ec_ms_cm.to_json(3),
        "volume_l": acid.after.volume_l.to_json(1),
    }  # fmt: skip
    assert foreseen["next_morning"]["ph"]["value"] != foreseen["mixed"]["ph"]["value"]
    case = case_of(records, read(ph=6.9), FULL)
    assert foreseen["assumed_solution_mmol_l"]["po4"] == pytest.approx(case.solution.po4, abs=1e-5)
    span, mean = foreseen["phosphate_mmol_l"], case.state.mean[b.PHOSPHATE]  # type: ignore[union-attr]
    assert span["value"] == pytest.approx(math.exp(mean), abs=1e-6)
    assert span["high"] / span["value"] == pytest.approx(span["value"] / span["low"], rel=1e-3)
    assert math.log(span["high"] / span["low"]) == pytest.approx(2.0 * 1.645 * 0.45, rel=1e-3)
    assert span["value"] == pytest.approx(case.solution.po4 * WORN, rel=0.01)
    assert foreseen["co2_atm"]["value"] == pytest.approx(3.0 * 0.00042, rel=0.01)
    assert foreseen["belief"]["last"] == "p"
    bare = correct(FULL, [buffer_dip()], "r", read(ph=6.9), MORNING)
    assert bare.prediction["belief"] is None
    unread = correct(FULL, [], "r", read(ph=None), MORNING)
    assert unread.prediction["phosphate_mmol_l"] is None and unread.prediction["co2_atm"] is None


def test_the_working_of_a_correction_says_its_sums() -> None:
    found = correct(FULL, [buffer_dip()], "r", read(ph=6.9), MORNING).explain
    half = 1.645 * math.hypot(9.0 / 1.645, 3.0)
    assert found[0] == (
        f"Circulating volume = 300 L in the reservoir + 20 L in channels, roots and pipes = 320 L (± {half:.0f} L)"
    )
    assert found[1].startswith("Composition: the book since no change-out on record, times ")
    assert found[3] == "CO2 believed 3 (1 to 9.1) times the air's" or found[3].startswith("CO2 believed 3 (")
    assert found[4].startswith("A dose arrives at 1 (0.79 to 1.3) of the book")
    assert found[5].startswith("pH read with a standard error of 0.05; believed 6.90 ± 0.08")
    assert len(correct(FULL, [], "r", read(ph=None), MORNING).explain) == 4


def test_what_cannot_be_worked_out_is_refused_whole() -> None:
    found = correct(FULL, [], "r", read(ph=12.0), MORNING)
    assert found.steps == () and found.findings == () and codes(found) == {"bad-input"}
    assert found.explain == (f"Nothing was worked out: {found.refusals[0].text}",)
    assert found.prediction == {"format": 1, "read_at": MORNING.isoformat()}
    assumed = found.assumed
    assert (assumed.volume_l, assumed.ph, assumed.ec_ms_cm, assumed.temperature_c, assumed.alkalinity_meq_l) == (
        None,
    ) * 5


def test_while_it_mixes_the_wait_is_the_whole_correction() -> None:
    found = correct(FULL, [buffer_dip(), poured("acid", 5.0, 0.5)], "r", read(ph=6.9), MORNING)
    assert [(step.action, step.wait_min) for step in found.steps] == [("circulate", 18.0), ("read_again", 0.0)]
    assert found.refusals[0].code == "still-mixing" and "18 minutes are left" in found.refusals[0].text
    assert "recheck" not in actions(found)


def test_a_reading_in_doubt_of_its_band_asks_for_a_second_dip_and_a_sure_one_does_not() -> None:
    for value, asked in ((6.05, True), (5.8, False)):
        found = correct(FULL, [buffer_dip()], "r", read(ph=value), MORNING)
        assert ("dip-twice" in codes(found)) is asked
        twice = correct(FULL, [buffer_dip(), ph(value, 0.1), ph(value, 0.0)], "r", read(ph=value), MORNING)
        assert "dip-twice" not in codes(twice)


def test_a_dose_too_small_to_measure_is_said_with_what_helps() -> None:
    strong = msgspec.structs.replace(ACID, molarity_mol_l=10.0)
    shelf = (*CONCENTRATES, strong, BASE)
    farm = a_farm(full_volume_l=301.0, waters=(rain_water(),), products=shelf, limits=Limits(step_ph=0.01))
    found = correct(farm, [buffer_dip()], "r", read(ph=6.5), MORNING)
    assert "acid" not in actions(found)
    (refusal,) = [each for each in found.refusals if each.code == "too-small"]
    assert refusal.text.startswith("The acid that is safe here is less than can be measured (0.")
    assert "mL of Working acid" in refusal.text


def test_what_waits_for_which_reading_is_said_between_the_steps() -> None:
    found = correct(
        a_farm(waters=(rain_water(),)), [buffer_dip()], "r", read(ph=7.2, ec_ms_cm=1.2, volume_l=280.0), MORNING
    )
    texts = [step.text for step in found.steps]
    why = [step.why for step in found.steps]
    assert "Is the pH between 5.5 and 6.1 by now, the acid stays shut." in why
    assert "Read pH and EC again before you go on." in texts
    assert found.steps[-1].action == "recheck"


@pytest.mark.parametrize(("value", "straight"), [(0.3, True), (1.8, False), (4.0, True)])
def test_a_conductivity_far_from_the_book_is_thinned_straight_by_volume(value: float, straight: bool) -> None:
    """Else it moves as its ions do, scaled to what was read."""
    case = case_of(readings=read(ec_ms_cm=value))
    before = as_read(case)
    book = ec25_ms_cm(before.solution, 6.0)
    assert (before.ec_scale in (0.7, 1.4)) is straight or 0.7 < value / book < 1.4
    bigger = with_water(before, case.waters[0], 40.0)
    by_volume = (value * 320.0 + ec25_ms_cm(case.waters[0].solution, 6.0) * 40.0) / 360.0
    by_ions = value + value / book * (ec25_ms_cm(bigger.solution, 6.0) - book)
    assert bigger.ec_ms_cm == pytest.approx(by_volume if before.ec_scale in (0.7, 1.4) else by_ions, rel=1e-9)
    assert by_volume != pytest.approx(by_ions, rel=1e-4)


@pytest.mark.parametrize(("arrives", "sd", "closed", "words"), [
    (0.5, 1e-4, 5, "takes 2.0 times the acid of the book (2.0 to 2.0), from 5 corrections."),
    (0.5, 0.2, 5, "takes 2.0 times the acid of the book (1.4 to 2.8), from 5 corrections."),
    (1.05, 1e-4, 2, "takes the acid of the book (1.0 to 1.0 times), from 2 corrections."),
    (0.625, 1e-4, 2, "takes 1.6 times the acid of the book (1.6 to 1.6), from 2 corrections."),
    (0.5, 1e-4, 1, "is not known well yet: 1 correction so far, so the book is used."),
    (0.5, 1e-4, 0, "is not known well yet: 0 corrections so far, so the book is used."),
])  # fmt: skip
def test_what_a_reservoir_has_taught_is_said_in_words(arrives: float, sd: float, closed: int, words: str) -> None:
    """Of what half arrives twice as much is needed; 2 / 0.25 per hour are 8 hours; nine in ten lie within 1.645."""
    case = case_of([ph(6.5, 2.0, id="p")], read(ph=None))
    logs = (math.log(case.ledger.solution.po4 * WORN), math.log(3.0 * 0.00042), math.log(3.0 * 0.00042), math.log(0.25))
    mean = (6.5, *logs, math.log(arrives), 0.0)
    believed = independent(mean, (1e-4,) * 5 + (sd, 1e-4))
    answer = Response(gaussian=believed, at=MORNING, habits=b.habits_of(believed), closed=closed)
    records = [ph(6.5, 2.0, id="p"), note("correction", "", None, 1.0, data={"prediction": {
        "belief": kept(answer, case.ledger.events)}})]  # fmt: skip
    found = answer_in_words(RAIN, records, "r", MORNING)
    assert found.startswith(f"Reservoir {words}")
    if closed >= 2:
        assert "Its CO2 rests at about 3 times the air's, and is mostly gone 8 hours after a dose." in found
        assert found.endswith("No feeding was read before and after yet: the book's EC per mL is used.")
