"""Acid, alkalinity and pH against figures printed by others. Sources stand beside each row."""

from __future__ import annotations

import dataclasses
import math

import pytest

from rounds.science.acids_bases import KINDS, agent_by_molarity, agent_by_percent
from rounds.science.demand import demand_parts_meq_l
from rounds.science.densities import table_density_kg_l
from rounds.science.dosing import after_dose, dose_for_ph, ph_when_aired
from rounds.science.lab_forms import from_lab
from rounds.science.saturation import saturation_indices
from rounds.science.solution import Solution
from rounds.science.speciation import (
    aired,
    carbonate_from_alkalinity,
    ph_closed,
    ph_open,
    speciate,
    water_from_analysis,
)

US_FL_OZ_ML, US_GAL_L = 29.5735, 3.785412
HUNDRED_US_GAL_L = 100.0 * US_GAL_L


def water_of(alkalinity_meq_l: float, ph: float, temperature_c: float = 25.0) -> Solution:
    return water_from_analysis(Solution(na=alkalinity_meq_l), alkalinity_meq_l, ph, temperature_c).solution


def test_one_meq_of_alkalinity_is_fifty_mg_of_calcium_carbonate():
    # D. A. Bailey, NC State University, Alkalinity control for irrigation water used in greenhouses: 50.04 mg/L.
    assert from_lab(50.04, "alkalinity as CaCO3")[1] == pytest.approx(1.0, rel=1e-4)


def test_nitric_acid_takes_out_the_alkalinity_that_the_trade_table_says():
    # Premier Tech, Acid choices for reducing water alkalinity, table 1: 0.87 fl oz of 67 % per 100 US gal removes
    # 50 mg/L CaCO3 and adds 14.3 mg/L N. Density of 67 % between Perry's 65 and 68 %.
    acid = agent_by_percent("nitric", 67.0, table_density_kg_l("nitric", 67.0))
    dose_ml = 0.87 * US_FL_OZ_ML
    water = water_of(3.0, 7.5)
    removed = water.alkalinity_meq_l - after_dose(water, acid, dose_ml, HUNDRED_US_GAL_L).alkalinity_meq_l
    assert removed * 50.04 == pytest.approx(50.0, rel=0.03)
    assert acid.nutrients_mg(dose_ml)["N"] / HUNDRED_US_GAL_L == pytest.approx(14.3, rel=0.03)


def test_phosphoric_acid_brings_the_phosphorus_that_the_trade_table_says():
    # Same table: 0.94 fl oz of 75 % removes 50 mg/L CaCO3 and adds 27.5 mg/L P, about 1.13 H+ used per H3PO4.
    acid = agent_by_percent("phosphoric", 75.0, 1.579)
    dose_ml = 0.94 * US_FL_OZ_ML
    mmol_l = dose_ml * acid.mol_per_l / HUNDRED_US_GAL_L
    assert acid.nutrients_mg(dose_ml)["P"] / HUNDRED_US_GAL_L == pytest.approx(27.5, rel=0.03)
    assert 1.0 / mmol_l == pytest.approx(1.13, rel=0.03)


def test_a_phosphoric_acid_gives_a_little_more_than_one_hydrogen_ion_near_ph_6():
    # The 1.13 of that table belongs to the pH that irrigation water is brought to; H2PO4- and HPO4-2 share there.
    found = speciate(Solution(na=1.0, po4=1.0), 6.2, 25.0).species_mmol_l
    given = (found["H2PO4-"] + 2.0 * found["HPO4-2"]) / (found["H2PO4-"] + found["HPO4-2"])
    assert 1.05 < given < 1.2


@pytest.mark.parametrize(
    ("kind", "percent", "density", "mol_per_l"),
    [
        # Perry's Chemical Engineers' Handbook (second-hand): 68 % nitric has 1.4048 kg/L; mol/L by arithmetic.
        ("nitric", 68.0, 1.4048, 15.16),
        # ECHA registration dossier 15531, 4.5: 75 % phosphoric has 1.57-1.58 kg/L.
        ("phosphoric", 75.0, 1.575, 12.05),
        # Bottles of laboratory suppliers (from memory): 37 % HCl is 12.0-12.1, 96 % H2SO4 about 18.0, 85 % H3PO4 14.7.
        ("hydrochloric", 37.0, 1.18, 12.0),
        ("sulfuric", 96.0, 1.84, 18.0),
        ("phosphoric", 85.0, 1.69, 14.7),
    ],
)
def test_strength_by_percent_is_what_is_printed_by_molarity(kind, percent, density, mol_per_l):
    assert agent_by_percent(kind, percent, density).mol_per_l == pytest.approx(mol_per_l, rel=0.01)


@pytest.mark.parametrize(("target", "share"), [(6.0, 0.658), (5.8, 0.755), (5.5, 0.863)])
def test_a_closed_sample_takes_the_share_of_its_alkalinity_that_the_engine_says(target, share):
    # PHREEQC, phreeqc.dat: strong acid from 2 meq/L at pH 7.5, 25 degC. Computed elsewhere.
    acid = agent_by_molarity("hydrochloric", 1.0)
    assert dose_for_ph(water_of(2.0, 7.5), target, acid, 25.0, 1.0) / 2.0 == pytest.approx(share, abs=0.004)


def test_left_to_stand_in_air_nearly_all_alkalinity_has_to_go():
    # PHREEQC, phreeqc.dat: in an aerated tank nearly all of A is consumed, the pH climbs back as CO2 leaves.
    acid = agent_by_molarity("hydrochloric", 1.0)
    water = water_of(2.0, 7.5)
    closed = dose_for_ph(water, 5.8, acid, 25.0, 1.0)
    opened = dose_for_ph(water, 5.8, acid, 25.0, 1.0, 4.2e-4)
    assert opened / 2.0 > 0.98
    assert ph_when_aired(water, acid, closed, 1.0, 25.0) > 7.2


def test_a_hydrogen_carbonate_brings_its_potassium():
    # Stoichiometry: 1 meq/L of alkalinity from KHCO3 brings 39.1 mg/L K.
    agent = agent_by_molarity("potassium_hydrogen_carbonate", 1.0)
    assert agent.per_ml.alkalinity_meq_l == pytest.approx(1.0)
    assert agent.nutrients_mg(1.0)["K"] == pytest.approx(39.1, abs=0.01)


def test_the_misprinted_sulfuric_row_is_caught():
    """One extension page doses 64 mL of 35 % H2SO4 per 100 US gal for 3.7 meq/L from pH 6.5 to pH 5.0.

    By mass balance a closed sample needs 138-144 mL (with constants rounded: a percent is allowed either way). The
    printed dose must not be what comes out here.
    """
    acid = agent_by_percent("sulfuric", 35.0, 1.26)
    dose_ml = dose_for_ph(water_of(3.7, 6.5), 5.0, acid, 25.0, HUNDRED_US_GAL_L)
    assert 138.0 * 0.99 <= dose_ml <= 144.0 * 1.01
    assert not 32.0 < dose_ml < 128.0, "half to twice the misprint"
    left = after_dose(water_of(3.7, 6.5), acid, 64.0, HUNDRED_US_GAL_L)
    assert ph_closed(left, 25.0) > 6.0, "the printed dose leaves half of the alkalinity"


@pytest.mark.parametrize(
    ("solution", "ph"),
    [
        # NIST / IUPAC reference buffers at 25 degC (R. G. Bates; values from memory).
        (Solution(k=25.0, na=50.0, po4=50.0), 6.865),
        (Solution(k=8.695, na=60.86, po4=39.125), 7.413),
        (Solution(na=75.0, carbonate=50.0), 10.012),
    ],
)
def test_reference_buffers_have_their_certified_ph(solution, ph):
    assert ph_closed(solution, 25.0) == pytest.approx(ph, abs=0.04)


def test_the_phosphate_buffer_moves_with_temperature_as_certified():
    # NIST equimolal phosphate (from memory): 6.923 at 10 degC, 6.853 at 30 degC.
    buffer = Solution(k=25.0, na=50.0, po4=50.0)
    assert ph_closed(buffer, 10.0) - ph_closed(buffer, 30.0) == pytest.approx(0.070, abs=0.02)


def test_rain_in_clean_air_has_ph_5_6():
    # Textbooks of atmospheric chemistry: water at rest with air's CO2 has pH 5.6 (from memory).
    assert ph_open(Solution(), 25.0, 4.0e-4) == pytest.approx(5.61, abs=0.03)


def test_lime_water_at_rest_with_air_has_ph_8_3():
    # W. Stumm, J. J. Morgan, Aquatic Chemistry (from memory): calcite at rest with air of 10^-3.5 atm CO2, 25 degC, has
    # pH 8.3 and an alkalinity of 1 meq/L.
    water = Solution(ca=0.5)
    assert ph_open(water, 25.0, 10.0**-3.5) == pytest.approx(8.3, abs=0.03)
    assert saturation_indices(aired(water, 25.0, 10.0**-3.5), 25.0)["calcite"] == pytest.approx(0.0, abs=0.1)


def test_ten_millimolar_hydrochloric_acid_has_ph_2_04():
    # Handbooks (from memory): mean activity coefficient of 0.01 mol/kg HCl 0.904-0.905, hence pH 2.04.
    assert ph_closed(Solution(cl=10.0), 25.0) == pytest.approx(-math.log10(0.01 * 0.9045), abs=0.01)


def test_fresh_hoagland_solution_is_acid_by_itself():
    # Hoagland and Arnon No. 1 made up with pure water stands near pH 5 (textbooks, from memory; no alkalinity at all).
    assert 4.6 < ph_closed(Solution(no3=15.0, k=6.0, ca=5.0, mg=2.0, so4=2.0, po4=1.0), 25.0) < 5.4


def test_a_table_water_of_alkalinity_and_ph_has_the_carbonate_of_the_textbook():
    # W. Stumm, J. J. Morgan, Aquatic Chemistry: total carbonate = alkalinity (1 + [H]/K1) below pH 8, pK1 6.35.
    expected = 3.0 * (1.0 + 10.0 ** (6.35 - 7.2))
    assert carbonate_from_alkalinity(3.0, 7.2, 25.0) == pytest.approx(expected, rel=0.02)


def test_every_acid_and_base_is_neutral_on_the_shelf_and_named():
    for kind in KINDS.values():
        protons = {"nitric": 1, "phosphoric": 1, "sulfuric": 2, "hydrochloric": 1, "citric": 0}.get(kind.name)
        if protons is not None:
            assert kind.brings.alkalinity_meq_l == -protons
            assert kind.is_acid
        else:
            assert kind.brings.alkalinity_meq_l >= 1.0
            assert not kind.is_acid


@pytest.mark.parametrize(
    ("kind", "element", "mg"),
    # Atomic weights, IUPAC: mg of the element in one mmol.
    [("nitric", "N", 14.007), ("phosphoric", "P", 30.974), ("sulfuric", "S", 32.06), ("hydrochloric", "Cl", 35.45),
     ("potassium_hydroxide", "K", 39.098), ("potassium_carbonate", "K", 78.196),
     ("potassium_hydrogen_carbonate", "K", 39.098)],
)  # fmt: skip
def test_the_nutrient_that_comes_with_a_dose(kind, element, mg):
    assert agent_by_molarity(kind, 1.0).nutrients_mg(2.0) == pytest.approx({element: 2.0 * mg})
    assert agent_by_molarity("citric", 1.0).nutrients_mg(2.0) == {}


def test_ammonia_takes_up_acid_as_its_constant_says():
    # Arithmetic with the pK of ammonium at 25 degC, 9.245 (Bates and Pinching): share of NH3 at pH 8.
    parts = demand_parts_meq_l(Solution(nh4=10.0, cl=10.0), 8.0, 5.0, 25.0)
    assert parts["ammonia"] == pytest.approx(10.0 / (1.0 + 10.0 ** (9.245 - 8.0)), rel=0.12)


def test_citric_acid_carries_the_reason_against_recirculation():
    assert "bacteria" in KINDS["citric"].not_for_recirculation
    assert not any(k.not_for_recirculation for k in KINDS.values() if k.name != "citric")


def test_worn_phosphate_lets_the_same_dose_crash_the_ph():
    """Why the weakest believable buffer matters: phosphate is the buffer between pH 5.5 and 6.8 once CO2 has left."""
    fresh = Solution(no3=14.0, k=6.0, ca=5.0, mg=2.0, so4=2.0, po4=1.5, inert_meq_l=0.0)
    fresh = dataclasses.replace(fresh, inert_meq_l=0.6 - fresh.alkalinity_meq_l)
    worn = dataclasses.replace(fresh, po4=0.3)
    acid = agent_by_molarity("nitric", 1.0)
    fresh_base = speciate(fresh, 6.6, 20.0).charge_meq_l
    dose = dose_for_ph(dataclasses.replace(fresh, inert_meq_l=fresh.inert_meq_l - fresh_base), 5.8, acid, 20.0, 100.0)
    worn_base = speciate(worn, 6.6, 20.0).charge_meq_l
    worn = dataclasses.replace(worn, inert_meq_l=worn.inert_meq_l - worn_base)
    assert ph_closed(after_dose(worn, acid, dose, 100.0), 20.0) < 4.5
