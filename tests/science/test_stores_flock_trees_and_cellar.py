"""Tanks, hens, trees, ferments, probes, mixing and chlorine against printed figures. Sources stand beside each row."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest

from rounds.errors import BadInput, OutOfRange
from rounds.science.chlorine import bleach_ml, hypochlorous_share
from rounds.science.ferment import (
    alcohol_percent_balling,
    alcohol_percent_simple,
    balling_factor,
    free_so2_mg_l,
    gravity_corrected,
    plato_of_gravity,
    priming_sugar_g_l,
    residual_co2_volumes,
)
from rounds.science.hens import (
    change_share,
    feed_per_hen_g_d,
    hen_day_lay_percent,
    most_believable_eggs,
    usual_water_ml_d,
    water_per_hen_ml_d,
)
from rounds.science.probes import BUFFERS, buffer_ph, dip_error, judge_probe, nernst_slope_mv_ph
from rounds.science.trees import degree_days, irrigation_per_tree_l_d, maturity_index
from rounds.science.turnover import minutes_to_mix, mixed_share, turnover_min, turnovers_to_mix
from rounds.science.water import (
    box_volume_l,
    lying_cylinder_share,
    lying_cylinder_volume_l,
    oxygen_saturation_mg_l,
    rain_harvest_l,
    upright_cylinder_volume_l,
)


def test_a_lying_tank_dipped_to_sixteen_percent():
    # Engineering handbook: 16 % of the diameter is 10.3 % of the volume.
    assert lying_cylinder_share(0.16) == pytest.approx(0.103, abs=0.0005)


def test_a_lying_tank_is_half_full_at_half_dip_and_symmetric():
    assert lying_cylinder_share(0.5) == pytest.approx(0.5)
    for dip in (0.0, 0.05, 0.2, 0.37):
        assert lying_cylinder_share(dip) + lying_cylinder_share(1.0 - dip) == pytest.approx(1.0)


def test_a_lying_tank_holds_what_slices_add_up_to():
    # Arithmetic, independent of the formula: the segment summed in ten thousand level slices.
    radius, length, dip = 0.6, 2.2, 0.41
    slices = 10_000
    area = sum(
        2.0 * math.sqrt(radius**2 - (radius - dip * (i + 0.5) / slices) ** 2) * dip / slices for i in range(slices)
    )
    assert lying_cylinder_volume_l(2.0 * radius, length, dip) == pytest.approx(area * length * 1000.0, rel=1e-4)


def test_upright_tanks_and_rain_are_arithmetic():
    assert upright_cylinder_volume_l(1.2, 2.0, 0.75) == pytest.approx(math.pi * 0.36 * 750.0)
    assert box_volume_l(1.1, 0.7, 0.6, 0.6) == pytest.approx(462.0)
    # UNICEF: 1 mm of rain on 1 m2 is 1 L; 10-20 % lost is practice.
    assert rain_harvest_l(1.0, 1.0, 0.0) == 1.0
    assert 0.8 <= rain_harvest_l(1.0, 1.0) <= 0.9


@pytest.mark.parametrize(("temperature_c", "mg_l"), [(10.0, 11.3), (20.0, 9.09), (30.0, 7.56)])
def test_oxygen_at_saturation(temperature_c, mg_l):
    # EN 25814, 101.325 kPa (second-hand).
    assert oxygen_saturation_mg_l(temperature_c) == pytest.approx(mg_l, abs=0.02)


def test_hen_day_lay():
    # ILRI; IASRI: 27 eggs from 30 hens is 90 %.
    assert hen_day_lay_percent(27, 30, 1) == pytest.approx(90.0)
    assert hen_day_lay_percent(54, 30, 2) == pytest.approx(90.0)
    assert hen_day_lay_percent(0, 30, 1) == 0.0


def test_more_eggs_than_hens_can_lay_are_not_believed():
    # Common practice: up to 1.05 x hens x days.
    assert most_believable_eggs(20, 1) == 21
    assert most_believable_eggs(30, 2) == 63


def test_water_and_feed_of_a_flock():
    # Ontario Poultry Industry Council; Poultry CRC: 180-320 mL, 30-50 % more above 32 degC. Breed guides: 100-130 g.
    low, high = usual_water_ml_d(20.0)
    assert low <= water_per_hen_ml_d(7.5, 30, 1) <= high
    assert usual_water_ml_d(35.0) == pytest.approx((234.0, 480.0))
    assert 100.0 <= feed_per_hen_g_d(3.5, 30, 1) <= 130.0
    assert change_share(212.5, 250.0) == pytest.approx(-0.15)


def test_olives_are_judged_as_the_council_does():
    # International Olive Council method: sum of class x count / 100 fruit.
    assert maturity_index([0, 0, 0, 100, 0, 0, 0, 0]) == 3.0
    assert maturity_index([5, 10, 20, 30, 20, 10, 5, 0]) == pytest.approx(3.0)
    assert maturity_index([0, 0, 0, 0, 0, 0, 0, 7]) == 7.0


def test_water_for_a_tree():
    # Arithmetic: 5 mm x 0.65 x 30 m2 / 0.9 = 108.3 L/d; FAO-56 table 12: olive 0.65-0.70. Young: min(1, 2 x cover).
    assert irrigation_per_tree_l_d(5.0, 0.65, 30.0) == pytest.approx(108.33, abs=0.01)
    assert irrigation_per_tree_l_d(5.0, 0.65, 30.0, cover=0.2) == pytest.approx(0.4 * 108.33, abs=0.01)


@pytest.mark.parametrize(
    ("warmest", "coldest", "expected"), [(90.0, 65.0, 25.5), (72.0, 46.0, 11.0), (63.0, 42.0, 6.5)]
)
def test_degree_days_by_the_86_50_method(warmest, coldest, expected):
    # Extension column: 86/50 degF.
    assert degree_days(warmest, coldest, 50.0, 86.0) == pytest.approx(expected)


def test_alcohol_by_the_simple_rule():
    # Homebrew literature: 1.050 to 1.010 is 5.25 %.
    assert alcohol_percent_simple(1.050, 1.010) == pytest.approx(5.25)


def test_the_balling_factor_at_twelve_plato():
    # Balling's tables: 0.4187.
    assert balling_factor(12.0) == pytest.approx(0.4187, abs=0.00005)


def test_both_rules_for_alcohol_agree_for_ordinary_worts():
    for original, final in ((1.040, 1.010), (1.050, 1.012), (1.060, 1.014)):
        simple = alcohol_percent_simple(original, final)
        assert alcohol_percent_balling(original, final) == pytest.approx(simple, abs=0.2)


@pytest.mark.parametrize(("gravity", "plato"), [(1.000, 0.0), (1.040, 10.0), (1.048, 11.9), (1.083, 20.0)])
def test_plato_of_gravity(gravity, plato):
    # Sugar tables (from memory): 10 degP 1.0400, 12 degP 1.0484, 20 degP 1.0830.
    assert plato_of_gravity(gravity) == pytest.approx(plato, abs=0.06)


def test_a_warm_hydrometer_reading():
    # Hydrometer table: set for 15 degC, 1.040 read at 35 degC is 1.0451; water's own expansion is 0.0002 above it.
    assert gravity_corrected(1.040, 35.0, 15.0) == pytest.approx(1.0451, abs=0.0003)
    assert gravity_corrected(1.040, 20.0, 20.0) == 1.040


def test_gas_left_and_sugar_to_prime():
    # Priming tables: 0.88 volumes at 20 degC, 4 g/L of sugar per volume.
    assert residual_co2_volumes(20.0) == pytest.approx(0.88, abs=0.01)
    assert priming_sugar_g_l(1.88, 20.0) == pytest.approx(4.0, abs=0.05)
    assert priming_sugar_g_l(0.5, 5.0) == 0.0


def test_free_sulfite_for_a_wine():
    # Wine tables: 0.8 mg/L molecular at pH 3.4 needs 32 mg/L (pKa 1.81); another table uses 1.77.
    assert free_so2_mg_l(0.8, 3.4) == pytest.approx(32.0, abs=0.5)
    assert free_so2_mg_l(0.8, 3.4, 1.77) == pytest.approx(34.9, abs=0.1)


def test_the_ideal_slope():
    # Nernst: 59.16 mV/pH at 25 degC, 58.17 at 20 degC.
    assert nernst_slope_mv_ph(25.0) == pytest.approx(59.16, abs=0.005)
    assert nernst_slope_mv_ph(20.0) == pytest.approx(58.17, abs=0.005)


def test_probes_are_judged_as_the_course_note_does():
    # Meter course note: -15 mV in 7.01 and +160 in 4.01 is 58.3 mV/pH, 98.6 %, good; +15 and +160 is 81.7 %, bad.
    good, bad = judge_probe(-15.0, 7.01, 160.0, 4.01, 25.0), judge_probe(15.0, 7.01, 160.0, 4.01, 25.0)
    assert (good.slope_mv_ph, good.slope_percent) == pytest.approx((58.3, 98.6), abs=0.05)
    assert bad.slope_percent == pytest.approx(81.7, abs=0.05)
    assert (good.verdict, bad.verdict) == ("good", "bad")


def test_a_weak_probe_is_watched_and_a_shifted_one_bad():
    # Makers' lower limits differ, 85 to 95 % (four manuals): in between it is watched. Offset: practice.
    assert judge_probe(0.0, 7.0, 160.0, 4.0, 25.0).verdict == "watch"
    assert judge_probe(40.0, 7.0, 215.0, 4.0, 25.0).verdict == "bad"
    assert judge_probe(160.0, 4.0, 0.0, 7.0, 25.0).offset_mv == pytest.approx(0.0)


def test_technical_buffers_at_ten_degrees():
    # Instrument manual: 7.00 and 10.01 have 7.06 and 10.18 at 10 degC.
    assert buffer_ph("7.00", 10.0) == pytest.approx(7.06)
    assert buffer_ph("10.01", 10.0) == pytest.approx(10.18)
    assert dip_error(7.06, "7.00", 10.0) == pytest.approx(0.0)


@pytest.mark.parametrize("nominal", list(BUFFERS))
def test_a_buffer_has_its_name_at_25_degrees_and_no_jumps(nominal):
    assert buffer_ph(nominal, 25.0) == pytest.approx(float(nominal))
    found = [buffer_ph(nominal, 5.0 + 0.5 * i) for i in range(71)]
    assert all(abs(b - a) < 0.01 for a, b in pairwise(found))


def test_three_turnovers_mix_to_95_percent():
    # A stirred tank: 1 - exp(-3) = 0.950.
    assert turnovers_to_mix() == pytest.approx(3.0, abs=0.005)
    assert turnover_min(300.0, 15.0) == 20.0
    assert minutes_to_mix(300.0, 15.0) == pytest.approx(60.0, abs=0.1)
    assert mixed_share(minutes_to_mix(300.0, 15.0, 0.8), 300.0, 15.0) == pytest.approx(0.8)


def test_chlorine_works_in_acid_water_and_hardly_in_alkaline():
    # Water treatment texts: HOCl 91 % at pH 6.5, 10 % at 8.5.
    assert hypochlorous_share(6.5) == pytest.approx(0.91, abs=0.01)
    assert hypochlorous_share(8.5) == pytest.approx(0.10, abs=0.01)
    # Mass balance: 40 mL of 5 % hold 2 g, 200 mg/L in 10 L.
    assert bleach_ml(10.0, 200.0, 5.0) == pytest.approx(40.0)


@pytest.mark.parametrize("bad", [math.nan, math.inf, -1.0])
def test_what_cannot_be_is_refused_with_a_sentence(bad):
    for attempt in (
        lambda: lying_cylinder_volume_l(1.0, 2.0, bad),
        lambda: upright_cylinder_volume_l(bad, 2.0, 0.1),
        lambda: box_volume_l(1.0, 1.0, 1.0, bad),
        lambda: rain_harvest_l(bad, 10.0),
        lambda: oxygen_saturation_mg_l(bad),
        lambda: hen_day_lay_percent(10, bad, 1),
        lambda: hen_day_lay_percent(10, 10, bad),
        lambda: water_per_hen_ml_d(bad, 30, 1),
        lambda: maturity_index([bad, 0, 0, 0, 0, 0, 0, 1]),
        lambda: irrigation_per_tree_l_d(bad, 0.65, 30.0),
        lambda: alcohol_percent_simple(bad, 1.0),
        lambda: gravity_corrected(1.040, bad),
        lambda: residual_co2_volumes(bad),
        lambda: free_so2_mg_l(0.8, bad),
        lambda: nernst_slope_mv_ph(bad),
        lambda: judge_probe(0.0, 7.0, 170.0, 4.0, bad),
        lambda: minutes_to_mix(bad, 10.0),
        lambda: minutes_to_mix(100.0, bad),
        lambda: hypochlorous_share(bad),
        lambda: bleach_ml(bad, 200.0, 5.0),
    ):
        with pytest.raises(OutOfRange) as caught:
            attempt()
        assert "is not believable." in caught.value.sentence
        assert caught.value.hint.startswith("Expected")


def test_a_dip_above_the_tank_is_a_reading_of_something_else():
    with pytest.raises(OutOfRange, match=r"A dip of 1\.2 m"):
        lying_cylinder_volume_l(1.0, 2.0, 1.2)


def test_samples_and_buffers_that_say_nothing_are_refused():
    with pytest.raises(BadInput, match="no fruit"):
        maturity_index([0] * 8)
    with pytest.raises(BadInput, match="7 classes"):
        maturity_index([1] * 7)
    with pytest.raises(BadInput, match="too near"):
        judge_probe(0.0, 7.0, 5.0, 6.9, 25.0)
    with pytest.raises(BadInput, match="No table for a buffer"):
        buffer_ph("7", 25.0)
    with pytest.raises(OutOfRange, match="specific gravity of 1050"):
        alcohol_percent_simple(1050.0, 1010.0)
