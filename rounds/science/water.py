"""Water in store: what a dip stick says of a tank, what a roof brings, what oxygen water holds."""

from __future__ import annotations

import math

from rounds.science.evaporation import WeatherDay, eto_hargreaves_mm_d, eto_penman_monteith_mm_d, wind_at_2m_m_s
from rounds.science.ranges import within

__all__ = [
    "WeatherDay", "box_volume_l", "eto_hargreaves_mm_d", "eto_penman_monteith_mm_d", "lying_cylinder_share",
    "lying_cylinder_volume_l", "oxygen_saturation_mg_l", "rain_harvest_l", "upright_cylinder_volume_l",
    "wind_at_2m_m_s",
]  # fmt: skip

LARGEST_M = 50.0


def lying_cylinder_share(dip_share: float) -> float:
    """Share of its volume that a lying cylinder holds, dipped to a share of its diameter, 0-1. [-]

    Examples
    --------
    >>> round(lying_cylinder_share(0.16), 3)
    0.103

    References
    ----------
    Area of a segment of a circle; geometry.
    """
    within(dip_share, 0.0, 1.0, "A dip as a share of the diameter", "")
    half_angle = math.acos(1.0 - 2.0 * dip_share)
    return (half_angle - math.sin(half_angle) * math.cos(half_angle)) / math.pi


def lying_cylinder_volume_l(diameter_m: float, length_m: float, dip_m: float) -> float:
    """Litres in a lying cylinder with flat ends, by dip. [L]

    Parameters
    ----------
    diameter_m, length_m : float
        Inner measures, 0.01-50. [m]
    dip_m : float
        Depth of water at the lowest point, 0 up to the diameter. [m]

    Raises
    ------
    OutOfRange
        Where a measure is outside its range: a dip above the diameter is a reading of something else.

    Examples
    --------
    >>> round(lying_cylinder_volume_l(1.0, 2.0, 0.5))
    785
    """
    _check(diameter_m, length_m)
    within(dip_m, 0.0, diameter_m, "A dip", "m")
    return math.pi / 4.0 * diameter_m**2 * length_m * 1000.0 * lying_cylinder_share(dip_m / diameter_m)


def upright_cylinder_volume_l(diameter_m: float, height_m: float, dip_m: float) -> float:
    """Litres in an upright cylinder, by dip up to its height. [L]

    Examples
    --------
    >>> round(upright_cylinder_volume_l(1.0, 1.5, 1.0))
    785
    """
    _check(diameter_m, height_m)
    return math.pi / 4.0 * diameter_m**2 * within(dip_m, 0.0, height_m, "A dip", "m") * 1000.0


def box_volume_l(length_m: float, width_m: float, height_m: float, dip_m: float) -> float:
    """Litres in a box with upright walls, by dip up to its height. [L]

    Examples
    --------
    >>> box_volume_l(1.0, 0.5, 0.5, 0.25)
    125.0
    """
    _check(length_m, width_m, height_m)
    return length_m * width_m * within(dip_m, 0.0, height_m, "A dip", "m") * 1000.0


def rain_harvest_l(rain_mm: float, roof_m2: float, lost_percent: float = 15.0) -> float:
    """Rain that a roof brings to the tank. [L]

    Parameters
    ----------
    rain_mm : float
        Rain, 0-1000. [mm]
    roof_m2 : float
        Roof as seen from above, 0-100 000. [m2]
    lost_percent : float
        Lost to splash, wetting and the first flush, 0-100; 10-20 is common practice. [%]

    Examples
    --------
    >>> rain_harvest_l(10.0, 50.0, 20.0)
    400.0

    References
    ----------
    1 mm on 1 m2 is 1 L.
    """
    within(rain_mm, 0.0, 1000.0, "A rainfall", "mm")
    within(roof_m2, 0.0, 100_000.0, "A roof", "m2")
    return rain_mm * roof_m2 * (1.0 - within(lost_percent, 0.0, 100.0, "A loss", "%") / 100.0)


def oxygen_saturation_mg_l(temperature_c: float, pressure_kpa: float = 101.325) -> float:
    """Oxygen that water in touch with air holds, 0-40 degC, 60-110 kPa. [mg/L]

    Examples
    --------
    >>> round(oxygen_saturation_mg_l(20.0), 2)
    9.09

    References
    ----------
    B. B. Benson, D. Krause, Limnol. Oceanogr. 29 (1984) 620, as in Standard Methods 4500-O (from memory); pressure in
    proportion, vapour left out.
    """
    k = within(temperature_c, 0.0, 40.0, "A water temperature", "°C") + 273.15
    log = -139.34411 + 1.575701e5 / k - 6.642308e7 / k**2 + 1.243800e10 / k**3 - 8.621949e11 / k**4
    return math.exp(log) * within(pressure_kpa, 60.0, 110.0, "An air pressure", "kPa") / 101.325


def _check(*measures_m: float) -> None:
    for measure in measures_m:
        within(measure, 0.01, LARGEST_M, "A tank's measure", "m")
