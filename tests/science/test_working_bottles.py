"""Densities and the sums of the dilution sheet."""

from __future__ import annotations

import itertools
import math

import pytest

from rounds.errors import BadInput, OutOfRange
from rounds.science.acids_bases import KINDS
from rounds.science.densities import TABLES, check_label, percent_of_density, table_density_kg_l
from rounds.science.dilution import working_bottle, working_bottle_of_solid


@pytest.mark.parametrize(
    ("kind", "percent", "kg_l"),
    [
        ("nitric", 68.0, 1.4048),  # Perry's Chemical Engineers' Handbook, second-hand
        ("phosphoric", 75.0, 1.575),  # ECHA registration dossier 15531, 4.5: 1.57-1.58
        # Printed on bottles (from memory): 53 % 1.33, 38 % 1.23, 85 % 1.69, 96 % 1.84, 37 % 1.18, 50 % 1.51.
        ("nitric", 53.0, 1.33), ("nitric", 38.0, 1.235), ("phosphoric", 85.0, 1.69), ("sulfuric", 96.0, 1.84),
        ("hydrochloric", 37.0, 1.184), ("potassium_hydroxide", 50.0, 1.51), ("potassium_carbonate", 50.0, 1.54),
    ],
)  # fmt: skip
def test_densities_are_those_printed(kind, percent, kg_l):
    assert table_density_kg_l(kind, percent) == pytest.approx(kg_l, rel=0.005)


@pytest.mark.parametrize("kind", list(KINDS))
def test_density_rises_with_strength_and_reads_back(kind):
    top = TABLES[kind][-1][0]
    strengths = [top * i / 20.0 for i in range(21)]
    found = [table_density_kg_l(kind, s) for s in strengths]
    assert all(b > a for a, b in itertools.pairwise(found))
    assert [percent_of_density(kind, d) for d in found] == pytest.approx(strengths, abs=1e-6)


def test_a_bottle_holds_the_acid_that_went_in():
    # Mass balance, and the molarity that follows: 10 % of 1.0543 kg is 105.4 g, 1.673 mol.
    bottle = working_bottle("nitric", volume_l=1.0, working_percent=10.0, stock_percent=60.0, stock_density_kg_l=1.367)
    assert bottle.stock_g * 0.60 == pytest.approx(105.43, rel=1e-4)
    assert bottle.stock_ml == pytest.approx(bottle.stock_g / 1.367)
    assert bottle.stock_g + bottle.water_ml * 0.99821 == pytest.approx(bottle.whole_g, rel=1e-4)
    assert bottle.agent.mol_per_l == pytest.approx(1.673, abs=0.002)


def test_volumes_of_a_bottle_scale():
    one = working_bottle("phosphoric", volume_l=1.0, working_percent=8.0, stock_percent=75.0, stock_density_kg_l=1.579)
    five = working_bottle("phosphoric", volume_l=5.0, working_percent=8.0, stock_percent=75.0, stock_density_kg_l=1.579)
    assert five.stock_ml == pytest.approx(5.0 * one.stock_ml)
    assert five.agent == one.agent


def test_wet_pellets_need_more_of_them():
    # Potassium hydroxide pellets hold 10-15 % water (common practice).
    pure = working_bottle_of_solid("potassium_hydroxide", volume_l=1.0, working_percent=5.0)
    wet = working_bottle_of_solid("potassium_hydroxide", volume_l=1.0, working_percent=5.0, purity_percent=85.0)
    assert wet.stock_g == pytest.approx(pure.stock_g / 0.85)
    assert wet.stock_ml == 0.0
    assert wet.water_ml < pure.water_ml
    assert wet.agent.mol_per_l == pytest.approx(0.93, abs=0.01)  # 5 % of 1.044 kg/L over 56.1 g/mol


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"volume_l": 0.0}, "working bottle of 0.0 L"),
        ({"volume_l": math.nan}, "working bottle of nan"),
        ({"working_percent": 30.0}, "working strength of 30.0 %"),
        ({"working_percent": -1.0}, "working strength of -1.0 %"),
        ({"stock_percent": 8.0, "stock_density_kg_l": 1.043}, "does not make"),
        ({"stock_density_kg_l": None}, "density of the 60 % nitric is missing"),
        ({"stock_density_kg_l": 1.84}, "does not weigh 1.84"),
        ({"stock_percent": math.nan}, "nan"),
    ],
)
def test_a_bottle_that_cannot_be_is_refused(change, says):
    usual = {"volume_l": 1.0, "working_percent": 10.0, "stock_percent": 60.0, "stock_density_kg_l": 1.367}
    with pytest.raises(BadInput) as caught:
        working_bottle("nitric", **{**usual, **change})
    assert says in caught.value.sentence
    assert caught.value.hint


def test_a_label_read_wrongly_is_caught():
    check_label("sulfuric", 96.0, 1.84)
    with pytest.raises(BadInput, match=r"the handbook has 1\.2"):
        check_label("nitric", 38.0, 1.84)
    with pytest.raises(OutOfRange, match="not in the density table"):
        check_label("hydrochloric", 60.0, 1.2)


@pytest.mark.parametrize(
    ("kind", "percent", "density_kg_l"),
    [
        ("nitric", 68.0, 1.4048),  # Perry's, second-hand
        ("nitric", 68.0, 1.41),  # printed on drums so: memory
        ("nitric", 60.0, 1.37),  # memory
        ("nitric", 38.0, 1.23),  # memory
        ("phosphoric", 75.0, 1.57),  # ECHA registration dossier 15531, 4.5: 1.57 to 1.58
        ("phosphoric", 75.0, 1.58),
        ("phosphoric", 85.0, 1.685),  # memory
        ("phosphoric", 85.0, 1.71),  # memory: another maker's print
        ("sulfuric", 96.0, 1.84),  # memory
        ("sulfuric", 37.0, 1.28),  # battery acid: memory
        ("hydrochloric", 37.0, 1.19),  # memory
        ("potassium_hydroxide", 50.0, 1.51),  # memory
        ("nitric", 8.0, 1.04),  # a working bottle weighed on a kitchen scale
        ("nitric", 10.0, 1.05),
    ],
)
def test_labels_as_they_are_printed_pass(kind, percent, density_kg_l):
    check_label(kind, percent, density_kg_l)


@pytest.mark.parametrize("kind", list(TABLES))
@pytest.mark.parametrize("decimals", [2, 3])
@pytest.mark.parametrize("tenth", range(4, 41))
def test_a_decimal_that_slipped_in_the_percent_is_caught_for_every_strength(kind, decimals, tenth):
    strength = TABLES[kind][-1][0] * tenth / 40.0
    printed = round(table_density_kg_l(kind, strength), decimals)
    check_label(kind, round(strength, 1), printed)
    for slipped in (strength / 10.0, strength * 10.0):
        with pytest.raises((BadInput, OutOfRange)):
            check_label(kind, round(slipped, 2), printed)


def test_each_of_a_labels_two_numbers_is_told_by_what_it_says():
    with pytest.raises(BadInput, match=r"0\.8 % nitric .* the handbook has 1\.003, and 1\.043 kg/L is that of 8\.0 %"):
        check_label("nitric", 0.8, 1.043)


def test_a_density_too_rough_to_tell_a_slipped_decimal_is_not_taken():
    with pytest.raises(BadInput, match=r"too rough to tell 0\.8 % nitric from 8 %"):
        check_label("nitric", 0.8, 1.0)
    check_label("nitric", 0.8, 1.003)
