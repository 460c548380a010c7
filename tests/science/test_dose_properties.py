"""What must hold for every dose, whatever the water: order, scale, direction and the way back."""

from __future__ import annotations

import math
from itertools import pairwise, permutations

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from rounds.errors import BadInput, OutOfRange, Refused
from rounds.science.acids_bases import KINDS, Agent, agent_by_molarity, agent_by_percent
from rounds.science.demand import demand_parts_meq_l
from rounds.science.dosing import acid_demand_meq_l, after_dose, dose_for_ph, ph_after, ph_when_aired
from rounds.science.solution import Solution, mix
from rounds.science.speciation import aired, pco2_atm, ph_closed, ph_open, speciate, with_ph, with_ph_by_charge

ACIDS = [name for name, kind in KINDS.items() if kind.is_acid]
BASES = [name for name, kind in KINDS.items() if not kind.is_acid]


@st.composite
def reservoirs(draw) -> Solution:
    def upto(most: float) -> float:
        return draw(st.floats(0.0, most))

    alkalinity = upto(6.0)
    ca, mg, k, nh4, po4, so4, cl = upto(6.0), upto(3.0), upto(9.0), upto(1.5), upto(2.0), upto(3.0), upto(2.0)
    needed = 2.0 * (ca + mg) + k + nh4 - po4 - 2.0 * so4 - cl - alkalinity
    return Solution(
        ca=ca, mg=mg, k=k, nh4=nh4, po4=po4, so4=so4, cl=cl, no3=max(0.0, needed), na=max(0.0, -needed),
        carbonate=alkalinity * draw(st.floats(1.0, 1.5)) + 0.01,
    )  # fmt: skip


temperatures = st.floats(8.0, 32.0)
bottles = st.floats(0.2, 2.0)
several_doses = st.lists(st.floats(0.0, 8.0), min_size=2, max_size=4)


@given(reservoirs(), temperatures, bottles, st.sampled_from(ACIDS), several_doses)
@settings(max_examples=60, deadline=None)
def test_more_acid_never_raises_the_ph(solution, temperature_c, mol_per_l, kind, doses):
    agent = agent_by_molarity(kind, mol_per_l)
    found = [ph_after(solution, agent, dose, 1.0, temperature_c) for dose in sorted(doses)]
    assert all(later <= earlier + 2e-5 for earlier, later in pairwise(found))


@given(reservoirs(), temperatures, bottles, several_doses)
@settings(max_examples=40, deadline=None)
def test_more_potassium_hydroxide_never_lowers_the_ph(solution, temperature_c, mol_per_l, doses):
    agent = agent_by_molarity("potassium_hydroxide", mol_per_l)
    found = [ph_after(solution, agent, dose, 1.0, temperature_c) for dose in sorted(doses)]
    assert all(later >= earlier - 2e-5 for earlier, later in pairwise(found))


@given(reservoirs(), temperatures, bottles, st.sampled_from(list(KINDS)), st.floats(4.0, 8.0))
@settings(max_examples=80, deadline=None)
def test_the_dose_for_a_ph_gives_that_ph(solution, temperature_c, mol_per_l, kind, target):
    agent = agent_by_molarity(kind, mol_per_l)
    dose = dose_or_none(solution, target, agent, temperature_c)
    assume(dose is not None)
    assert ph_after(solution, agent, dose, 1.0, temperature_c) == pytest.approx(target, abs=0.006)


@given(reservoirs(), temperatures, st.floats(4.5, 7.0))
@settings(max_examples=50, deadline=None)
def test_to_b_with_acid_and_back_to_a_with_base_takes_the_same_equivalents(solution, temperature_c, target):
    """But for a percent or two: the salt that both leave behind raises the ionic strength and thins by their water."""
    acid, base = agent_by_molarity("nitric", 2.0), agent_by_molarity("potassium_hydroxide", 2.0)
    start = ph_closed(solution, temperature_c)
    assume(4.0 <= target + 0.3 <= start <= 8.0)
    down = dose_for_ph(solution, target, acid, temperature_c, 1.0)
    back = dose_for_ph(after_dose(solution, acid, down, 1.0), start, base, temperature_c, 1.0 + down / 1000.0)
    assert back == pytest.approx(down, rel=0.03, abs=1e-3)


@given(reservoirs(), temperatures, st.sampled_from(ACIDS), st.floats(4.0, 7.0), st.floats(0.5, 2000.0))
@settings(max_examples=40, deadline=None)
def test_scaling_the_volume_scales_the_dose(solution, temperature_c, kind, target, volume_l):
    agent = agent_by_molarity(kind, 1.0)
    dose = dose_or_none(solution, target, agent, temperature_c)
    assume(dose is not None)
    assert dose_for_ph(solution, target, agent, temperature_c, volume_l) == pytest.approx(dose * volume_l, rel=1e-9)


@given(reservoirs(), temperatures, st.sampled_from(ACIDS), st.floats(4.0, 7.0))
@settings(max_examples=40, deadline=None)
def test_half_the_strength_takes_about_twice_the_millilitres(solution, temperature_c, kind, target):
    dose = dose_or_none(solution, target, agent_by_molarity(kind, 2.0), temperature_c)
    assume(dose is not None and dose > 0.01)
    weaker = dose_for_ph(solution, target, agent_by_molarity(kind, 1.0), temperature_c, 1.0)
    assert weaker == pytest.approx(2.0 * dose, rel=0.02)


@given(reservoirs(), reservoirs(), reservoirs(), temperatures)
@settings(max_examples=25, deadline=None)
def test_the_order_of_mixing_does_not_matter(one, two, three, temperature_c):
    parts = [(one, 1.0), (two, 2.5), (three, 0.3)]
    found = [ph_closed(mix(order), temperature_c) for order in permutations(parts)]
    assert max(found) - min(found) < 1e-5
    step_by_step = mix([(mix(parts[:2]), 3.5), parts[2]])
    assert ph_closed(step_by_step, temperature_c) == pytest.approx(found[0], abs=1e-5)


@given(reservoirs(), temperatures, st.sampled_from(list(permutations(["nitric", "sulfuric", "phosphoric"]))))
@settings(max_examples=25, deadline=None)
def test_the_order_of_products_does_not_matter(solution, temperature_c, order):
    def dosed(kinds: tuple[str, ...]) -> Solution:
        now, volume_l = solution, 1.0
        for kind in kinds:
            now, volume_l = after_dose(now, agent_by_molarity(kind, 1.0), 0.4, volume_l), volume_l + 0.0004
        return now

    usual = ph_closed(dosed(("nitric", "phosphoric", "sulfuric")), temperature_c)
    assert ph_closed(dosed(order), temperature_c) == pytest.approx(usual, abs=1e-5)


@given(reservoirs(), reservoirs(), st.floats(0.0, 1.0))
@settings(max_examples=50, deadline=None)
def test_alkalinity_and_every_total_mix_by_volume(one, other, share):
    mixed = mix([(one, share), (other, 1.0 - share)])
    for name in ("ca", "po4", "carbonate", "no3", "alkalinity_meq_l"):
        expected = share * getattr(one, name) + (1.0 - share) * getattr(other, name)
        assert getattr(mixed, name) == pytest.approx(expected, abs=1e-9)


@given(reservoirs(), temperatures)
@settings(max_examples=40, deadline=None)
def test_the_guess_and_the_starting_point_do_not_move_the_answer(solution, temperature_c):
    found = [ph_closed(solution, temperature_c, guess) for guess in (3.0, 5.0, 6.5, 9.0, 11.0)]
    assert max(found) - min(found) < 1e-5


@given(reservoirs(), temperatures, st.floats(-3.4, -1.5))
@settings(max_examples=40, deadline=None)
def test_an_aired_solution_stays_where_the_air_holds_it(solution, temperature_c, log_pressure):
    pressure = 10.0**log_pressure
    rested = aired(solution, temperature_c, pressure)
    assert pco2_atm(rested, temperature_c) == pytest.approx(pressure, rel=1e-3)
    assert ph_closed(rested, temperature_c) == pytest.approx(ph_open(solution, temperature_c, pressure), abs=1e-4)


@given(reservoirs(), temperatures)
@settings(max_examples=40, deadline=None)
def test_as_co2_leaves_the_ph_climbs_and_never_falls(solution, temperature_c):
    found = [ph_open(solution, temperature_c, pressure) for pressure in (4.2e-3, 2e-3, 1e-3, 4.2e-4)]
    assert all(later >= earlier - 2e-5 for earlier, later in pairwise(found))


@given(reservoirs(), temperatures, st.floats(4.5, 7.5))
@settings(max_examples=60, deadline=None)
def test_a_composition_made_to_fit_a_ph_has_that_ph(solution, temperature_c, ph):
    by_charge = with_ph_by_charge(solution, ph, temperature_c)
    assert ph_closed(by_charge, temperature_c) == pytest.approx(ph, abs=1e-4)
    try:
        by_carbonate = with_ph(solution, ph, temperature_c)
    except OutOfRange as reason:
        assert "does not fit this composition" in str(reason)
    else:
        assert ph_closed(by_carbonate, temperature_c) == pytest.approx(ph, abs=1e-4)
        assert by_carbonate.alkalinity_meq_l == pytest.approx(solution.alkalinity_meq_l, abs=1e-9)


@given(reservoirs(), temperatures, st.floats(4.5, 7.5))
@settings(max_examples=40, deadline=None)
def test_the_buffer_is_the_slope_of_the_titration(solution, temperature_c, ph):
    above, below = (acid_demand_meq_l(solution, ph + step, temperature_c) for step in (0.02, -0.02))
    slope = (below - above) / 0.04
    assert speciate(solution, ph, temperature_c).buffer_meq_l_ph == pytest.approx(slope, rel=0.15, abs=0.005)


@given(reservoirs(), temperatures, st.floats(4.2, 7.0))
@settings(max_examples=40, deadline=None)
def test_the_quick_demand_is_the_dose_of_a_strong_acid(solution, temperature_c, target):
    demand = acid_demand_meq_l(solution, target, temperature_c)
    assume(demand > 0.05)
    dose = dose_for_ph(solution, target, agent_by_molarity("hydrochloric", 2.0), temperature_c, 1.0)
    assert dose * 2.0 == pytest.approx(demand, rel=0.02)


@given(reservoirs(), temperatures, st.floats(0.0, 5.0))
@settings(max_examples=30, deadline=None)
def test_after_an_acid_the_aired_ph_is_above_the_closed_one(solution, temperature_c, dose_ml):
    agent = agent_by_molarity("nitric", 1.0)
    assume(pco2_atm(after_dose(solution, agent, dose_ml, 1.0), temperature_c) > 4.2e-4)
    closed = ph_after(solution, agent, dose_ml, 1.0, temperature_c)
    assert ph_when_aired(solution, agent, dose_ml, 1.0, temperature_c) >= closed - 2e-5


@given(reservoirs(), temperatures, st.floats(4.0, 8.0), st.floats(4.0, 8.0))
@settings(max_examples=40, deadline=None)
def test_what_the_buffers_take_up_is_the_whole_demand(solution, temperature_c, start, end):
    parts = demand_parts_meq_l(solution, start, end, temperature_c)
    demand = acid_demand_meq_l(solution, end, temperature_c) - acid_demand_meq_l(solution, start, temperature_c)
    assert sum(parts.values()) == pytest.approx(demand, abs=1e-4)
    assert all(taken * (start - end) >= -1e-4 for part, taken in parts.items() if part in ("carbonate", "water"))


def dose_or_none(solution: Solution, target: float, agent: Agent, temperature_c: float) -> float | None:
    try:
        return dose_for_ph(solution, target, agent, temperature_c, 1.0)
    except Refused:
        return None


WATER = Solution(na=2.0, carbonate=2.2)


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
def test_nothing_that_is_no_number_ever_gets_a_dose(bad):
    acid = agent_by_molarity("nitric", 1.0)
    for attempt in (
        lambda: dose_for_ph(WATER, bad, acid, 20.0, 100.0),
        lambda: dose_for_ph(WATER, 5.8, acid, bad, 100.0),
        lambda: dose_for_ph(WATER, 5.8, acid, 20.0, bad),
        lambda: dose_for_ph(WATER, 5.8, acid, 20.0, 100.0, bad),
        lambda: ph_after(WATER, acid, bad, 100.0, 20.0),
        lambda: ph_after(WATER, acid, 1.0, bad, 20.0),
        lambda: ph_closed(WATER, bad),
        lambda: ph_open(WATER, 20.0, bad),
        lambda: Solution(na=bad),
        lambda: Solution(inert_meq_l=bad),
        lambda: WATER.scaled(bad),
        lambda: mix([(WATER, bad), (WATER, 1.0)]),
        lambda: with_ph(WATER, bad, 20.0),
        lambda: speciate(WATER, bad, 20.0),
        lambda: agent_by_molarity("nitric", bad),
        lambda: agent_by_percent("nitric", bad, 1.1),
        lambda: agent_by_percent("nitric", 10.0, bad),
    ):
        with pytest.raises(BadInput) as caught:
            attempt()
        assert caught.value.sentence.endswith(".") and caught.value.hint


@pytest.mark.parametrize(
    ("attempt", "says"),
    [
        (lambda: agent_by_molarity("nitric", -1.0), "nitric of -1 mol/L"),
        (lambda: agent_by_molarity("nitric", 40.0), "nitric of 40 mol/L"),
        (lambda: agent_by_percent("nitric", 120.0, 1.4), "120"),
        (lambda: agent_by_percent("nitric", 60.0, None), "density of the 60 % nitric is missing"),
        (lambda: agent_by_percent("nitric", 60.0, 1370.0), "1370"),
        (lambda: agent_by_percent("acetic", 60.0, 1.05), "acetic"),
        (lambda: agent_by_percent("nitric", 38.0, 1.84), "does not weigh 1.84 kg/L: the handbook has 1.233"),
        (lambda: agent_by_percent("phosphoric", 8.5, 1.69), "does not weigh 1.69"),
        (lambda: dose_for_ph(WATER, 3.9, agent_by_molarity("nitric", 1.0), 20.0, 1.0), "target of pH 3.9"),
        (lambda: dose_for_ph(WATER, 8.1, agent_by_molarity("nitric", 1.0), 20.0, 1.0), "target of pH 8.1"),
        (lambda: dose_for_ph(WATER, 5.8, agent_by_molarity("nitric", 1.0), 20.0, 0.0), "volume of 0.0 L"),
        (lambda: dose_for_ph(WATER, 5.8, agent_by_molarity("nitric", 1.0), 20.0, -5.0), "volume of -5.0 L"),
        (lambda: dose_for_ph(WATER, 5.8, agent_by_molarity("nitric", 1.0), 70.0, 5.0), "70.0 °C"),
        (lambda: Solution(ca=-0.1), "ca of -0.1"),
        (lambda: Solution(ca=30_000.0), "30000"),
        (lambda: mix([]), "nothing to mix"),
    ],
)
def test_bad_input_gets_a_sentence_that_names_it(attempt, says):
    with pytest.raises(BadInput) as caught:
        attempt()
    assert says in caught.value.sentence
    assert caught.value.hint


def test_pouring_acid_into_what_is_too_acid_already_is_refused():
    with pytest.raises(Refused, match="already at or below pH 6"):
        dose_for_ph(Solution(no3=0.1), 6.0, agent_by_molarity("nitric", 1.0), 20.0, 100.0)
    with pytest.raises(Refused, match="already at or above pH 6"):
        dose_for_ph(WATER, 6.0, agent_by_molarity("potassium_hydroxide", 1.0), 20.0, 100.0)


def test_what_an_agent_cannot_reach_is_refused():
    sour = Solution(no3=20.0, nh4=1.0, po4=19.0)
    with pytest.raises(Refused, match="does not bring"):
        dose_for_ph(sour, 7.9, agent_by_molarity("potassium_hydrogen_carbonate", 0.2), 20.0, 100.0)


def test_nothing_is_poured_where_the_target_is_met():
    water = with_ph(WATER, 7.2, 20.0)
    assert dose_for_ph(water, 7.2, agent_by_molarity("nitric", 1.0), 20.0, 100.0) == 0.0


def test_a_ph_that_no_co2_explains_says_the_highest_that_is_possible():
    with pytest.raises(OutOfRange, match=r"without any CO2 it would be 4\.\d\d"):
        with_ph(Solution(k=1.0, no3=1.0 + 0.05), 7.0, 20.0)
