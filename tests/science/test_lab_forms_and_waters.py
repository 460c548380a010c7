"""What laboratories print, made into waters; imbalances and mix-ups are named."""

from __future__ import annotations

import math

import pytest

from rounds.errors import BadInput, OutOfRange
from rounds.science.lab_forms import FORMS, from_lab, mixed_up_forms, to_lab, water_from_lab
from rounds.science.solution import Solution
from rounds.science.speciation import ph_closed, water_from_analysis

HARD = {"Ca": 100.0, "Mg": 12.0, "Na": 20.0, "K": 2.0, "HCO3": 290.0, "Cl": 35.0, "SO4": 40.0, "NO3": 20.0}


@pytest.mark.parametrize(
    ("value", "form", "same", "other"),
    [
        # Stoichiometry: P2O5 x 0.4364 = P; K2O x 0.8301 = K.
        (100.0, "P2O5", 43.64, "P"), (100.0, "K2O", 83.01, "K"),
        # Textbooks of water analysis (from memory): NO3 / 4.427 = NO3-N; HCO3 x 0.8202 = CaCO3; SO4 / 2.996 = S.
        (44.27, "NO3", 10.0, "NO3-N"), (100.0, "HCO3", 82.02, "alkalinity as CaCO3"), (29.96, "SO4", 10.0, "S"),
        (12.88, "NH4", 10.0, "NH4-N"), (30.66, "PO4", 10.0, "P"),
        (139.9, "CaO", 100.0, "Ca"), (165.8, "MgO", 100.0, "Mg"),
        # 1 German degree = 17.85 mg/L CaCO3 = 1.785 French = 1.252 English degrees (definitions, from memory).
        (1.0, "hardness in German degrees", 17.85, "hardness as CaCO3"),
        (1.0, "hardness in German degrees", 1.785, "hardness in French degrees"),
        (1.0, "hardness in German degrees", 1.252, "hardness in English degrees"),
        (1.0, "hardness in US grains", 17.12, "hardness as CaCO3"),
        (1.0, "alkalinity in degrees KH", 17.85, "alkalinity as CaCO3"),
    ],
)  # fmt: skip
def test_forms_turn_into_each_other_as_printed(value, form, same, other):
    assert to_lab(from_lab(value, form)[1], other) == pytest.approx(same, rel=0.001)
    assert from_lab(value, form)[0] == from_lab(same, other)[0]


@pytest.mark.parametrize("form", list(FORMS))
def test_there_and_back_is_the_same(form):
    assert to_lab(from_lab(7.5, form)[1], form) == pytest.approx(7.5)


def test_a_printed_analysis_becomes_a_water_of_that_ph_and_alkalinity():
    water = water_from_lab(HARD, 7.4, 15.0)
    assert abs(water.imbalance_percent) < 5.0
    assert water.solution.alkalinity_meq_l == pytest.approx(290.0 / 61.017, rel=1e-4)
    assert ph_closed(water.solution, 15.0) == pytest.approx(7.4, abs=1e-4)


def test_charges_that_do_not_balance_are_told_and_closed():
    # Arithmetic: 4 meq/L of calcium against 3 of alkalinity and nothing else leaves 1 meq/L of anions missing.
    water = water_from_analysis(Solution(ca=2.0), 3.0, 7.5)
    assert water.imbalance_meq_l == pytest.approx(1.0)
    assert water.imbalance_percent == pytest.approx(100.0 * 1.0 / 3.5)
    assert water.solution.inert_meq_l == pytest.approx(-1.0)
    assert water.solution.alkalinity_meq_l == pytest.approx(3.0)


def test_alkalinity_read_in_the_wrong_form_is_suspected():
    mistaken = {**{k: v for k, v in HARD.items() if k != "HCO3"}, "HCO3": 238.0}
    assert water_from_lab(mistaken, 7.4).imbalance_percent > 5.0
    assert any("HCO3 of 238 looks like alkalinity as CaCO3" in s for s in mixed_up_forms(mistaken, 7.4))


def test_nitrate_nitrogen_printed_as_nitrate_is_suspected():
    well = {"Ca": 90.0, "K": 5.0, "alkalinity as CaCO3": 130.0, "Cl": 10.0, "NO3": 24.0}
    found = mixed_up_forms(well, 7.2)
    assert any("NO3 of 24 looks like NO3-N" in s for s in found)


def test_a_sound_analysis_is_not_suspected():
    assert mixed_up_forms(HARD, 7.4) == []


def test_hardness_fills_in_for_magnesium_and_is_checked_against_both():
    given = {"Ca": 80.156, "hardness in German degrees": 14.02, "HCO3": 305.0}
    assert water_from_lab(given, 7.4).solution.mg == pytest.approx(0.5, abs=0.01)
    with pytest.raises(BadInput, match="does not fit calcium and magnesium"):
        water_from_lab({**given, "Mg": 40.0}, 7.4)


def test_hardness_alone_is_taken_as_four_parts_calcium_to_one_magnesium():
    # Common practice for limestone waters; no source.
    water = water_from_lab({"hardness in mmol/L": 2.5, "HCO3": 250.0}, 7.4).solution
    assert (water.ca, water.mg) == pytest.approx((2.0, 0.5))


@pytest.mark.parametrize(
    ("printed", "says"),
    [
        ({"Ca": 80.0}, "no alkalinity"),
        ({"HCO3": 100.0, "alkalinity as CaCO3": 82.0}, "a second time"),
        ({"HCO3": 100.0, "nitrate": 5.0}, "'nitrate' is no laboratory form"),
        ({"HCO3": 100.0, "Ca": -5.0}, "Ca of -5.0"),
        ({"HCO3": 100.0, "Ca": math.nan}, "Ca of nan"),
        ({"HCO3": 2000.0}, "alkalinity of 32"),
    ],
)
def test_bad_analyses_get_a_sentence(printed, says):
    with pytest.raises(BadInput) as caught:
        water_from_lab(printed, 7.4)
    assert says in caught.value.sentence
    assert caught.value.hint


@pytest.mark.parametrize("ph", [2.0, 11.0, math.nan])
def test_a_ph_no_water_has_is_refused(ph):
    with pytest.raises(OutOfRange, match="not that of a water"):
        water_from_analysis(Solution(ca=2.0), 3.0, ph)


def test_an_analysis_that_holds_carbonate_twice_is_refused():
    with pytest.raises(BadInput, match="carbonate beside the alkalinity"):
        water_from_analysis(Solution(ca=2.0, carbonate=4.0), 3.0, 7.5)
