"""Air, light and evaporation against FAO-56, psychrolib (ASHRAE) and arithmetic."""

from __future__ import annotations

import math

import pytest

psychrolib = pytest.importorskip("psychrolib")

from rounds.errors import OutOfRange  # noqa: E402
from rounds.science.air import (  # noqa: E402
    dew_point_c,
    humidity_from_wet_bulb_percent,
    saturation_vapour_pressure_kpa,
    vapour_pressure_kpa,
    vpd_kpa,
)
from rounds.science.evaporation import (  # noqa: E402
    WeatherDay,
    eto_hargreaves_mm_d,
    eto_penman_monteith_mm_d,
    wind_at_2m_m_s,
)
from rounds.science.light import (  # noqa: E402
    clear_sky_radiation_mj_m2_d,
    daily_light_integral_mol_m2,
    day_length_h,
    extraterrestrial_radiation_mj_m2_d,
)


@pytest.fixture(autouse=True)
def metric() -> None:
    psychrolib.SetUnitSystem(psychrolib.SI)


def test_saturation_pressure_of_the_worked_example():
    # FAO-56, example 3: 24.5 and 15 degC, 3.075 and 1.705 kPa, mean 2.39.
    found = [saturation_vapour_pressure_kpa(t) for t in (24.5, 15.0)]
    assert found == pytest.approx([3.075, 1.705], abs=0.001)
    assert sum(found) / 2.0 == pytest.approx(2.39, abs=0.005)


@pytest.mark.parametrize("temperature_c", [1.0, 8.0, 15.0, 24.5, 33.0, 42.0])
def test_saturation_pressure_is_that_of_ashrae(temperature_c):
    # psychrolib after ASHRAE Fundamentals (Hyland and Wexler); the FAO law is a fit and 0.3 % off at most here.
    expected = psychrolib.GetSatVapPres(temperature_c) / 1000.0
    assert saturation_vapour_pressure_kpa(temperature_c) == pytest.approx(expected, rel=0.003)


@pytest.mark.parametrize(
    ("temperature_c", "humidity"), [(5.0, 90.0), (12.0, 45.0), (20.0, 50.0), (28.0, 70.0), (35.0, 25.0)]
)
def test_dew_point_is_that_of_ashrae(temperature_c, humidity):
    expected = psychrolib.GetTDewPointFromRelHum(temperature_c, humidity / 100.0)
    assert dew_point_c(temperature_c, humidity) == pytest.approx(expected, abs=0.1)


@pytest.mark.parametrize(("dry_c", "wet_c"), [(25.0, 18.0), (20.0, 15.0), (30.0, 22.0), (12.0, 11.0)])
def test_a_fanned_wet_bulb_tells_the_humidity_of_ashrae(dry_c, wet_c):
    expected = psychrolib.GetRelHumFromTWetBulb(dry_c, wet_c, 101325.0) * 100.0
    assert humidity_from_wet_bulb_percent(dry_c, wet_c) == pytest.approx(expected, abs=1.0)


def test_the_psychrometer_of_the_worked_example():
    # FAO-56, example 4: 25.6 and 19.5 degC at 87.9 kPa: actual vapour pressure 1.91 kPa.
    humidity = humidity_from_wet_bulb_percent(25.6, 19.5, 87.9)
    assert vapour_pressure_kpa(25.6, humidity) == pytest.approx(1.91, abs=0.005)


def test_deficit_is_what_saturation_leaves_and_a_cold_leaf_gets_wet():
    assert vpd_kpa(25.0, 60.0) == pytest.approx(0.4 * psychrolib.GetSatVapPres(25.0) / 1000.0, rel=0.003)
    assert vpd_kpa(25.0, 100.0) == pytest.approx(0.0)
    dew = dew_point_c(22.0, 80.0)
    assert vpd_kpa(22.0, 80.0, dew) == pytest.approx(0.0, abs=1e-9)
    assert vpd_kpa(22.0, 80.0, dew - 2.0) < 0.0 < vpd_kpa(22.0, 80.0, dew + 2.0)


def test_radiation_above_the_air_of_the_worked_example():
    # FAO-56, example 8: latitude -20, day 246: 32.2 MJ/m2/d.
    assert extraterrestrial_radiation_mj_m2_d(-20.0, 246) == pytest.approx(32.2, abs=0.05)


@pytest.mark.parametrize(
    ("day", "mj"),
    # FAO-56, annex 2, table 2.6, mid-month days (from memory).
    [(15, 36.2), (74, 37.9)],
)
def test_radiation_at_the_equator(day, mj):
    assert extraterrestrial_radiation_mj_m2_d(0.0, day) == pytest.approx(mj, abs=0.3)


def test_day_length_of_the_worked_example_and_of_the_equinox():
    # FAO-56, example 9: latitude -20, day 246: 11.7 h. At an equinox every place has 12 h.
    assert day_length_h(-20.0, 246) == pytest.approx(11.7, abs=0.05)
    for latitude_deg in (-60.0, -20.0, 0.0, 45.0, 65.0):
        assert day_length_h(latitude_deg, 81) == pytest.approx(12.0, abs=0.1)


def test_the_poles_have_their_long_day_and_night():
    assert day_length_h(80.0, 172) == pytest.approx(24.0)
    assert day_length_h(80.0, 355) == 0.0
    assert extraterrestrial_radiation_mj_m2_d(80.0, 355) == pytest.approx(0.0, abs=1e-9)


def test_the_hemispheres_mirror_each_other_half_a_year_apart():
    assert day_length_h(45.0, 172) + day_length_h(-45.0, 172) == pytest.approx(24.0)


def test_clear_sky_radiation_of_the_worked_example():
    # FAO-56, example 18: Ra 41.09 at 100 m gives Rso 30.90 MJ/m2/d.
    assert clear_sky_radiation_mj_m2_d(41.09, 100.0) == pytest.approx(30.90, abs=0.01)


def test_light_of_a_day():
    # Arithmetic: 350 umol/m2/s for 12 h is 15.12 mol/m2.
    assert daily_light_integral_mol_m2(350.0, 12.0) == pytest.approx(15.12)


UCCLE = {
    "warmest_c": 21.5, "coldest_c": 12.3, "dampest_percent": 84.0, "driest_percent": 63.0,
    "wind_2m_m_s": 2.078, "radiation_mj_m2_d": 22.07, "altitude_m": 100.0, "latitude_deg": 50.8, "day_of_year": 187,
}  # fmt: skip


def test_penman_monteith_of_the_worked_example():
    # FAO-56, example 18, Uccle, 6 July: 3.9 mm/d (3.880); wind 2.78 m/s at 10 m is 2.078 at 2 m.
    assert wind_at_2m_m_s(2.78, 10.0) == pytest.approx(2.078, abs=0.002)
    assert eto_penman_monteith_mm_d(WeatherDay(**UCCLE)) == pytest.approx(3.880, abs=0.02)


def test_hargreaves_of_the_worked_example():
    # FAO-56, example 20, Lyon in July: 26.6 / 14.8 degC, Ra 40.6 MJ: 5.0 mm/d.
    assert eto_hargreaves_mm_d(26.6, 14.8, 45.72, 196) == pytest.approx(5.0, abs=0.05)


@pytest.mark.parametrize(
    ("change", "way"), [("warmest_c", 1), ("wind_2m_m_s", 1), ("radiation_mj_m2_d", 1), ("driest_percent", -1)]
)
def test_heat_wind_and_sun_dry_and_damp_air_does_not(change, way):
    usual = eto_penman_monteith_mm_d(WeatherDay(**UCCLE))
    more = eto_penman_monteith_mm_d(WeatherDay(**{**UCCLE, change: UCCLE[change] * 1.2}))
    assert (more - usual) * way > 0.0


@pytest.mark.parametrize("bad", [math.nan, math.inf, -200.0, 200.0])
def test_weather_no_one_has_met_is_refused(bad):
    for attempt in (
        lambda: saturation_vapour_pressure_kpa(bad),
        lambda: vapour_pressure_kpa(20.0, bad),
        lambda: dew_point_c(20.0, bad),
        lambda: day_length_h(bad, 100),
        lambda: eto_hargreaves_mm_d(bad, 10.0, 45.0, 100),
        lambda: eto_hargreaves_mm_d(20.0, 10.0, bad, 100),
        lambda: WeatherDay(**{**UCCLE, "warmest_c": bad}),
        lambda: wind_at_2m_m_s(bad, 10.0),
    ):
        with pytest.raises(OutOfRange) as caught:
            attempt()
        assert "is not believable." in caught.value.sentence
        assert caught.value.hint.startswith("Expected")


def test_a_night_warmer_than_the_day_is_refused():
    with pytest.raises(OutOfRange, match="lowest temperature"):
        WeatherDay(**{**UCCLE, "coldest_c": 25.0})
    with pytest.raises(OutOfRange, match="wet bulb"):
        humidity_from_wet_bulb_percent(20.0, 21.0)
