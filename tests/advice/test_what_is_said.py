"""Every step and the whole correction, field by field and word by word."""

from __future__ import annotations

import math
from typing import Any

import msgspec
import pytest
from light_cases import RAIN, case_of, ec, note, ph, poured, read, told, told_why
from light_farm import ACID, BASE, CONCENTRATES, MORNING, a_farm, buffer_dip, hard_water, rain_water
from msgspec.structs import asdict

from rounds.advice import cautions as c
from rounds.advice.correction import Correction, correct
from rounds.advice.plan import StepPlan
from rounds.advice.projection import as_read, with_water
from rounds.advice.wording import words
from rounds.advice.words import answer_in_words
from rounds.belief import state as b
from rounds.belief.gaussian import independent
from rounds.belief.memory import kept
from rounds.belief.response import Response
from rounds.book.measures import Measured
from rounds.book.message import say
from rounds.farm.farm import Farm
from rounds.farm.model import Limits
from rounds.science.conductivity import ec25_ms_cm

FULL = a_farm(full_volume_l=301.0, waters=(rain_water(),))


WORN = math.exp(-0.62)


def codes(found: Correction) -> set[str]:
    return {each.code for each in (*found.findings, *found.refusals)}


def actions(found: Correction) -> list[str]:
    return [step.action for step in found.steps]


WHY = say("warm", t=27.0)
"""Any message will do."""


def plan_of(farm: Farm = RAIN, **readings: Any) -> StepPlan:
    return StepPlan(case_of([], read(**readings), farm))


def test_a_drain_and_a_top_up_are_written_field_by_field() -> None:
    """From 300 L, 50 cm, 30 L less are 45 cm; 2.4 L more are 0.4 cm."""
    plan = plan_of()
    plan.drain_off(30.2, WHY)
    plan.top_up(plan.case.waters[0], 2.4, WHY)
    drain, top = plan.steps
    assert (drain.action, drain.amount, drain.unit, drain.product, told_why(drain)) == (
        "drain_off",
        30.0,
        "L",
        None,
        words(WHY),
    )
    assert told(drain) == "Drain off 30 L, to a dip of 45 cm." and drain.cautions == (c.PLUG_BEFORE_DRAIN, c.WET_FLOOR)
    assert drain.after.volume_l.value == pytest.approx(290.0)
    assert (top.action, top.amount, top.unit, top.product) == ("top_up", 2.4, "L", "rain")
    assert told(top) == "Add 2.4 L of Rain water, to a dip of 45.4 cm." and top.cautions == (c.RINSE,)
    assert top.explain == ("Rain water: alkalinity 0.10 meq/L within a factor of 1.2, EC 0.02 mS/cm",)
    hard = plan_of(a_farm(waters=(hard_water(),)))
    hard.top_up(hard.case.waters[0], 61.0, WHY)
    assert told(hard.steps[0]) == "Add 61 L of Well water." and hard.steps[0].cautions == (c.HARD_WATER_SLOWLY, c.RINSE)


def test_waits_are_turnovers_and_five_minutes_at_least() -> None:
    plan = plan_of()
    plan.circulate(WHY)
    plan.circulate(WHY, 3.0)
    assert [(step.wait_min, told(step)) for step in plan.steps] == [
        (16.0, "Let the pump run 16 minutes."), (48.0, "Let the pump run 48 minutes."),
    ]  # fmt: skip
    assert plan.steps[1].explain == (
        "wait = 3 x 320 L / 20 L/min (flow is a guess: `measure pump` measures it by jug and clock)",
    )
    assert plan.mixing_min == 48.0
    quick = plan_of(a_farm(waters=(rain_water(),), pump_l_min=200.0))
    quick.circulate(WHY)
    assert quick.steps[0].wait_min == 5.0 and quick.mixing_min == 5.0
    plan.recheck(("pH", "EC"), WHY)
    assert (told(plan.steps[2]), plan.steps[2].wait_min) == ("Read pH and EC again in 48 minutes.", 0.0)


def test_a_and_b_are_written_field_by_field_with_the_pump_between() -> None:
    plan = plan_of()
    plan.concentrates((Measured(240.0, "mL"), Measured(37.0, "mL")), WHY, ("sum",))
    a, pump, second = plan.steps
    assert (a.action, a.product, a.amount, a.unit, a.explain) == ("concentrate_a", "a", 240.0, "mL", ("sum",))
    assert told(a) == "Pour 240 mL of Concentrate A (250 mL cylinder, to its 240 mL mark) into the return."
    assert a.cautions == (c.SHAKE, c.NOT_TOGETHER)
    assert (pump.action, second.action, second.product, second.amount, second.explain) == (
        "circulate", "concentrate_b", "b", 37.0, (),
    )  # fmt: skip
    both = plan_of().stand_with((Measured(240.0, "mL"), Measured(37.0, "mL")))
    assert both.ec_ms_cm == pytest.approx(plan.projected.ec_ms_cm) and both.ec_ms_cm > 1.8


def test_an_acid_is_written_field_by_field() -> None:
    found = correct(FULL, [buffer_dip()], "r", read(ph=7.0), MORNING)
    (acid,) = [step for step in found.steps if step.action == "acid"]
    assert (acid.product, acid.unit, acid.wait_min) == ("acid", "mL", 48.0)
    assert acid.cautions == (c.INTO_WATER, c.HANDS_AND_EYES, c.SLOWLY, c.NOT_WITH_BLEACH, c.NOT_WITH_SULFITE, c.NITRIC,
                             c.RESTRICTED, c.LOCAL)  # fmt: skip
    assert f"over {max(2.0, acid.amount / 50.0):.0f} minutes into the return." in told(acid)
    amount = acid.amount
    assert acid.explain[0] == f"{amount:g} mL x 1.30 meq/mL / 320 L = {amount * 1.3 / 320.0:.3f} meq/L"
    assert acid.explain[5] == f"It brings {amount * 1.3 * 14.007 / 1000.0:.2f} g N: booked"
    assert acid.explain[3].startswith("'far edge': a likelihood of 2% that it takes the pH past the far edge")
    assert "past 4.5 or 8.5" in acid.explain[3]
    assert acid.explain[4].startswith("'if a fault is there': likelihoods ") and "bottle-ten-times" in acid.explain[4]
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
    plan.top_up(plan.case.waters[0], 30.0, WHY)
    plan.circulate(WHY)
    plan.read_first(("pH",), WHY, feed_waits=True)
    assert [step.action for step in plan.steps] == ["buffer_dip", "read_again", "top_up", "circulate"]
    assert told(plan.steps[1]) == (
        "Read the pH again before anything is poured. A and B wait for it: if it agrees, enter it and correct again."
    )
    assert told(plan.steps[2]).endswith(" Only if the second reading agrees.")
    assert not told(plan.steps[3]).endswith("agrees.")
    other = plan_of(ph=7.0)
    other.buffer_dip()
    other.drain_off(30.0, WHY)
    other.top_up(other.case.waters[0], 30.0, WHY)
    other.read_first(("EC",), WHY)
    assert [step.action for step in other.steps] == ["read_again", "buffer_dip", "drain_off", "top_up"]
    assert [told(step).endswith("agrees.") for step in other.steps] == [False, False, True, False]
    assert "A and B wait" not in told(other.steps[0])
    other.look_first(WHY, WHY, ("care",))
    assert (other.steps[0].action, other.steps[0].cautions, told_why(other.steps[0])) == ("look", ("care",), words(WHY))


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
        "ph": asdict(acid.after.ph.rounded(3)), "ec_ms_cm": asdict(acid.after.ec_ms_cm.rounded(3)),
        "volume_l": asdict(acid.after.volume_l.rounded(1)),
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
    assert len(correct(FULL, [], "r", read(ph=None), MORNING).explain) == 5


def test_what_cannot_be_worked_out_is_refused_whole() -> None:
    found = correct(FULL, [], "r", read(ph=12.0), MORNING)
    assert found.steps == () and found.findings == () and codes(found) == {"bad-input"}
    assert found.explain == (f"Nothing was worked out: {told(found.refusals[0])}",)
    assert found.prediction == {"format": 1, "read_at": MORNING.isoformat()}
    assumed = found.assumed
    assert (assumed.volume_l, assumed.ph, assumed.ec_ms_cm, assumed.temperature_c, assumed.alkalinity_meq_l) == (
        None,
    ) * 5


def test_while_it_mixes_the_wait_is_the_whole_correction() -> None:
    found = correct(FULL, [buffer_dip(), poured("acid", 5.0, 0.5)], "r", read(ph=6.9), MORNING)
    assert [(step.action, step.wait_min) for step in found.steps] == [("circulate", 18.0), ("read_again", 0.0)]
    assert found.refusals[0].code == "still-mixing" and "18 minutes are left" in told(found.refusals[0])
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
    farm = a_farm(full_volume_l=301.0, waters=(rain_water(),), products=shelf, limits=Limits(step_ph=0.0001))
    found = correct(farm, [buffer_dip()], "r", read(ph=6.5), MORNING)
    assert "acid" not in actions(found)
    (refusal,) = [each for each in found.refusals if each.code == "too-small"]
    assert told(refusal).startswith("The acid that is safe here is less than can be measured (0.")
    assert "mL of Working acid" in told(refusal)


def test_what_waits_for_which_reading_is_said_between_the_steps() -> None:
    found = correct(
        a_farm(waters=(rain_water(),)), [buffer_dip()], "r", read(ph=7.2, ec_ms_cm=1.2, volume_l=280.0), MORNING
    )
    texts = [told(step) for step in found.steps]
    why = [told_why(step) for step in found.steps]
    assert "The acid is worked out anew from what it shows; below stands what is expected." in why
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
