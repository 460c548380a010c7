"""Moist air: vapour pressure, what it lacks to saturation, dew point."""

from __future__ import annotations

import math

from rounds.science.ranges import within


def saturation_vapour_pressure_kpa(temperature_c: float) -> float:
    """Vapour pressure of air that holds all it can, over water.

    Parameters
    ----------
    temperature_c : float
        Temperature, -40 to 60. [degC]

    Returns
    -------
    float
        Pressure. [kPa]

    Raises
    ------
    OutOfRange
        Where the temperature is outside the range.

    Examples
    --------
    >>> round(saturation_vapour_pressure_kpa(24.5), 3)
    3.075

    References
    ----------
    R. G. Allen et al., FAO Irrigation and Drainage Paper 56 (1998), equation 11.
    """
    t = within(temperature_c, -40.0, 60.0, "An air temperature", "°C")
    return 0.6108 * math.exp(17.27 * t / (t + 237.3))


def vapour_pressure_kpa(temperature_c: float, humidity_percent: float) -> float:
    """Vapour pressure of air of a relative humidity, 0-100 %. [kPa]

    Examples
    --------
    >>> round(vapour_pressure_kpa(24.5, 50.0), 3)
    1.537
    """
    share = within(humidity_percent, 0.0, 100.0, "A relative humidity", "%") / 100.0
    return saturation_vapour_pressure_kpa(temperature_c) * share


def vpd_kpa(temperature_c: float, humidity_percent: float, leaf_temperature_c: float | None = None) -> float:
    """Vapour pressure deficit: how much the air (or the leaf, where its temperature is given) lacks. [kPa]

    Parameters
    ----------
    temperature_c : float
        Air temperature, -40 to 60. [degC]
    humidity_percent : float
        Relative humidity, 0-100. [%]
    leaf_temperature_c : float, optional
        Leaf temperature; below the dew point the deficit is negative and the leaf wet. [degC]

    Examples
    --------
    >>> round(vpd_kpa(25.0, 60.0), 2)
    1.27
    """
    surface_c = temperature_c if leaf_temperature_c is None else leaf_temperature_c
    return saturation_vapour_pressure_kpa(surface_c) - vapour_pressure_kpa(temperature_c, humidity_percent)


def dew_point_c(temperature_c: float, humidity_percent: float) -> float:
    """Temperature at which this air begins to wet a surface; the reverse of the pressure law. [degC]

    Parameters
    ----------
    temperature_c : float
        Air temperature, -40 to 60. [degC]
    humidity_percent : float
        Relative humidity, 1-100. [%]

    Examples
    --------
    >>> round(dew_point_c(20.0, 50.0), 1)
    9.3
    """
    within(humidity_percent, 1.0, 100.0, "A relative humidity", "%")
    ratio = math.log(vapour_pressure_kpa(temperature_c, humidity_percent) / 0.6108)
    return 237.3 * ratio / (17.27 - ratio)


def humidity_from_wet_bulb_percent(dry_c: float, wet_c: float, pressure_kpa: float = 101.325) -> float:
    """Relative humidity from a fanned wet and dry bulb thermometer. [%]

    Parameters
    ----------
    dry_c, wet_c : float
        Readings, -5 to 60; the wet one is never the warmer. [degC]
    pressure_kpa : float
        Air pressure, 60-110. [kPa]

    Examples
    --------
    >>> round(humidity_from_wet_bulb_percent(25.6, 19.5))
    57

    References
    ----------
    FAO-56, equations 15 and 16, ventilated psychrometer.
    """
    within(wet_c, -5.0, within(dry_c, -5.0, 60.0, "A dry bulb", "°C"), "A wet bulb", "°C")
    within(pressure_kpa, 60.0, 110.0, "An air pressure", "kPa")
    actual = saturation_vapour_pressure_kpa(wet_c) - 0.000662 * pressure_kpa * (dry_c - wet_c)
    return max(0.0, 100.0 * actual / saturation_vapour_pressure_kpa(dry_c))
