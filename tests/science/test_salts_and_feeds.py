"""Salts, recipes and solubility against printed figures. Sources stand beside each row."""

from __future__ import annotations

import pytest

periodictable = pytest.importorskip("periodictable")

from rounds.errors import BadInput, OutOfRange  # noqa: E402
from rounds.science.atoms import ATOMIC_WEIGHTS, count_atoms, molar_mass_g  # noqa: E402
from rounds.science.salts import (  # noqa: E402
    SALTS,
    TRACE_SALTS,
    elements_mg_l,
    salt_named,
    solution_of_salts,
    too_much_to_dissolve,
)
from rounds.science.saturation import saturation_indices, would_throw_down  # noqa: E402
from rounds.science.solution import Solution  # noqa: E402

YAMAZAKI_SALTS = ("potassium_nitrate", "calcium_nitrate_tetrahydrate", "magnesium_sulfate_heptahydrate",
                  "ammonium_dihydrogen_phosphate")  # fmt: skip


def feed_of(grams_m3: tuple[float, ...]) -> Solution:
    return solution_of_salts({salt: g / 1000.0 for salt, g in zip(YAMAZAKI_SALTS, grams_m3, strict=True)})


@pytest.mark.parametrize("element", list(ATOMIC_WEIGHTS))
def test_atomic_weights_are_those_of_another_library(element):
    assert ATOMIC_WEIGHTS[element] == pytest.approx(getattr(periodictable, element).mass, rel=5e-4)


@pytest.mark.parametrize("salt", [*SALTS.values(), *TRACE_SALTS.values()], ids=lambda s: s.name)
def test_molar_masses_are_those_of_another_library(salt):
    readable = salt.formula.replace(".", "//") if "(" not in salt.formula else salt.formula
    if "." in salt.formula:
        parts = salt.formula.split(".")
        expected = sum(_library_mass(part) for part in parts)
    else:
        expected = periodictable.formula(readable).mass
    assert molar_mass_g(salt.formula) == pytest.approx(expected, rel=2e-4)


def _library_mass(part: str) -> float:
    lead = len(part) - len(part.lstrip("0123456789"))
    return int(part[:lead] or 1) * periodictable.formula(part[lead:]).mass


def test_the_double_salt_weighs_what_the_crystal_handbook_prints():
    # Crystal handbook: 5Ca(NO3)2.NH4NO3.10H2O, 1080.622 g/mol.
    assert SALTS["calcium_nitrate_double_salt"].molar_mass_g == pytest.approx(1080.622, abs=0.02)


def test_the_two_calcium_nitrates_differ_by_a_tenth():
    # Common practice: 216 g per mol Ca for the granules, 236 for the tetrahydrate, about 1 % ammonium-N in the first.
    granules, pure = SALTS["calcium_nitrate_double_salt"], SALTS["calcium_nitrate_tetrahydrate"]
    assert 1000.0 / granules.per_gram.ca == pytest.approx(216.1, abs=0.2)
    assert 1000.0 / pure.per_gram.ca == pytest.approx(236.15, abs=0.1)
    assert granules.per_gram.nh4 * 14.007 / 10.0 == pytest.approx(1.3, abs=0.1)
    assert elements_mg_l(granules.per_gram)["N"] / 10.0 == pytest.approx(15.5, abs=0.1)  # bags: 15.5 % N


@pytest.mark.parametrize("salt", SALTS.values(), ids=lambda s: s.name)
def test_what_a_salt_brings_is_what_its_formula_holds(salt):
    atoms = count_atoms(salt.formula)
    brings = salt.brings
    assert brings.no3 + brings.nh4 == atoms.get("N", 0)
    for ion, element in (("po4", "P"), ("so4", "S"), ("cl", "Cl"), ("k", "K"), ("ca", "Ca"), ("mg", "Mg"), ("na", "Na"),
                         ("carbonate", "C")):  # fmt: skip
        assert getattr(brings, ion) == atoms.get(element, 0)


@pytest.mark.parametrize(
    ("grams_m3", "no3", "p", "k", "ca", "mg", "nh4"),
    [
        # H. Ikeda 1996, as printed by Takii Seed; Plant Factory Handbook 1997: g per 1000 L; me/L, P counted trivalent.
        ((404, 236, 123, 57), 6.0, 1.5, 4.0, 2.0, 1.0, 0.5),
        ((808, 944, 492, 152), 16.0, 4.0, 8.0, 8.0, 4.0, 1.3),
    ],
    ids=["lettuce", "all crops"],
)
def test_published_recipes_give_their_printed_milliequivalents(grams_m3, no3, p, k, ca, mg, nh4):
    feed = feed_of(grams_m3)
    found = (feed.no3, 3.0 * feed.po4, feed.k, 2.0 * feed.ca, 2.0 * feed.mg, feed.nh4)
    assert found == pytest.approx((no3, p, k, ca, mg, nh4), rel=0.02)


def test_hoagland_number_one_gives_its_printed_elements():
    # Hoagland and Arnon, Circular 347; D. R. Hershey 1997: mg/L N 210, P 31, K 235, Ca 200, Mg 48.6, S 64.
    feed = solution_of_salts({
        "potassium_nitrate": 5.0 * 0.101103, "calcium_nitrate_tetrahydrate": 5.0 * 0.236149,
        "potassium_dihydrogen_phosphate": 0.136086, "magnesium_sulfate_heptahydrate": 2.0 * 0.246475,
    })  # fmt: skip
    found = elements_mg_l(feed)
    printed = {"N": 210.0, "P": 31.0, "K": 235.0, "Ca": 200.0, "Mg": 48.6, "S": 64.0}
    assert {e: found[e] for e in printed} == pytest.approx(printed, rel=0.005)


@pytest.mark.parametrize(
    ("salt", "g_l", "mg_l"),
    # Same: micro stock, g/L, 1 mL per L. mg/L B 0.5, Mn 0.5, Zn 0.05, Cu 0.02, Mo 0.01.
    [("boric_acid", 2.86, 0.5), ("manganese_chloride_tetrahydrate", 1.81, 0.5),
     ("zinc_sulfate_heptahydrate", 0.22, 0.05),
     ("copper_sulfate_pentahydrate", 0.08, 0.02), ("molybdic_acid_85", 0.02, 0.01)],
)  # fmt: skip
def test_the_micro_stock_gives_its_printed_traces(salt, g_l, mg_l):
    assert TRACE_SALTS[salt].mg_per_g * g_l / 1000.0 == pytest.approx(mg_l, rel=0.15)


@pytest.mark.parametrize(
    ("salt", "g_l"),
    # Western Australia Dept of Agriculture, liquid fertiliser stock solutions, table 1, 20 degC.
    [("ammonium_nitrate", 1902), ("ammonium_sulfate", 750), ("calcium_nitrate_tetrahydrate", 1290),
     ("potassium_chloride", 340), ("potassium_nitrate", 316), ("potassium_sulfate", 111)],
)  # fmt: skip
def test_solubilities_are_those_printed(salt, g_l):
    assert SALTS[salt].solubility_g_l == g_l


def test_epsom_salt_dissolves_as_the_anhydrous_figure_says():
    # Same table: MgSO4 330 g/L, anhydrous basis. CRC (from memory): 1.13 kg of heptahydrate per kg of water, 20 degC.
    assert SALTS["magnesium_sulfate_heptahydrate"].solubility_g_l == pytest.approx(1080.0, rel=0.1)


def test_more_than_dissolves_is_named():
    assert too_much_to_dissolve({"potassium_sulfate": 150.0, "magnesium_sulfate_heptahydrate": 300.0}) == {
        "potassium_sulfate": pytest.approx(150.0 / 111.0)
    }


def test_a_bag_that_says_just_calcium_nitrate_is_asked_about():
    with pytest.raises(BadInput, match="Which calcium nitrate"):
        salt_named("calcium_nitrate")


@pytest.mark.parametrize("bad", [float("nan"), -1.0, float("inf"), 5000.0])
def test_absurd_grams_are_refused(bad):
    with pytest.raises(OutOfRange, match="potassium_nitrate"):
        solution_of_salts({"potassium_nitrate": bad})


@pytest.mark.parametrize("bad", ["KNO", "Xx2", "K(NO3", "", "kno3"])
def test_formulas_that_cannot_be_read_are_refused(bad):
    if bad == "KNO":
        assert count_atoms(bad) == {"K": 1, "N": 1, "O": 1}
        return
    with pytest.raises(BadInput):
        count_atoms(bad)


HOAGLAND = Solution(no3=15.0, k=6.0, ca=5.0, mg=2.0, so4=2.0, po4=1.0)


def test_saturation_agrees_with_the_engine(engine, waters):
    source = waters(21)
    for _ in range(30):
        solution, temperature_c, ph = source.reservoir(), source.temperature_c(), source.between(5.0, 8.0)
        ours = saturation_indices(solution, temperature_c, ph)
        theirs = engine.state(solution, temperature_c, ph)
        for mineral, index in ours.items():
            if index > -20.0:
                assert index == pytest.approx(theirs[f"si_{mineral}"], abs=0.02), (mineral, solution)


def test_one_tank_of_hoagland_throws_down_gypsum_at_seven_to_eight_times():
    # PHREEQC: at pH 5 gypsum saturates near 7-8 times strength; 100 times needs two tanks.
    strengths = [s / 10.0 for s in range(50, 120)]
    clear = [s for s in strengths if saturation_indices(HOAGLAND.scaled(s), 25.0, 5.0)["gypsum"] < 0.0]
    assert 7.0 <= max(clear) <= 8.5
    assert any("gypsum" in sentence for sentence in would_throw_down(HOAGLAND.scaled(100.0), 20.0, 5.0))


def test_calcium_and_phosphate_fall_out_on_hard_water_but_not_once_acid_is_in():
    hard = Solution(ca=3.0, mg=1.0, cl=2.0, carbonate=6.2)
    feed = feed_of((808, 944, 492, 152))
    assert any("calcium phosphate" in s for s in would_throw_down(hard.plus(feed), 20.0, 7.2))
    assert would_throw_down(hard.plus(feed), 20.0, 5.6) == []


def test_apart_the_two_concentrates_stay_clear():
    a = Solution(ca=500.0, no3=1000.0)
    b = Solution(k=300.0, mg=200.0, so4=200.0, po4=100.0, no3=200.0)
    assert would_throw_down(a, 20.0, 5.0) == []
    assert would_throw_down(b, 20.0, 5.0) == []
    assert would_throw_down(a.plus(b), 20.0, 5.0)


def test_pure_gypsum_dissolves_as_the_handbook_says():
    # CRC and soil texts (from memory): 2.4-2.6 g/L gypsum at 25 degC, 15 mmol/L.
    assert saturation_indices(Solution(ca=15.2, so4=15.2), 25.0)["gypsum"] == pytest.approx(0.0, abs=0.03)


def test_a_concentrate_is_beyond_the_activity_law():
    with pytest.raises(OutOfRange, match="beyond the activity law"):
        saturation_indices(HOAGLAND.scaled(200.0), 20.0, 5.0)
