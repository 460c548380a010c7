"""How much a bed or an orchard drinks: reference evapotranspiration."""

from __future__ import annotations

import math
from dataclasses import dataclass

from rounds.science.air import saturation_vapour_pressure_kpa
from rounds.science.light import clear_sky_radiation_mj_m2_d, extraterrestrial_radiation_mj_m2_d
from rounds.science.ranges import within

MM_PER_MJ = 0.408
"""Water evaporated by a MJ, per square metre: 1 / 2.45. [mm]"""
STEFAN_BOLTZMANN = 4.903e-9
"""[MJ/(K4 m2 d)]"""
ALBEDO = 0.23


@dataclass(frozen=True, slots=True, kw_only=True)
class WeatherDay:
    """One day's weather at one place, as an amateur station gives it."""

    warmest_c: float
    coldest_c: float
    dampest_percent: float
    driest_percent: float
    wind_2m_m_s: float
    radiation_mj_m2_d: float
    """Sun's energy on level ground. [MJ/(m2 d)]"""
    altitude_m: float
    latitude_deg: float
    day_of_year: int

    def __post_init__(self) -> None:
        within(self.warmest_c, -40.0, 60.0, "A day's highest temperature", "°C")
        within(self.coldest_c, -40.0, self.warmest_c, "A day's lowest temperature", "°C")
        within(self.dampest_percent, 0.0, 100.0, "A relative humidity", "%")
        within(self.driest_percent, 0.0, self.dampest_percent, "A day's lowest relative humidity", "%")
        within(self.wind_2m_m_s, 0.0, 50.0, "A wind", "m/s")
        within(self.radiation_mj_m2_d, 0.0, 45.0, "A day's radiation", "MJ/(m2 d)")
        within(self.altitude_m, -500.0, 5000.0, "An altitude", "m")


def wind_at_2m_m_s(wind_m_s: float, height_m: float) -> float:
    """Wind at 2 m from that measured at another height over short grass, 0.5-100 m. [m/s]

    Examples
    --------
    >>> round(wind_at_2m_m_s(2.78, 10.0), 2)
    2.08

    References
    ----------
    FAO-56, equation 47.
    """
    within(wind_m_s, 0.0, 50.0, "A wind", "m/s")
    within(height_m, 0.5, 100.0, "A height of the wind vane", "m")
    return wind_m_s * 4.87 / math.log(67.8 * height_m - 5.42)


def eto_penman_monteith_mm_d(day: WeatherDay) -> float:
    """Reference evapotranspiration of short grass.

    Parameters
    ----------
    day : WeatherDay
        One day's weather.

    Returns
    -------
    float
        Water, 0 or more. [mm/d]

    Examples
    --------
    >>> uccle = WeatherDay(warmest_c=21.5, coldest_c=12.3, dampest_percent=84.0, driest_percent=63.0,
    ...     wind_2m_m_s=wind_at_2m_m_s(2.78, 10.0), radiation_mj_m2_d=22.07, altitude_m=100.0,
    ...     latitude_deg=50.8, day_of_year=187)
    >>> round(eto_penman_monteith_mm_d(uccle), 1)
    3.9

    References
    ----------
    FAO-56, equation 6.
    """
    mean_c = (day.warmest_c + day.coldest_c) / 2.0
    slope = 4098.0 * saturation_vapour_pressure_kpa(mean_c) / (mean_c + 237.3) ** 2
    gamma = 0.665e-3 * _pressure_kpa(day.altitude_m)
    saturated = (saturation_vapour_pressure_kpa(day.warmest_c) + saturation_vapour_pressure_kpa(day.coldest_c)) / 2.0
    actual = _actual_vapour_kpa(day)
    sunned = MM_PER_MJ * slope * _net_radiation(day, actual)
    blown = gamma * 900.0 / (mean_c + 273.0) * day.wind_2m_m_s * (saturated - actual)
    return max(0.0, (sunned + blown) / (slope + gamma * (1.0 + 0.34 * day.wind_2m_m_s)))


def eto_hargreaves_mm_d(warmest_c: float, coldest_c: float, latitude_deg: float, day_of_year: int) -> float:
    """Reference evapotranspiration where only temperatures are known; good to some 20 % over a week. [mm/d]

    Parameters
    ----------
    warmest_c, coldest_c : float
        The day's temperatures, -40 to 60. [degC]
    latitude_deg : float
        Latitude, -90 to 90. [deg]
    day_of_year : int
        1 to 366. [-]

    Examples
    --------
    >>> round(eto_hargreaves_mm_d(26.6, 14.8, 45.7, 196), 1)
    5.0

    References
    ----------
    FAO-56, equation 52, with the radiation in mm/d (0.408 times that in MJ).
    """
    within(warmest_c, -40.0, 60.0, "A day's highest temperature", "°C")
    within(coldest_c, -40.0, warmest_c, "A day's lowest temperature", "°C")
    above_air_mm = MM_PER_MJ * extraterrestrial_radiation_mj_m2_d(latitude_deg, day_of_year)
    mean_c = (warmest_c + coldest_c) / 2.0
    return max(0.0, 0.0023 * (mean_c + 17.8) * math.sqrt(warmest_c - coldest_c) * above_air_mm)


def _pressure_kpa(altitude_m: float) -> float:
    return 101.3 * math.pow((293.0 - 0.0065 * altitude_m) / 293.0, 5.26)


def _actual_vapour_kpa(day: WeatherDay) -> float:
    damp = saturation_vapour_pressure_kpa(day.coldest_c) * day.dampest_percent
    dry = saturation_vapour_pressure_kpa(day.warmest_c) * day.driest_percent
    return (damp + dry) / 200.0


def _net_radiation(day: WeatherDay, actual_kpa: float) -> float:
    """What stays: sun less what is reflected and what the ground gives off. FAO-56, equations 38-40. [MJ/(m2 d)]"""
    above = extraterrestrial_radiation_mj_m2_d(day.latitude_deg, day.day_of_year)
    clear = max(clear_sky_radiation_mj_m2_d(above, day.altitude_m), 0.1)
    kelvin4 = ((day.warmest_c + 273.16) ** 4 + (day.coldest_c + 273.16) ** 4) / 2.0
    cloud = 1.35 * min(1.0, day.radiation_mj_m2_d / clear) - 0.35
    lost = STEFAN_BOLTZMANN * kelvin4 * (0.34 - 0.14 * math.sqrt(actual_kpa)) * cloud
    return (1.0 - ALBEDO) * day.radiation_mj_m2_d - lost
