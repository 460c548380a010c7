"""Weighing lists of A and B: grams for the litres wanted, what dissolves, what falls out, what is in the store."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import msgspec
import pytest

from rounds.errors import NotFound, OutOfRange
from rounds.farm.farm import Farm
from rounds.farm.shelf import Concentrate, SaltProduct
from rounds.mixing.concentrate import concentrate_sheets

PLENTY: dict[str, float] = {}


def with_salts(farm: Farm, product_id: str, **salts: float) -> Farm:
    old = farm.shelf[product_id]
    assert isinstance(old, Concentrate)
    return replace(farm, shelf={**farm.shelf, product_id: msgspec.structs.replace(old, salts_g_l=salts)})


def test_a_hundredfold_lettuce_feed_weighs_what_the_print_says_a_hundred_times(farm: Farm) -> None:
    # Lettuce feed after H. Ikeda 1996, as printed by Takii Seed, per 1000 L: KNO3 404 g, Ca(NO3)2.4H2O 236 g,
    # MgSO4.7H2O 123 g. Ten litres of a hundredfold concentrate carry what 1000 L of feed need.
    farm = with_salts(farm, "leaf-a", calcium_nitrate_tetrahydrate=23.6)
    farm = with_salts(farm, "leaf-b", potassium_nitrate=40.4, magnesium_sulfate_heptahydrate=12.3)
    a, b = concentrate_sheets(farm, "leaf", 10.0, PLENTY)
    assert a.figures["calcium_nitrate_tetrahydrate_g"] == pytest.approx(236.0)
    assert b.figures["potassium_nitrate_g"] == pytest.approx(404.0)
    assert b.figures["magnesium_sulfate_heptahydrate_g"] == pytest.approx(123.0)


@pytest.mark.parametrize(("grams", "warned"), [(200.0, False), (270.0, True), (400.0, True)])
def test_more_saltpetre_than_water_takes_is_said(farm: Farm, grams: float, warned: bool) -> None:
    # KNO3: 316 g/L at 20 degC, Western Australia Dept of Agriculture, liquid fertiliser stock solutions, table 1;
    # a warning from 80 % of it on is common practice.
    _, b = concentrate_sheets(with_salts(farm, "leaf-b", potassium_nitrate=grams), "leaf", 5.0, PLENTY)
    assert any("potassium nitrate is at" in note for note in b.notes) is warned
    if grams > 316:
        assert any("will not all dissolve" in note for note in b.notes)


def test_calcium_with_sulfate_in_one_drum_is_refused_in_words(farm: Farm) -> None:
    # One-tank Hoagland: gypsum saturates near 7-8 times; at 100 times it needs two tanks (PHREEQC).
    farm = with_salts(farm, "leaf-a", calcium_nitrate_tetrahydrate=118.0, magnesium_sulfate_heptahydrate=49.0)
    a, _ = concentrate_sheets(farm, "leaf", 5.0, PLENTY)
    assert any("gypsum" in note and "Do not make it" in note for note in a.notes)


def test_the_shipped_pair_throws_nothing_down(farm: Farm) -> None:
    for sheet in concentrate_sheets(farm, "leaf", 5.0, PLENTY):
        assert not any("throw down" in note for note in sheet.notes)


def test_what_the_store_lacks_is_said_with_how_far_it_goes(farm: Farm) -> None:
    bag = SaltProduct(
        id="bag", name="Saltpetre", salt="potassium_nitrate", amount=0.1, unit="kg", counted_on=date(2026, 11, 1)
    )
    farm = replace(farm, shelf={**farm.shelf, "bag": bag})
    a, _ = concentrate_sheets(farm, "leaf", 5.0, {"bag": 0.1})
    assert any("100.0 g are left, which goes for 50%" in note for note in a.notes)
    assert any("calcium nitrate tetrahydrate is not on the shelf" in note for note in a.notes)


def test_a_and_b_never_stand_on_one_sheet(farm: Farm) -> None:
    a, b = concentrate_sheets(farm, "leaf", 5.0, PLENTY)
    assert "CONCENTRATE A" in a.label[0]
    assert "CONCENTRATE B" in b.label[0]
    assert any("Never A and B" in caution for caution in a.cautions)


@pytest.mark.parametrize("litres", [0.0, -1.0, float("nan"), float("inf"), 1001.0])
def test_litres_that_cannot_be_are_refused(farm: Farm, litres: float) -> None:
    with pytest.raises(OutOfRange):
        concentrate_sheets(farm, "leaf", litres, PLENTY)


def test_an_unknown_feed_is_named_with_those_there_are(farm: Farm) -> None:
    with pytest.raises(NotFound, match="There are: leaf"):
        concentrate_sheets(farm, "leaves", 5.0, PLENTY)


@pytest.mark.parametrize("grams_l", [0.001, 0.0002, 0.008, 0.022, 0.0999])
def test_a_trace_too_little_for_the_scale_goes_in_by_a_mother_solution(farm: Farm, grams_l: float) -> None:
    """What is dissolved in its litre, times the share of it that is poured, is what the list asks for."""
    farm = with_salts(farm, "leaf-b", potassium_nitrate=40.0, copper_sulfate_pentahydrate=grams_l)
    _, b = concentrate_sheets(farm, "leaf", 10.0, PLENTY)
    (step,) = [s for s in b.steps if s.what == "copper_sulfate_pentahydrate"]
    assert "too little to weigh" in step.text and "Weigh " not in step.text
    weighed_g = float(step.text.split("dissolve ")[1].split(" g")[0])
    poured_ml = float(step.text.split("stir in ")[1].split(" mL")[0])
    assert weighed_g * poured_ml / 1000.0 == pytest.approx(grams_l * 10.0, rel=0.01)
    assert weighed_g >= 2.0
    assert step.amount == pytest.approx(grams_l * 10.0)


def test_a_gram_and_more_is_weighed_as_it_is(farm: Farm) -> None:
    farm = with_salts(farm, "leaf-b", potassium_nitrate=40.0, boric_acid=0.1)
    _, b = concentrate_sheets(farm, "leaf", 10.0, PLENTY)
    assert [s.text[:14] for s in b.steps if s.what == "boric_acid"] == ["Weigh 1.000 g "]
