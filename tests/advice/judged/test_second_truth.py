"""The truth of the second make against what is known without it: sums, half lives, standards, by hand."""

from __future__ import annotations

import math
import random
import subprocess
import sys
from pathlib import Path

import pytest

pytest.importorskip("phreeqc")

from tests.advice.judged.second.bodies import Body, Circuit, exchange
from tests.advice.judged.second.chemistry import ELEMENTS, NoWater, brought_to, ec25, speciated
from tests.advice.judged.second.meter import OUTLIER_SHARE, PhMeter, strip_shows
from tests.advice.judged.second.plants import Plants, days_lived
from tests.advice.judged.second.reservoir import Second

AIR_ATM = 4.2e-4
HENRY_25 = 10.0**-1.468
"""Of CO2 at 25 degC, as textbooks print it. [mol/L/atm]"""
SOUR = {"Nit": 1.0, "K": 0.5, "C(4)": 1.0}
"""At pH 3.3 all carbonate is CO2."""


def circuit(tank_l: float = 90.0, channels_l: float = 10.0, per_h: float = 0.3, totals=SOUR) -> Circuit:
    bodies = [Body(litres, {}, per_h) for litres in (tank_l, channels_l)]
    for body in bodies:
        body.set_totals(totals)
    return Circuit(tank=bodies[0], channels=bodies[1], l_per_min=9.0, temperature_c=25.0, rest_atm=AIR_ATM)


def everything(make: Second) -> dict[str, float]:
    bodies = [make.circuit.tank, make.circuit.channels, *([make.circuit.dead] if make.circuit.dead else [])]
    return {e: sum(body.mmol[e] for body in bodies) for e in ELEMENTS}


def test_a_strong_acid_has_the_ph_of_its_dilution():
    """0.1 mmol/L: activity coefficient 0.99 by Debye and Hueckel."""
    assert speciated({"Nit": 0.1}, 25.0).ph == pytest.approx(4.0 + 0.005, abs=0.003)


def test_half_neutralised_bicarbonate_has_the_ph_of_its_constant():
    """pK1 6.35 at 25 degC, less 0.02 for 2 mmol/L of salt."""
    assert speciated({"Na": 2.0, "Nit": 1.0, "C(4)": 2.0}, 25.0).ph == pytest.approx(6.33, abs=0.02)


def test_the_conductivity_of_the_standard_is_that_on_its_bottle():
    """0.01 mol/L of potassium chloride: 1.413 mS/cm at 25 degC."""
    assert ec25({"K": 10.0, "Cl": 10.0}) == pytest.approx(1.413, rel=0.01)


def test_a_water_is_brought_to_the_ph_and_the_co2_that_are_wanted():
    found = speciated(brought_to({"K": 5.0, "Ca": 2.0, "P": 0.5, "Nit": 8.0}, 20.0, 6.4, 3.0 * AIR_ATM), 20.0)
    assert found.ph == pytest.approx(6.4, abs=1e-3)
    assert found.co2_atm == pytest.approx(3.0 * AIR_ATM, rel=1e-3)


def test_what_has_no_ph_is_refused():
    with pytest.raises(NoWater):
        brought_to({"Cl": 5.0}, 20.0, 6.4, AIR_ATM)


def test_co2_relaxes_with_the_half_life_of_its_transfer_coefficient():
    """k_L of 12 cm/h over 40 cm: 0.3 an hour, half of the excess is left after 2.31 hours."""
    water, saturated = circuit(per_h=12.0 / 40.0), 1000.0 * HENRY_25 * AIR_ATM
    start = speciated(water.mixed(), 25.0).co2_mmol_l
    for _ in range(10):
        water.advance(60.0 * math.log(2.0) / 0.3 / 10.0)
    half = speciated(water.mixed(), 25.0).co2_mmol_l
    assert half - saturated == pytest.approx((start - saturated) / 2.0, rel=0.01)


def test_co2_comes_to_rest_with_the_air_from_both_sides():
    for carbonate in (1.0, 1e-4):
        water = circuit(per_h=1.0, totals={"K": 3.0, "Nit": 2.5, "C(4)": max(carbonate, 0.5)})
        for _ in range(300):
            water.advance(water.step_min)
        assert speciated(water.mixed(), 25.0).co2_atm == pytest.approx(AIR_ATM, rel=0.02)


def test_two_waters_mix_with_the_lag_of_their_flow_and_lose_nothing():
    """9 L/min between 90 and 10 L: the difference falls to 1/e in a minute."""
    water = circuit()
    water.tank.take(1.0, {"K": 1000.0})
    water.tank.litres = 90.0
    before = water.tank.mmol["K"] + water.channels.mmol["K"]
    apart = water.tank.totals["K"] - water.channels.totals["K"]
    left = exchange(water.tank, water.channels, 9.0, 1.0)
    assert left == pytest.approx(1.0 / math.e)
    assert water.tank.totals["K"] - water.channels.totals["K"] == pytest.approx(apart / math.e)
    assert water.tank.mmol["K"] + water.channels.mmol["K"] == pytest.approx(before, rel=1e-12)


@pytest.mark.parametrize("story", ["healthy", "dead-corner"])
def test_what_is_poured_is_in_the_reservoir_afterwards(story):
    make = Second(11, story)
    make.plants = Plants(0.0, 0.0, 0.0)
    before, brought = everything(make), make.litre_of("a")
    make.put_in("a", 0.5)
    make.wait(180.0)
    after = everything(make)
    for element in set(ELEMENTS) - {"C(4)"}:
        assert after[element] == pytest.approx(before[element] + 0.5 * brought.get(element, 0.0), rel=1e-9)


def test_a_dose_is_met_in_the_tank_first_and_everywhere_once_it_has_mixed():
    make = Second(3, "healthy")
    make.put_in("acid", 0.0003 * make.circuit.litres)
    assert make.ph_in_tank() < make.truth().ph - 0.001
    make.wait(240.0)
    assert make.ph_in_tank() == pytest.approx(make.truth().ph, abs=1e-6)


def test_a_dead_corner_hardly_takes_part():
    make = Second(5, "dead-corner")
    make.plants = Plants(0.0, 0.0, 0.0)
    make.put_in("a", 0.5)
    make.wait(60.0)
    dead = make.circuit.dead
    assert dead is not None
    assert dead.totals["Ca"] < make.circuit.tank.totals["Ca"]


def test_plants_move_the_alkalinity_by_what_they_are_told_to():
    """A day of 0.2 meq/L: by the charges of what is no acid."""
    totals = {"Ca": 3.0, "Mg": 1.2, "K": 5.0, "Na": 0.5, "Amm": 0.3, "Nit": 12.0, "P": 1.0, "S(6)": 1.5, "Cl": 0.6,
              "C(4)": 0.2}  # fmt: skip

    def alkalinity(t: dict[str, float]) -> float:
        bases = 2.0 * t["Ca"] + 2.0 * t["Mg"] + t["K"] + t["Na"] + t["Amm"]
        return bases - t["Nit"] - t["P"] - 2.0 * t["S(6)"] - t["Cl"]

    after = Plants(0.2, 0.05, 0.03).eat(totals, 1.0)
    assert alkalinity(after) - alkalinity(totals) == pytest.approx(0.2)
    assert after["K"] < totals["K"] and after["P"] < totals["P"]


def test_most_of_a_day_is_lived_by_day():
    assert days_lived(6.0, 14.0) == pytest.approx(0.8)
    assert days_lived(22.0, 6.0) == pytest.approx(0.2 * 6.0 / 10.0)
    assert days_lived(17.3, 24.0) == pytest.approx(1.0, abs=0.01)


def test_a_meter_shows_offset_and_slope_and_a_clogged_junction_no_buffer_shows():
    rng = random.Random(1)
    quiet = {"noise": 0.0}
    slopes = [PhMeter(slope=0.8, **quiet).in_buffer(buffer, rng) for buffer in (7.0, 4.01)]
    assert slopes == [7.0, pytest.approx(4.61)]
    assert PhMeter(offset=0.5, **quiet).in_buffer(7.0, rng) == 7.5
    clogged = PhMeter(hidden=0.5, **quiet)
    assert clogged.in_buffer(7.0, rng) == 7.0
    shown = sorted(clogged.shows(6.0, rng) for _ in range(99))
    assert shown[49] == 6.5
    stuck = PhMeter(stuck_at=6.6, **quiet)
    assert stuck.in_buffer(4.01, rng) == 6.6 and not stuck.calibrate(rng)


def test_a_false_reading_ends():
    meter, rng = PhMeter(noise=0.0, false_by=1.5, false_until_min=10.0), random.Random(2)
    early, late = ([meter.shows(6.0, rng, minute) for _ in range(99)] for minute in (5.0, 15.0))
    assert sorted(early)[49] == 7.5 and sorted(late)[49] == 6.0


def test_one_reading_in_a_hundred_is_plainly_wrong():
    """Three standard deviations of a count among 20,000."""
    meter, rng = PhMeter(noise=0.0), random.Random(3)
    wrong = sum(meter.shows(6.0, rng) != 6.0 for _ in range(20_000))
    assert abs(wrong - 20_000 * OUTLIER_SHARE) < 3.0 * math.sqrt(20_000 * OUTLIER_SHARE)


def test_a_strip_is_read_to_the_half():
    rng = random.Random(4)
    shown = {strip_shows(6.1, rng) for _ in range(200)}
    assert shown == {6.0, 6.5}


def test_told_and_true_differ_by_no_more_than_was_meant():
    makes = [Second(seed, "healthy").drawn for seed in range(60)]
    factors = [d.true_water.alkalinity_meq_l / d.told_water.alkalinity_meq_l for d in makes]
    assert all(0.5 <= factor <= 2.0 for factor in factors) and min(factors) < 0.7 and max(factors) > 1.4
    assert all(0.9 <= bottle.times <= 1.1 for d in makes for bottle in (d.acid, d.base))
    volumes = [
        (d.working_l_told * d.area_times + d.channels_l_told * d.channels_times)
        / (d.working_l_told + d.channels_l_told)
        for d in makes
    ]
    assert all(0.85 <= times <= 1.17 for times in volumes)
    assert all(abs(d.alkalinity_per_day) <= 0.25 for d in makes)


def test_the_truth_knows_nothing_of_the_tool():
    asked = "import sys, tests.advice.judged.second.reservoir, tests.advice.judged.bath as b; b.Bath(1, 'healthy')\n"
    asked += "sys.exit(any(name.partition('.')[0] == 'rounds' for name in sys.modules))"
    top = Path(__file__).parents[3]
    assert subprocess.run([sys.executable, "-c", asked], cwd=top, check=False).returncode == 0
