"""Change-outs, hard top-ups and half pairs against the formulas by hand, and what holds a step back at its limits."""

from __future__ import annotations

import math
from typing import Any

import msgspec
import pytest
from light_cases import case_of, check, ec, ph, poured, read, told, told_why
from light_farm import ACID, BASE, CONCENTRATES, MORNING, TRIED, Note, a_farm, buffer_dip, hard_water, rain_water

from rounds.advice.correction import Correction, correct
from rounds.advice.fill import fill_steps
from rounds.advice.plan import StepPlan
from rounds.advice.water_plan import WaterPlan
from rounds.advice.wording import words
from rounds.belief import state as b
from rounds.book.actions import ASKED
from rounds.book.composition import concentrate_solution, water_known
from rounds.book.measures import litres_near, millilitres_down
from rounds.book.message import say
from rounds.book.offer import Finding, Refusal, Step
from rounds.farm.farm import Farm
from rounds.farm.model import Limits
from rounds.science.acids_bases import agent_by_molarity
from rounds.science.conductivity import ec25_ms_cm
from rounds.science.dosing import dose_for_ph
from rounds.science.solution import mix
from rounds.science.speciation import AIR_PCO2_ATM, ph_closed

LITRES = 320.0
"""300 L at work and 20 L outside."""
NITRIC = agent_by_molarity("nitric", 1.3)


def of_hardness(alkalinity: float, **other: Any) -> Farm:
    return a_farm(waters=(hard_water(alkalinity),), full_volume_l=301.0, **other)


def filled(
    farm: Farm, records: tuple[Note, ...] = (buffer_dip(), *TRIED)
) -> tuple[StepPlan, list[Finding], list[Refusal]]:
    plan = StepPlan(case_of(records, read(ph=6.5), farm))
    findings: list[Finding] = []
    refusals: list[Refusal] = []
    fill_steps(plan.case, plan, WaterPlan(change_out=True, why=say("warm", t=27.0)), findings, refusals)
    return plan, findings, refusals


def amounts(steps: list[Step] | tuple[Step, ...], action: str) -> list[float]:
    return [step.amount for step in steps if step.action == action]


def fed(farm: Farm, plan: StepPlan) -> Any:
    """Water, A and B of a fill as one solution, made here from what stands in the steps."""
    water = water_known(farm, farm.reservoir("r").waters[0], MORNING.date()).solution
    a, b_ml = (sum(amounts(plan.steps, f"concentrate_{part}")) for part in "ab")
    parts = [(water, LITRES)]
    parts += [(concentrate_solution(product), ml / 1000.0) for product, ml in zip(CONCENTRATES, (a, b_ml), strict=True)]
    return mix(parts)


# ------------------------------------------------------------------------------------------------------- change-outs


def test_a_change_out_is_written_field_by_field() -> None:
    plan, findings, refusals = filled(of_hardness(4.6))
    step = plan.steps[0]
    assert (step.action, step.product, step.amount, step.unit, told_why(step)) == (
        "change_out",
        "well",
        LITRES,
        "L",
        words(say("warm", t=27.0)),
    )
    assert told(step) == "Run the old feed out, rinse, and fill with 320 L of Well water in all."
    assert step.cautions == ("Old feed goes where local codes allow, never into a ditch or a well.",)
    water = plan.case.waters[0]
    book = ec25_ms_cm(water.solution, ph_closed(water.solution, 20.0))
    after = step.after
    assert after.volume_l.value == LITRES and after.volume_l.high - LITRES == pytest.approx(1.645 * 0.03 * LITRES)
    assert after.ec_ms_cm.value == pytest.approx(book, rel=0.01)
    sd = 0.05 * 0.63 + abs(0.63 - book) / 2.0
    assert after.ec_ms_cm.high - after.ec_ms_cm.value == pytest.approx(1.645 * math.hypot(sd, 0.02 * book), rel=0.02)
    assert after.ph.value == pytest.approx(7.4, abs=0.1), "as its analysis has it"
    assert (after.ph.low, after.ph.high) == pytest.approx((after.ph.value - 0.4, after.ph.value + 0.4))
    assert refusals == [] and [each.code for each in findings] == ["rest-of-acid"]
    assert [each.action for each in plan.steps] == [
        "change_out", "acid", "circulate", "acid", "circulate", "concentrate_a", "circulate", "concentrate_b",
    ]  # fmt: skip


@pytest.mark.parametrize("alkalinity", [1.0, 2.5, 4.6, 6.0])
def test_three_quarters_of_the_acid_go_in_before_a_and_b(alkalinity: float) -> None:
    """By the formulas: what the fill takes to the middle of the band, 5.8, its CO2 at rest at three times the air's."""
    farm = of_hardness(alkalinity)
    plan, findings, _ = filled(farm)
    whole = dose_for_ph(fed(farm, plan), 5.8, NITRIC, 20.0, LITRES, 3.0 * AIR_PCO2_ATM)
    pours = amounts(plan.steps, "acid")
    assert 0.6 * whole <= sum(pours) <= 0.76 * whole
    (rest,) = [each for each in findings if each.code == "rest-of-acid"]
    said = float(told(rest).split("About ")[1].split(" mL")[0])
    assert said == pytest.approx(whole - sum(pours), abs=0.06 * whole)
    assert "to about 5.8" in told(rest)
    acids = [step for step in plan.steps if step.action == "acid"]
    assert all("Only if the pH now shows" in told(step) for step in acids[1:])
    assert "Only if" not in told(acids[0])
    assert len([s for s in plan.steps if s.action == "circulate"]) == len(acids) + 1


@pytest.mark.parametrize(("alkalinity", "acid"), [(0.19, False), (0.5, True)])
def test_soft_water_takes_no_acid_of_its_own(alkalinity: float, acid: bool) -> None:
    plan, findings, _ = filled(of_hardness(alkalinity))
    assert bool(amounts(plan.steps, "acid")) is acid
    assert bool(amounts(plan.steps, "concentrate_a"))
    assert bool(findings) is acid


def test_a_and_b_bring_the_middle_of_the_band_in_the_proportion_of_the_feed() -> None:
    """The band is 1.4 to 2.2; the acid turns bicarbonate into nitrate, which conducts a little better."""
    for alkalinity in (0.1, 4.6):
        farm = of_hardness(alkalinity)
        plan, _, _ = filled(farm)
        a, b_ml = (amounts(plan.steps, f"concentrate_{part}") for part in "ab")
        assert a == b_ml and len(a) == 1
        assert plan.projected.ec_ms_cm == pytest.approx(1.8, abs=0.08)
        step = next(each for each in plan.steps if each.action == "concentrate_a")
        assert (
            step.explain == (f"{a[0] / (10.0 * LITRES):.2f} of full strength",) or "of full strength" in step.explain[0]
        )
        assert told_why(step) == "To the middle of the EC band."


@pytest.mark.parametrize(("records", "why"), [
    ([check("chlorine", True, 2.0)], "chlorine"),
    ([ph(6.8, 4.0), poured("acid", 20.0, 3.9), ph(8.0, 2.0), ph(8.0, 1.9)], "bottle-doubtful"),
    ([ph(7.4, 9.0), *(each for h in (8.0, 6.0, 4.0, 2.0) for each in (poured("acid", 30.0, h), ph(7.4, h - 1.0)))],
     "likely-nothing-arrives"),
])  # fmt: skip
def test_where_acid_is_shut_a_and_b_wait_in_hard_water_and_not_in_softer(records: list[Note], why: str) -> None:
    for alkalinity, waits in ((4.6, True), (1.0, False)):
        plan, findings, refusals = filled(of_hardness(alkalinity), (buffer_dip(), *TRIED, *records))
        assert [each.code for each in refusals] == [why]
        assert ("feed-waits" in {each.code for each in findings}) is waits
        assert bool(amounts(plan.steps, "concentrate_a")) is not waits
        assert amounts(plan.steps, "acid") == []


def test_a_probe_that_is_off_pours_only_what_hangs_on_no_reading() -> None:
    plan, findings, _ = filled(of_hardness(4.6), (buffer_dip(shown=7.4), *TRIED))
    assert len(amounts(plan.steps, "acid")) == 1 and "buffer-off" in {each.code for each in findings}
    undipped, _, _ = filled(of_hardness(4.6), TRIED)
    assert undipped.steps[1].action == "buffer_dip"


def test_too_little_acid_for_a_fill_is_poured_as_far_as_it_goes() -> None:
    little = msgspec.structs.replace(ACID, amount=200.0, unit="mL")
    plan, _, _ = filled(of_hardness(4.6, products=(*CONCENTRATES, little, BASE)))
    assert sum(amounts(plan.steps, "acid")) <= 200.0
    none = msgspec.structs.replace(ACID, amount=0.0)
    plan, findings, refusals = filled(of_hardness(4.6, products=(*CONCENTRATES, none, BASE)))
    assert [each.code for each in refusals] == ["out-of-stock"] and [each.code for each in findings] == ["feed-waits"]
    assert [step.action for step in plan.steps] == ["change_out"]


def test_concentrates_of_which_nothing_is_known_are_not_poured_into_a_fill() -> None:
    bare = tuple(msgspec.structs.replace(each, salts_g_l={}) for each in CONCENTRATES)
    plan, _, refusals = filled(of_hardness(4.6, products=(*bare, ACID, BASE)))
    assert [step.action for step in plan.steps] == ["change_out"]
    assert [each.code for each in refusals] == ["feed-unknown"]


# ------------------------------------------------------------------------------------------------------ hard top-ups


def topped(level_l: float, value: float, records: tuple[Note, ...] = (buffer_dip(), *TRIED), **farm: Any) -> Correction:
    return correct(
        a_farm(waters=(hard_water(),), **farm), list(records), "r", read(ph=value, volume_l=level_l), MORNING
    )


@pytest.mark.parametrize(("level_l", "value", "acid"), [
    (230.0, 6.2, True), (285.0, 6.0, False),
])  # fmt: skip
def test_more_than_a_tenth_of_hard_water_brings_its_acid(level_l: float, value: float, acid: bool) -> None:
    """70 of 320 L are more than a tenth, 15 are not."""
    found = topped(level_l, value)
    first = next(step for step in found.steps if step.action not in ASKED)
    assert first.action == "top_up"
    asked = [step for step in found.steps if "acid before A and B" in told_why(step)]
    assert bool(asked) is acid
    for step in asked:
        at = found.steps.index(step)
        before = [each.action for each in found.steps[:at]]
        assert before[-2:] == ["circulate", "read_again"]
        assert told_why(found.steps[at - 1]) == (
            "The acid is worked out anew from what it shows; below stands what is expected."
        )
        water = water_known(a_farm(waters=(hard_water(),)), "well", MORNING.date()).solution
        own = 0.75 * dose_for_ph(water, 5.8, NITRIC, 20.0, first.amount)
        assert 0.0 < step.amount <= own + 320.0 * 1.25 / 1.3
        assert found.steps[at + 1].wait_min == pytest.approx(3.0 * 320.0 / 20.0, abs=1.0)


def test_acid_for_hard_water_is_shut_by_its_gates_and_the_water_still_comes() -> None:
    found = topped(230.0, 6.2, (buffer_dip(), check("chlorine", True, 2.0)))
    assert found.steps[0].action == "top_up" and amounts(found.steps, "acid") == []
    assert "chlorine" in {each.code for each in found.refusals}
    undipped = topped(230.0, 6.2, ())
    assert "buffer_dip" in [step.action for step in undipped.steps]


# -------------------------------------------------------------------------------------------------------- half pairs


def alone(ml: float, left_l: float = 20.0, **readings: Any) -> Correction:
    products = tuple(
        msgspec.structs.replace(each, amount=left_l) if each.id == "b" else each for each in (*CONCENTRATES, ACID, BASE)
    )
    farm = a_farm(waters=(rain_water(),), products=products)
    records = [poured("rain", 320.0, 20.0, "change_out"), poured("a", ml, 14.0, "concentrate_a"), buffer_dip()]
    return correct(farm, records, "r", read(**{"ec_ms_cm": 1.2, **readings}), MORNING)


@pytest.mark.parametrize(("ml", "pours", "codes"), [
    (0.8, 0.8, {"half-pair"}), (800.0, 800.0, {"half-pair"}), (4_800.0, 4_800.0, {"half-pair"}),
    (5_000.0, 4_800.0, {"half-pair", "half-pair-in-parts"}),
])  # fmt: skip
def test_what_is_owed_is_poured_and_no_more_at_once_than_half_as_much_again_as_full(
    ml: float, pours: float, codes: set[str]
) -> None:
    """1.5 x 320 L x 10 mL/L are 4,800 mL; an EC of 0.3 leaves room for it."""
    found = alone(ml, ec_ms_cm=0.3)
    assert amounts(found.steps, "concentrate_b") == [pours] and amounts(found.steps, "concentrate_a") == []
    assert codes <= {each.code for each in found.findings}
    assert ("half-pair-in-parts" in {each.code for each in found.findings}) is ("half-pair-in-parts" in codes)
    assert [step.action for step in found.steps] == ["concentrate_b", "circulate", "read_again"]
    assert found.steps[0].explain == (f"B owed for what went in of A alone: {ml:.0f} mL; poured: {pours:g} mL",)
    assert told(found.findings[0]).startswith("A went in alone on 9 June at 18:00: ")


@pytest.mark.parametrize(("left_ml", "short"), [(800.0, False), (795.0, False), (780.0, True), (0.0, None)])
def test_too_little_of_the_other_half_is_said(left_ml: float, short: bool | None) -> None:
    """Of 800 mL a hundredth is what rounding leaves out: 792."""
    found = alone(800.0, left_ml / 1000.0)
    said = {each.code for each in (*found.findings, *found.refusals)}
    assert ("half-pair-short" in said) is (short is not False)
    assert amounts(found.steps, "concentrate_b") == ([] if short is None else [millilitres_down(left_ml).amount])


@pytest.mark.parametrize(("value", "thinned"), [(1.2, False), (3.4, True), (3.0, True)])
def test_far_too_much_is_thinned_before_more_salt_goes_in(value: float, thinned: bool) -> None:
    """Half as much again as 2.2 is 3.3 mS/cm, with the other half in it."""
    found = alone(2_000.0, ec_ms_cm=value)
    assert (amounts(found.steps, "concentrate_b") == []) is thinned
    if thinned:
        assert told(found.refusals[0]) and found.steps[-1].action == "read_again"
        assert {step.action for step in found.steps} <= {"drain_off", "top_up", "circulate", "read_again", "change_out"}


# ------------------------------------------------------------------------------------------------- steps in their order


def test_a_top_up_of_a_tenth_is_no_hard_top_up_and_feeding_follows_at_once() -> None:
    found = correct(a_farm(waters=(rain_water(),)), [buffer_dip()], "r", read(ec_ms_cm=1.2, volume_l=280.0), MORNING)
    assert [step.action for step in found.steps] == ["top_up", "concentrate_a", "circulate", "concentrate_b", "recheck"]
    assert found.steps[0].amount == 20.0
    a = found.steps[1]
    share = a.amount / (10.0 * 320.0)
    assert a.explain[0].endswith(f"needs {share:.2f} of full strength (from the ions)")
    assert a.explain[1] == f"A: 10 mL/L x {share:.2f} x 320 L = {a.amount:g} mL"


def test_a_conductivity_in_doubt_is_read_again_and_nothing_is_fed_or_thinned_on_it() -> None:
    before = [ec(1.8, 24.0), buffer_dip()]
    low = correct(a_farm(waters=(rain_water(),)), before, "r", read(ec_ms_cm=1.1), MORNING)
    assert [step.action for step in low.steps] == ["read_again"] and "A and B wait for it" in told(low.steps[0])
    high = correct(a_farm(waters=(rain_water(),)), before, "r", read(ec_ms_cm=2.5), MORNING)
    assert [step.action for step in high.steps] == ["read_again"] and "A and B" not in told(high.steps[0])
    inside = correct(a_farm(waters=(rain_water(),)), [ec(2.15, 24.0), buffer_dip()], "r", read(ec_ms_cm=1.5), MORNING)
    assert "ec-jump" in {each.code for each in inside.findings} and inside.steps == ()


def test_a_leak_is_looked_for_first() -> None:
    farm = a_farm(waters=(rain_water(),))
    records = [Note(kind="reading", item="dip", value=58.0, unit="cm", measured_at=ph(1.0, 24.0).measured_at, id="d"),
               buffer_dip()]  # fmt: skip
    found = correct(farm, records, "r", read(volume_l=None, dip_cm=40.0), MORNING)
    assert [step.action for step in found.steps][:2] == ["look", "top_up"]
    assert told(found.steps[0]).startswith("Look for a leak: hoses") and len(found.steps[0].cautions) == 1


def test_roots_and_probe_come_before_the_base_that_hangs_on_them() -> None:
    records = [ph(5.75, 24.0), *TRIED]
    found = correct(a_farm(full_volume_l=301.0, waters=(rain_water(),)), records, "r", read(ph=5.3), MORNING)
    actions = [step.action for step in found.steps]
    assert actions == ["look", "buffer_dip", "jar_test", "base", "recheck"]
    assert told(found.steps[0]) == "Look at the roots of its channels and smell them."
    assert told(found.steps[1]) == "Dip the pH probe in the buffer of 7: it must show 7 within 0.1."


def test_roots_and_probe_come_before_the_jar_that_is_read_with_it_and_all_of_it_before_water_and_feed() -> None:
    """A jar read with a probe that nobody tried would tell of the probe, not of the bottle."""
    untried = correct(a_farm(full_volume_l=301.0, waters=(rain_water(),)), [ph(5.75, 24.0)], "r", read(ph=5.3), MORNING)
    assert [step.action for step in untried.steps] == ["look", "buffer_dip", "jar_test", "base", "recheck"]
    hungry = read(ph=6.4, ec_ms_cm=1.2, volume_l=280.0)
    fed = correct(a_farm(waters=(rain_water(),)), [], "r", hungry, MORNING)
    assert [step.action for step in fed.steps][:4] == ["buffer_dip", "jar_test", "top_up", "concentrate_a"]
    assert fed.steps[1].after.volume_l.value == 300.0, "280 L in it and 20 L outside: before the water"


def test_little_of_the_bottle_and_the_recipe_are_said_where_they_hold() -> None:
    little = msgspec.structs.replace(ACID, amount=3.0, unit="mL")
    farm = a_farm(full_volume_l=301.0, waters=(rain_water(),), products=(*CONCENTRATES, little, BASE))
    short = correct(farm, [buffer_dip()], "r", read(ph=6.9), MORNING)
    (little_left,) = [each for each in short.findings if each.code == "short-stock"]
    assert told(little_left).startswith("Working acid: 3 mL are left") and little_left.severity == "act"
    enough = correct(a_farm(full_volume_l=301.0, waters=(rain_water(),)), [buffer_dip()], "r", read(ph=6.9), MORNING)
    assert not {"short-stock", "phosphate-cap"} & {each.code for each in enough.findings}


@pytest.mark.parametrize(("records", "shut"), [([], False), ([poured("acid", 90.0, 3.9)], True)])
def test_the_growers_own_limit_of_a_day_is_said_by_its_own_name(records: list[Note], shut: bool) -> None:
    """From 7.6 to 6.55 in a day is more than 1."""
    all_of_it = [buffer_dip(), ph(7.6, 4.0), *records]
    farm = a_farm(full_volume_l=301.0, waters=(rain_water(),), limits=Limits(day_ph=1.0))
    found = correct(farm, all_of_it, "r", read(ph=6.55), MORNING)
    assert ("day-limit" in {each.code for each in found.refusals}) is shut
    assert "too-small" not in {each.code for each in found.refusals}


def test_litres_of_a_fill_are_those_of_a_can() -> None:
    farm = a_farm(waters=(rain_water(),), working_volume_l=287.4)
    plan, _, _ = filled(farm)
    assert plan.steps[0].amount == litres_near(307.4).amount == 307.0
    assert math.exp(plan.projected.state.mean[b.RESTING]) == pytest.approx(3.0 * AIR_PCO2_ATM, rel=0.01)
