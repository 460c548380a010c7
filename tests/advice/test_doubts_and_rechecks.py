"""What is doubted of a reading or a bottle, what is likely wrong, when rechecks fall due."""

from __future__ import annotations

import math
from datetime import timedelta
from typing import Any

import pytest
from light_cases import RAIN, TURNOVER_MIN, case_of, check, dip, ec, note, ph, poured, read, told
from light_farm import MORNING, Note, a_farm, buffer_dip, hard_water

from rounds.advice.bottle_effect import surprise_beside_water, surprised, surprised_twice, twice_suspected
from rounds.advice.case import Case
from rounds.advice.gates import fill_gates, gates_for
from rounds.advice.likely_causes import likely_causes as causes_of
from rounds.advice.misread import brought_meq_l, doubted_ph, implied_meq_l, supposed, too_alkaline
from rounds.advice.projection import as_read, with_dose
from rounds.advice.rechecks import ec_surprise, recheck_due
from rounds.advice.unsure_readings import unsure
from rounds.advice.wording import words
from rounds.belief import state as b
from rounds.science.acids_bases import agent_by_molarity

SECOND = 1.0 / 3600.0


NITRIC, POTASH = agent_by_molarity("nitric", 1.3), agent_by_molarity("potassium_hydroxide", 1.0)


WORN = math.exp(-0.62)


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


def likely_causes(case: Case) -> list[str]:
    """What is likely wrong, in words, the likeliest first."""
    return [words(cause) for cause in causes_of(case)]


SURPRISED = [ph(6.8, 2.0), poured("acid", 20.0, 1.9)]
"""Some 0.5 down were meant."""


def test_a_surprise_after_a_dose_shuts_and_names_its_causes_in_their_order() -> None:
    case = case_of(SURPRISED, read(ph=8.0))
    found = surprised(case)
    assert found is not None and found.code == "surprise"
    assert told(found).startswith("pH 8.00 after the last dose, where ")
    assert likely_causes(case) == [
        "bottles swapped: base instead of acid", "water or a weak bottle instead of acid",
        "the meter is off: dip it in buffer",
    ]  # fmt: skip
    (beside,) = surprise_beside_water(case)
    assert beside.severity == "act" and "bottles swapped: base instead of acid" in told(beside)
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
    assert found is not None and found.code == "bottle-doubtful" and "(Working acid)" in told(found)
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
    assert found is None or (found.code == "arrives-twice" and "times likelier" in told(found))
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
        assert found.code == "surprise-ec" and found.severity == "stop" and f"in this order: {cause}" in told(found)
        assert f"EC {value:.2f} mS/cm after feeding, where 1.70 to 1.90 was expected." in told(found)
        assert told(found).endswith("Read again before anything more is poured.")
        again = ec_surprise(case_of([*fed_offer(), ec(value, 0.2)], read(ec_ms_cm=value)))
        assert again is not None and "Read twice now" in told(again)


@pytest.mark.parametrize(("records", "asked"), [
    (fed_offer(7.99), True), ([fed_offer(0.0)[0], done(0.0, "concentrate_a")], False),
    (fed_offer(8.0), False), ([fed_offer()[0]], False), ([*fed_offer(), offered(0.5)], False),
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
    assert (calm.names, calm.why, calm.no_feed, calm.ph_finding, calm.ec_finding) == ((), (), False, None, None)
    jump = unsure(case_of([ec(1.0, 24.0)]))
    assert (jump.names, jump.no_feed) == (("EC",), True)
    assert jump.ec_finding is not None and jump.why == (jump.ec_finding.says,)
    both = unsure(case_of([ec(1.0, 24.0), ph(7.4, 24.0)]))
    assert both.names == ("pH", "EC") and both.ec is not None and both.ph is not None
    assert both.why == (both.ph, both.ec)
    alone = unsure(case_of(readings=read(ph=9.5)))
    assert alone.names == ("pH",) and "is not that of a feed" in told(alone.ph)
    dead = unsure(case_of([ec(1.8, 24.0), ec(0.05, 0.5)], read(ec_ms_cm=0.05)))
    assert dead.names == ("EC",) and dead.no_feed, "a dead cell reads the same twice"
    twice = unsure(case_of([*fed_offer(), ec(2.5, 0.2)], read(ec_ms_cm=2.5)))
    assert (twice.names, twice.no_feed) == ((), True), "it is believed, but A and B stay shut"
    assert unsure(case_of(readings=read(ph=None))).ph is None
