"""Day length, the sun above the air, and the light of a day."""

from __future__ import annotations

import math

from rounds.science.ranges import within

SOLAR_CONSTANT_MJ_M2_MIN = 0.0820


def declination_rad(day_of_year: int) -> float:
    """Height of the sun over the equator. FAO-56, equation 24. [rad]"""
    within(day_of_year, 1, 366, "A day of the year", "")
    return 0.409 * math.sin(2.0 * math.pi * day_of_year / 365.0 - 1.39)


def sunset_angle_rad(latitude_deg: float, day_of_year: int) -> float:
    """Half the day as an angle of the sun, 0 in polar night and pi in polar day. FAO-56, equation 25. [rad]"""
    latitude = math.radians(within(latitude_deg, -90.0, 90.0, "A latitude", "°"))
    cosine = -math.tan(latitude) * math.tan(declination_rad(day_of_year))
    return math.acos(max(-1.0, min(1.0, cosine)))


def day_length_h(latitude_deg: float, day_of_year: int) -> float:
    """Hours with the sun's centre above the horizon; sunrise to sunset as almanacs print is 7-10 minutes longer.

    Parameters
    ----------
    latitude_deg : float
        Latitude, -90 to 90, north positive. [deg]
    day_of_year : int
        1 to 366. [-]

    Returns
    -------
    float
        Day length. [h]

    Raises
    ------
    OutOfRange
        Where latitude or day is outside the range.

    Examples
    --------
    >>> round(day_length_h(-20.0, 246), 1)
    11.7

    References
    ----------
    FAO-56, equation 34.
    """
    return 24.0 / math.pi * sunset_angle_rad(latitude_deg, day_of_year)


def extraterrestrial_radiation_mj_m2_d(latitude_deg: float, day_of_year: int) -> float:
    """Sun's energy on a level square metre above the air, in a day. [MJ/(m2 d)]

    Parameters
    ----------
    latitude_deg : float
        Latitude, -90 to 90, north positive. [deg]
    day_of_year : int
        1 to 366. [-]

    Examples
    --------
    >>> round(extraterrestrial_radiation_mj_m2_d(-20.0, 246), 1)
    32.2

    References
    ----------
    FAO-56, equations 21 and 23.
    """
    sunset, latitude, sun = (
        sunset_angle_rad(latitude_deg, day_of_year),
        math.radians(latitude_deg),
        declination_rad(day_of_year),
    )
    nearer = 1.0 + 0.033 * math.cos(2.0 * math.pi * day_of_year / 365.0)
    upright = sunset * math.sin(latitude) * math.sin(sun)
    slanting = math.cos(latitude) * math.cos(sun) * math.sin(sunset)
    return 24.0 * 60.0 / math.pi * SOLAR_CONSTANT_MJ_M2_MIN * nearer * (upright + slanting)


def clear_sky_radiation_mj_m2_d(extraterrestrial_mj_m2_d: float, altitude_m: float) -> float:
    """What of it reaches the ground under a clear sky, -500 to 5000 m. FAO-56, equation 37. [MJ/(m2 d)]"""
    within(altitude_m, -500.0, 5000.0, "An altitude", "m")
    return (0.75 + 2e-5 * altitude_m) * within(extraterrestrial_mj_m2_d, 0.0, 50.0, "A radiation", "MJ/(m2 d)")


def daily_light_integral_mol_m2(ppfd_umol_m2_s: float, hours: float) -> float:
    """Light that plants can use, over a day of steady light. [mol/m2]

    Parameters
    ----------
    ppfd_umol_m2_s : float
        Photon flux, 400-700 nm, 0-3000. [umol/(m2 s)]
    hours : float
        Hours of it, 0-24. [h]

    Examples
    --------
    >>> daily_light_integral_mol_m2(350.0, 12.0)
    15.12
    """
    flux = within(ppfd_umol_m2_s, 0.0, 3000.0, "A photon flux", "umol/(m2 s)")
    return flux * within(hours, 0.0, 24.0, "A day", "h") * 3600.0 / 1e6
