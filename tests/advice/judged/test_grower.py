"""The grower does what is written and nothing else, and what is counted is what happened."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

import pytest

pytest.importorskip("phreeqc")

from tests.advice.judged.bath import Bath
from tests.advice.judged.contact import Contact, first_contact
from tests.advice.judged.figures import at_percent, judged, percent_of, table
from tests.advice.judged.grower import Grower, Seen
from tests.advice.judged.life import Life, lived
from tests.advice.judged.make import Line, Question
from tests.advice.judged.second.reservoir import Second
from tests.advice.judged.tool import Advice, Tool, Visit

SPAN = {"ph": {"low": 5.0, "value": 5.8, "high": 9.0}}


def step(action: str, amount: float = 0.0, wait_min: float = 0.0, text: str = "", product: str = "acid") -> Advice:
    unit = "L" if action in ("top_up", "drain_off") else "mL"
    return {"action": action, "product": product, "amount": amount, "unit": unit, "wait_min": wait_min, "text": text}


def advice(*steps: Advice, refused: Sequence[str] = (), found: Sequence[str] = ()) -> Advice:
    return {
        "steps": list(steps),
        "refusals": [{"code": code, "text": "", "instead": ""} for code in refused],
        "findings": [{"code": code, "text": ""} for code in found],
        "prediction": {"mixed": SPAN, "next_morning": SPAN},
    }


class Scripted:
    """Says one thing after another, then that all is well."""

    script: tuple[Advice, ...] = ()

    def __init__(self, files: Mapping[str, str], reservoir_id: str) -> None:
        self.left = list(self.script)

    def advise(self, record: Sequence[Line], visit: Visit, now: datetime) -> Advice:
        return self.left.pop(0) if self.left else advice()


def at_a_bath(*script: Advice, **bath: Any) -> tuple[Grower, Bath]:
    make = Bath(3, "healthy")
    for name, value in bath.items():
        setattr(make, name, value)
    advisor = Scripted({}, "r")
    advisor.left = list(script)
    return Grower(make, advisor), make


def doses(grower: Grower) -> list[tuple[str, Any]]:
    return [(line.item, line.value) for line in grower.lines if line.kind == "dose"]


def test_every_step_is_poured_waited_for_and_written_down_and_tested_once():
    grower, bath = at_a_bath(
        advice(step("acid", 10.0, 40.0), step("recheck", text="Read pH and EC again in 40 minutes."))
    )
    before = bath.ph
    assert grower.put_right() == "in band"
    assert doses(grower) == [("acid", 10.0)] and bath.ph < before
    assert bath.minute >= 40.0
    assert grower.rechecks == grower.ph_rechecks == len(grower.seen) == 1


def test_acid_that_hangs_on_a_ph_stays_shut_below_it():
    step_shut = step("acid", 10.0, text="Pour it. Only if the pH now shows 6.4 or more; else none of it.")
    assert doses(at_a_bath_after(step_shut, ph=6.3)) == []
    assert doses(at_a_bath_after(step_shut, ph=6.5)) == [("acid", 10.0)]


def at_a_bath_after(only: Advice, ph: float) -> Grower:
    grower, _ = at_a_bath(advice(only), ph=ph)
    grower.put_right()
    return grower


class Jumps(Bath):
    """Its probe is wrong once."""

    shown = 0

    def read(self, what: str) -> float:
        self.shown += what == "ph"
        return super().read(what) + (1.0 if what == "ph" and self.shown == 1 else 0.0)


def test_a_second_reading_that_does_not_agree_ends_what_hung_on_it():
    make = Jumps(3, "healthy")
    advisor = Scripted({}, "r")
    advisor.left = [advice(step("read_again"), step("acid", 10.0))]
    grower = Grower(make, advisor)
    grower.put_right()
    assert doses(grower) == []


def test_a_reading_after_a_pour_is_answered_by_new_advice():
    grower, _ = at_a_bath(advice(step("top_up", 5.0, 0.0, product="tap"), step("read_again"), step("acid", 10.0)))
    grower.put_right()
    assert doses(grower) == [("tap", 5.0)]
    assert (grower.rechecks, grower.ph_rechecks, grower.seen) == (1, 0, [])


def test_a_refusal_that_asks_for_two_hours_is_come_back_to():
    grower, bath = at_a_bath(advice(refused=["base-after-acid"]))
    bath.answer = lambda question: None  # type: ignore[method-assign]
    assert grower.put_right() == "in band" and bath.minute >= 120.0


def test_a_second_dip_is_made_where_it_is_asked_for_and_no_third():
    again = advice(step("acid", 5.0), found=["dip-twice"])
    grower, _ = at_a_bath(again, again)
    grower.put_right()
    read = [line.kind for line in grower.lines if line.item in ("ph", "acid")]
    assert read[:3] == ["reading", "reading", "dose"]


def test_what_stays_refused_is_no_band():
    grower, _ = at_a_bath(*[advice(refused=["day-limit"])] * 2)
    assert grower.put_right() == "day-limit"


def test_the_same_question_is_answered_three_times_at_most():
    asks = {**advice(), "questions": [{"code": "strip", "text": "Dip a strip."}]}
    grower, bath = at_a_bath(*[asks] * 9)
    bath.answer = lambda question: 6.0  # type: ignore[method-assign]
    grower.put_right()
    assert grower.asked["strip"] == 3


def contact(**other: Any) -> Contact:
    return Contact(**{
        "seed": 1, "story": "healthy", "ended": "in band", "start_ph": 6.6, "end_ph": 5.8, "rechecks": 2,
        "ph_rechecks": 2, "jars": 0, "minutes": 100.0, "lowest_ph": 5.7, "lowest_ph_12h": 5.7, "highest_ph": 6.6,
        "past_edge": -0.2, "past_edge_12h": -0.2, "out_of_band": -0.3, "seen": (), "next": None, "codes": (),
        "without_end": False, "poured": True, **other,
    })  # fmt: skip


def test_the_figures_are_what_can_be_counted_by_hand():
    met = [
        contact(seen=(Seen(5.8, 5.5, 6.0), Seen(6.1, 5.5, 6.0)), next=Seen(5.8, 5.5, 6.0)),
        contact(rechecks=9, past_edge=0.2, past_edge_12h=0.5, out_of_band=0.2, lowest_ph=5.0, without_end=True),
        contact(ended="day-limit", rechecks=1, out_of_band=0.4, minutes=900.0),
        contact(ended="day-limit", rechecks=3, out_of_band=-0.1, minutes=900.0),
        contact(story="swapped", lowest_ph=4.2, lowest_ph_12h=4.1, seed=7),
        contact(story="swapped", lowest_ph=3.9, lowest_ph_12h=3.9, seed=8),
        contact(story="swapped", lowest_ph=5.0, lowest_ph_12h=4.4, seed=9),
    ]
    found = judged(met, [Life(seed=1, rechecks=(1, 3), oracle=(0, 1), out_of_band=(-0.1, 0.2), lowest_ph=5.2,
                              ended=("in band", "day over"))])  # fmt: skip
    first, swapped = found["first_contact"], found["stories"]["swapped"]
    assert first["rechecks"] == {"median": 2, "p95": 9, "p99": 9}
    assert first["in_band_first_day_percent"] == 50.0 and first["called_in_band_percent"] == 50.0
    assert first["minutes"] == {"median": 100, "p95": 100}
    assert first["past_far_edge_per_1000"] == {"any": 250.0, "over_0_1": 250.0, "over_0_3": 0.0}
    assert first["past_far_edge_within_12h_per_1000"]["over_0_3"] == 250.0
    assert first["called_in_band_though_out_percent"] == 50.0
    assert first["recheck_within_interval_percent"] == 50.0
    assert first["twelve_hours_within_interval_percent"] == 100.0
    assert first["asked_about_meter_or_bottle_without_end_percent"] == 25.0
    assert (swapped["below_4_5"], swapped["below_4_0"], swapped["lowest_seed"]) == (2, 1, 8)
    assert swapped["below_4_5_within_12h"] == 3
    assert found["daily_life"]["rechecks"] == {"median": 1, "p95": 3, "mean": 2.0}
    assert found["daily_life"]["oracle"]["mean"] == 0.5
    assert found["daily_life"]["left_out_of_band_percent"] == 50.0
    assert "swapped" in table(found)


def test_percentiles_are_values_that_occurred():
    assert [at_percent([3, 1, 2, 4], p) for p in (50, 75, 76, 95)] == [2, 3, 4, 4]
    assert percent_of([]) is None and percent_of([True, False]) == 50.0


def test_past_the_far_edge_is_what_lies_beyond_the_band_from_where_it_began():
    """A bath that begins above its band, and one dose that takes it to the other side."""
    bath = Bath(3, "healthy")
    meq_per_ml = bath.told.acid.label_mol_l
    ml = 2.0 * 0.5 * bath.told.working_l_told / meq_per_ml

    class Once(Scripted):
        script = (advice(step("acid", ml)),)

    met = first_contact(bath, Once)
    assert met.start_ph > 6.1
    assert met.past_edge == pytest.approx(5.5 - (met.start_ph - 2.0))
    assert met.lowest_ph == pytest.approx(met.start_ph - 2.0) and met.out_of_band == pytest.approx(met.past_edge)


@pytest.mark.parametrize("seed", [4, 9, 12])
def test_the_oracle_keeps_a_reservoir_in_band_for_the_day(seed):
    make = Second(seed, "healthy")
    make.oracle_morning()
    make.lowest, make.highest = 99.0, -99.0
    make.wait(24.0 * 60.0)
    low, high = make.band
    assert low - 0.15 <= make.lowest and make.highest <= high + 0.15


def test_an_oracle_with_nothing_to_do_leaves_no_trace():
    make = Second(4, "healthy")
    assert make.oracle_morning()
    there = make.circuit.mixed(), make.minute, make.ph, make.lowest, make.highest
    assert not make.oracle_morning()
    assert (make.circuit.mixed(), make.minute, make.ph, make.lowest, make.highest) == there


def test_daily_life_counts_the_second_half_of_the_days():
    life = lived(lambda: Bath(4, "healthy"), Tool, days=4)
    assert len(life.rechecks) == len(life.oracle) == 2
    assert life.oracle == (0, 0), "nothing moves a bath once it is right"


def test_a_make_is_not_asked_where_the_grower_refuses():
    bath = Bath(2, "healthy")
    first_contact(bath, Tool, refuses=True)
    assert bath.asked == []


def test_a_question_has_its_details():
    question = Question(code="jar-test", details={"product": "acid", "ml_per_l": 0.3})
    shown = Second(3, "swapped").answer(question)
    assert isinstance(shown, float)
    assert shown > Second(3, "swapped").ph_in_tank() - 0.2, "what is called acid is a base here"
