"""Conductivity, its scales and its compensation against printed figures. Sources stand beside each row."""

from __future__ import annotations

import pytest

from rounds.errors import BadInput, OutOfRange
from rounds.science.activity import water_density_kg_l
from rounds.science.conductivity import (
    compensated_ec25_ms_cm,
    ec25_ms_cm,
    ec_ms_cm,
    from_scale,
    iso_7888_factor,
    to_scale,
    uncompensated_ec_ms_cm,
)
from rounds.science.mobility import IONS, water_viscosity_mpa_s
from rounds.science.salts import solution_of_salts
from rounds.science.solution import Solution

HOAGLAND = Solution(no3=15.0, k=6.0, ca=5.0, mg=2.0, so4=2.0, po4=1.0)


@pytest.mark.parametrize(("temperature_c", "us_cm"), [(25.0, 1408.23), (20.0, 1273.03), (10.0, 1013.95)])
def test_hundredth_molal_potassium_chloride_reads_as_certified(temperature_c, us_cm):
    # CRC Handbook 5-73 after Y. C. Wu et al., NIST: 0.01 mol/kg.
    mmol_l = 10.0 * water_density_kg_l(temperature_c)
    assert ec_ms_cm(Solution(k=mmol_l, cl=mmol_l), temperature_c) * 1000.0 == pytest.approx(us_cm, rel=0.02)


def test_the_instrument_standard_reads_1413():
    # Instrument standard: 0.01 mol/L KCl at 25 degC, 1413 uS/cm.
    assert ec25_ms_cm(Solution(k=10.0, cl=10.0)) == pytest.approx(1.413, rel=0.005)


@pytest.mark.parametrize(
    ("ions", "meq_l", "equivalent"),
    [
        # Equivalent conductivity of electrolytes at 25 degC, CRC Handbook (Vanysek), from memory. [S cm2/eq]
        ({"k": 1, "cl": 1}, 1, 146.88), ({"k": 1, "cl": 1}, 10, 141.20), ({"k": 1, "cl": 1}, 50, 133.30),
        ({"na": 1, "cl": 1}, 1, 123.68), ({"na": 1, "cl": 1}, 10, 118.45), ({"na": 1, "cl": 1}, 50, 111.01),
        ({"nh4": 1, "cl": 1}, 10, 141.21), ({"nh4": 1, "cl": 1}, 20, 138.25),
        ({"k": 1, "no3": 1}, 1, 141.77), ({"k": 1, "no3": 1}, 20, 132.34), ({"k": 1, "no3": 1}, 50, 126.25),
        ({"ca": 0.5, "cl": 1}, 1, 130.30), ({"ca": 0.5, "cl": 1}, 10, 120.30), ({"ca": 0.5, "cl": 1}, 50, 108.42),
        ({"mg": 0.5, "cl": 1}, 1, 124.05), ({"mg": 0.5, "cl": 1}, 10, 114.49), ({"mg": 0.5, "cl": 1}, 50, 103.03),
        ({"na": 1, "so4": 0.5}, 1, 124.09), ({"na": 1, "so4": 0.5}, 10, 112.38), ({"na": 1, "so4": 0.5}, 20, 106.73),
        ({"k": 1, "carbonate": 1}, 1, 115.28), ({"k": 1, "carbonate": 1}, 10, 110.03),
    ],
)  # fmt: skip
def test_single_salts_conduct_as_the_handbook_says(ions, meq_l, equivalent):
    ec = ec25_ms_cm(Solution(**{ion: n * meq_l for ion, n in ions.items()}))
    assert ec * 1000.0 / meq_l == pytest.approx(equivalent, rel=0.025)


@pytest.mark.parametrize("ions", [{"mg": 0.5, "so4": 0.5}, {"ca": 0.5, "so4": 0.5}, {"k": 1.0, "so4": 0.5}])
@pytest.mark.parametrize("meq_l", [1.0, 3.0, 10.0])
def test_sulfates_whose_ions_pair_conduct_as_the_engine_says(engine, ions, meq_l):
    # PHREEQC keeps to measured conductivities for single salts, also of divalent pairs.
    salt = Solution(**{ion: n * meq_l for ion, n in ions.items()})
    assert ec25_ms_cm(salt) * 1000.0 == pytest.approx(engine.state(salt, 25.0)["sc_us_cm"], rel=0.02)


@pytest.mark.parametrize(
    ("ion", "limiting"),
    # CRC Handbook (Vanysek): read for K, NH4, Ca, Mg, H; the rest from memory. [S cm2/eq]
    [("K+", 73.48), ("NH4+", 73.5), ("Ca+2", 59.47), ("Mg+2", 53.0), ("H+", 349.65), ("Na+", 50.08), ("NO3-", 71.42),
     ("Cl-", 76.31), ("SO4-2", 80.0), ("HCO3-", 44.5), ("H2PO4-", 36.0)],
)  # fmt: skip
def test_limiting_conductivities_are_those_of_the_handbook(ion, limiting):
    assert IONS[ion].limiting == limiting


def test_hoagland_number_one_reads_2_16():
    # PHREEQC: 2.16 mS/cm at pH 5.8 (computed elsewhere); 2.0-2.2 from memory.
    assert ec25_ms_cm(HOAGLAND, 5.8) == pytest.approx(2.16, rel=0.02)


@pytest.mark.parametrize("strength", [0.1, 0.25, 0.5, 1.0, 1.5])
def test_the_sum_of_cations_is_about_ten_times_the_conductivity(strength):
    # USDA Agriculture Handbook 60 (second-hand): mmolc/L about 10 x EC in mS/cm, 0.1-5 mS/cm.
    cations = (6.0 + 2.0 * 5.0 + 2.0 * 2.0) * strength
    assert cations / ec25_ms_cm(HOAGLAND.scaled(strength), 6.0) == pytest.approx(10.0, rel=0.25)


@pytest.mark.parametrize(
    ("name", "grams_m3", "ec"),
    [
        # H. Ikeda 1996 as printed by Takii Seed gives the recipes; their strengths of about 1.0 and 2.4 mS/cm are
        # common knowledge of the trade (from memory), hence the wide tolerance.
        ("lettuce", (404, 236, 123, 57), 1.0),
        ("all crops", (808, 944, 492, 152), 2.4),
    ],
)
def test_published_recipes_have_their_usual_conductivity(name, grams_m3, ec):
    salts = ("potassium_nitrate", "calcium_nitrate_tetrahydrate", "magnesium_sulfate_heptahydrate",
             "ammonium_dihydrogen_phosphate")  # fmt: skip
    feed = solution_of_salts({salt: grams / 1000.0 for salt, grams in zip(salts, grams_m3, strict=True)})
    assert ec25_ms_cm(feed) == pytest.approx(ec, rel=0.12)


def test_linear_compensation_is_that_of_standard_methods():
    # Standard Methods 2510 B: EC25 = EC / (1 + 0.0191 (T - 25)).
    assert compensated_ec25_ms_cm(1.0, 15.0) == pytest.approx(1.0 / (1.0 - 0.191))
    assert uncompensated_ec_ms_cm(compensated_ec25_ms_cm(1.7, 12.0), 12.0) == pytest.approx(1.7)


@pytest.mark.parametrize(("temperature_c", "factor"), [(10.0, 1.428), (20.0, 1.116), (30.0, 0.903)])
def test_the_factor_of_iso_7888(temperature_c, factor):
    assert iso_7888_factor(temperature_c) == pytest.approx(factor, rel=0.0015)


@pytest.mark.parametrize("temperature_c", [5.0, 12.0, 18.0, 22.0, 30.0])
def test_a_feed_warms_by_about_two_percent_per_degree(temperature_c, engine):
    # Standard Methods 2510 B and makers of meters: 1.9-2.0 % of the value at 25 degC per degree; PHREEQC says the rest.
    ratio = ec_ms_cm(HOAGLAND, temperature_c) / ec_ms_cm(HOAGLAND, 25.0)
    engines = [engine.state(HOAGLAND, t)["sc_us_cm"] for t in (temperature_c, 25.0)]
    assert (1.0 - ratio) / (25.0 - temperature_c) == pytest.approx(0.0195, abs=0.0025)
    assert ratio == pytest.approx(engines[0] / engines[1], rel=0.005)


@pytest.mark.parametrize(
    "ions", [{"cl": 3.0}, {"na": 3.0, "cl": 3.0}, {"na": 3.0, "so4": 1.5}, {"na": 3.0, "no3": 3.0}]
)
def test_every_ion_warms_as_the_engine_says(engine, ions):
    # PHREEQC: single salts, and hydrochloric acid for the hydrogen ion, at 10 degC against 25.
    salt = Solution(**ions)
    engines = engine.state(salt, 10.0)["sc_us_cm"] / engine.state(salt, 25.0)["sc_us_cm"]
    assert ec_ms_cm(salt, 10.0) / ec_ms_cm(salt, 25.0) == pytest.approx(engines, rel=0.012)


def test_the_makers_scales():
    # Common practice: 1.40 mS/cm is 700 on one scale and 980 on the other, CF 14.
    assert to_scale(1.40, "ppm500") == pytest.approx(700.0)
    assert to_scale(1.40, "ppm700") == pytest.approx(980.0)
    assert to_scale(1.40, "cf") == pytest.approx(14.0)
    assert from_scale(1400.0, "us_cm") == pytest.approx(1.40)


@pytest.mark.parametrize(
    ("temperature_c", "mpa_s"),
    # IAPWS R12-08 / CRC Handbook (from memory).
    [(0.0, 1.792), (10.0, 1.306), (20.0, 1.002), (25.0, 0.890), (30.0, 0.797), (40.0, 0.653)],
)
def test_the_viscosity_of_water(temperature_c, mpa_s):
    assert water_viscosity_mpa_s(temperature_c) == pytest.approx(mpa_s, rel=0.004)


@pytest.mark.parametrize("bad", [float("nan"), float("inf"), -0.1, 101.0])
def test_a_conductivity_no_meter_shows_is_refused(bad):
    with pytest.raises(OutOfRange, match="mS/cm is not believable"):
        to_scale(bad, "cf")
    with pytest.raises(OutOfRange):
        compensated_ec25_ms_cm(bad, 20.0)


def test_an_unknown_scale_is_refused_with_those_there_are():
    with pytest.raises(BadInput, match="ppm500"):
        from_scale(700.0, "ppm")


def test_adding_salt_raises_and_adding_water_lowers_the_conductivity():
    values = [ec25_ms_cm(HOAGLAND.scaled(s), 6.0) for s in (0.0, 0.2, 0.5, 1.0, 2.0)]
    assert values == sorted(values)
    assert values[0] < 0.001
