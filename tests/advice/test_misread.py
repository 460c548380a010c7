"""A pH that was read wrongly: whatever the meter shows, the reservoir that is really there is not brought to ruin.

What is really there is worked out by the speciation of `rounds.science`, which is held to PHREEQC elsewhere; one
row here is worked out by PHREEQC itself.
"""

import dataclasses
from datetime import timedelta

import pytest
from light_farm import (
    ACID,
    BASE,
    CONCENTRATES,
    MORNING,
    TRIED,
    Note,
    a_farm,
    buffer_dip,
    hard_water,
    neutral,
    rain_water,
)

from rounds.advice.correction import Readings, correct
from rounds.belief.curve import curve_of
from rounds.book.composition import agent_of, concentrate_solution, water_known
from rounds.science.conductivity import ec25_ms_cm
from rounds.science.solution import Solution, mix
from rounds.science.speciation import AIR_PCO2_ATM, ph_closed

WELL_ONLY = a_farm(waters=(hard_water(),))
POURED_BY = {p.id: p for p in (*CONCENTRATES, ACID, BASE)}
BEARABLE = 5.0
"""Roots bear this for a day; before, such readings left 2.8 to 4.2. Common practice."""
FALSE = (7.2, 7.5, 7.8, 8.2, 8.6, 8.9)
LEVELS = (120.0, 200.0, 250.0, 300.0)


def a_tank(ph: float, phosphate_times: float, ec: float = 1.5) -> Solution:
    """A worn feed in hard water that stands at a pH with three times the CO2 of the air."""
    a, b = (concentrate_solution(product) for product in CONCENTRATES)
    water = water_known(WELL_ONLY, "well", MORNING.date()).solution
    feed = dataclasses.replace(water, no3=water.no3 + 4.0, carbonate=0.0).plus(mix([(a, 1.0), (b, 1.0)]).scaled(0.02))
    feed = feed.scaled(ec / ec25_ms_cm(feed, 6.0))
    return at_ph(dataclasses.replace(feed, po4=feed.po4 * phosphate_times), ph)


def at_ph(solution: Solution, ph: float) -> Solution:
    """The same with as much CO2 as the pressure holds, and strong acid or base until the pH is that."""
    per_p, per_c, bare, held = curve_of(solution, 20.0).parts(ph)
    carbonate = 3.0 * AIR_PCO2_ATM * held
    wanted = solution.po4 * per_p + carbonate * per_c + bare
    there = dataclasses.replace(solution, carbonate=carbonate)
    return dataclasses.replace(there, inert_meq_l=there.inert_meq_l + wanted - there.alkalinity_meq_l)


def after_steps(tank: Solution, litres: float, advice) -> list[Solution]:
    """The tank after each step when everything is done as advised, whatever it hangs on."""
    found = [tank]
    for step in advice.steps:
        if step.action == "top_up":
            tank = mix([(tank, litres), (water_known(WELL_ONLY, step.product, MORNING.date()).solution, step.amount)])
            litres += step.amount
        elif step.action in ("acid", "base"):
            tank = tank.plus(agent_of(POURED_BY[step.product]).per_ml.scaled(step.amount / litres))
        elif step.action.startswith("concentrate"):
            tank = mix([(tank, litres), (concentrate_solution(POURED_BY[step.product]), step.amount / 1000.0)])
        found.append(tank)
    return found


def a_quiet_week(ph: float = 6.4) -> list[Note]:
    """Readings of seven mornings at that pH."""
    found = []
    for day in range(7, 0, -1):
        at = MORNING - timedelta(days=day)
        found += [
            Note(kind="reading", item="ph", value=ph, measured_at=at, id=f"p{day}"),
            Note(kind="reading", item="ec", value=1.5, measured_at=at, id=f"e{day}", meter="stick"),
            Note(kind="reading", item="volume", value=290.0, measured_at=at, id=f"v{day}"),
        ]
    return found


def advised(false_ph: float, litres: float, records: list[Note]):
    readings = Readings(at=MORNING, ph=false_ph, ec_ms_cm=1.5, temperature_c=20.0, volume_l=litres)
    return correct(WELL_ONLY, records, "r", readings, MORNING)


@pytest.mark.parametrize("litres", LEVELS)
@pytest.mark.parametrize("false_ph", FALSE)
@pytest.mark.parametrize("known", ["a quiet week", "nothing before"])
def test_hard_water_and_a_false_high_reading_leave_a_ph_that_roots_bear(known, false_ph, litres):
    records = a_quiet_week() if known == "a quiet week" else []
    for dipped in ([], [buffer_dip()]):
        advice = advised(false_ph, litres, [*records, *dipped])
        for phosphate_times in (0.25, 0.4, 1.0):
            tank = a_tank(6.4, phosphate_times)
            assert ph_closed(tank, 20.0) == pytest.approx(6.4, abs=0.02)
            assert min(ph_closed(each, 20.0) for each in after_steps(tank, litres + 20.0, advice)) > BEARABLE


@pytest.mark.parametrize("litres", LEVELS)
@pytest.mark.parametrize("false_ph", FALSE)
def test_a_jump_of_the_reading_pours_one_ordinary_step_on_top_of_what_the_water_takes(false_ph, litres):
    """0.4 pH takes at most some 0.3 meq/L near pH 6: a third of 0.6 mmol/L phosphate changes form (pKa2 7.2), and a
    little bicarbonate. Common practice."""
    advice = advised(false_ph, litres, [*a_quiet_week(), buffer_dip()])
    (poured,) = [step for step in advice.steps if step.action == "acid"]
    water = next((step.amount for step in advice.steps if step.action == "top_up"), 0.0)
    assert poured.amount * ACID.molarity_mol_l <= 0.75 * water * hard_water().alkalinity_meq_l + 0.3 * (litres + 20.0)
    before, behind = advice.steps[: advice.steps.index(poured)], advice.steps[advice.steps.index(poured) :]
    assert any(step.action == "read_again" for step in before)
    assert behind[-1].action == "recheck"
    assert not any(step.action.startswith("concentrate") for step in behind)


@pytest.mark.parametrize("litres", [250.0, 300.0])
def test_a_ph_above_what_water_and_base_can_have_brought_is_doubted_on_a_full_tank_too(litres):
    advice = advised(8.6, litres, [buffer_dip()])
    assert "reading-too-high" in {f.code for f in advice.findings}
    assert advice.steps[0].action == "read_again"


def test_a_reading_that_the_water_explains_is_not_doubted():
    advice = advised(7.8, 300.0, [buffer_dip()])
    assert not {"reading-too-high", "reading-jump"} & {f.code for f in advice.findings}


def test_a_feed_on_rain_water_cannot_stand_at_8_3_unless_base_was_poured():
    """Air (0.42 matm) over bicarbonate at 20 degC: pH 8.3 holds about 1.3 meq/L (textbook carbonate equilibrium);
    rain brings 0.1, the lye 1."""
    farm = a_farm(waters=(rain_water(),))
    filled = Note(kind="dose", item="rain", value=320.0, unit="L", measured_at=MORNING - timedelta(days=2), id="f",
                  data={"action": "change_out"})  # fmt: skip
    lye = Note(kind="dose", item="base", value=320.0, unit="mL", measured_at=MORNING - timedelta(days=1), id="b",
               data={"action": "base"})  # fmt: skip
    readings = Readings(at=MORNING, ph=8.3, ec_ms_cm=1.5, temperature_c=20.0, volume_l=300.0)
    by_rain = correct(farm, [filled], "r", readings, MORNING)
    with_lye = correct(farm, [filled, lye], "r", readings, MORNING)
    assert "reading-too-high" in {f.code for f in by_rain.findings}
    assert "reading-too-high" not in {f.code for f in with_lye.findings}


@pytest.mark.parametrize("false_ph", [4.4, 4.9])
def test_a_false_low_reading_does_not_drive_a_sound_tank_far_above_its_band(false_ph):
    records = [
        *a_quiet_week(5.8),
        *TRIED,
        buffer_dip(),
        Note(kind="check", item="roots", value=True, measured_at=MORNING),
    ]
    advice = advised(false_ph, 300.0, records)
    assert any(step.action == "base" for step in advice.steps)
    for phosphate_times in (0.25, 1.0):
        assert ph_closed(after_steps(a_tank(5.8, phosphate_times), 320.0, advice)[-1], 20.0) < 6.6


def test_the_engine_agrees_on_the_tank_that_the_false_reading_would_have_ruined(engine):
    """PHREEQC (Amm.dat) works out the pH after the steps for a reading of 8.9 in a tank of 6.4."""
    advice = advised(8.9, 250.0, [*a_quiet_week(), buffer_dip()])
    assert any(step.action == "acid" for step in advice.steps)
    for tank in after_steps(a_tank(6.4, 0.4), 270.0, advice):
        assert engine.state(neutral(tank), 20.0)["ph"] > BEARABLE
