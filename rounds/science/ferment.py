"""Ferments: gravity, alcohol, gas and sulfite. CO2 from a ferment collects low and kills: air the room first."""

from __future__ import annotations

import math

from rounds.science.activity import water_density_kg_l
from rounds.science.constants import CO2_SOLUBILITY, log_k
from rounds.science.ranges import within

SO2_PKA = 1.81
"""First dissociation of sulfurous acid at 20-25 degC; other tables use 1.77: show which."""
SUGAR_G_L_PER_VOLUME = 4.0
"""Sugar that makes one volume of CO2: priming tables. [g/L]"""
MOLAR_VOLUME_L = 22.414


def alcohol_percent_simple(original: float, final: float) -> float:
    """Alcohol by volume from two gravities, good to some tenths up to 8 %. [% vol]

    Parameters
    ----------
    original, final : float
        Specific gravity before and after, 0.980-1.200; the final one is not above the original. [-]

    Raises
    ------
    OutOfRange
        Where a gravity is outside the range: `1050` for 1.050 among them.

    Examples
    --------
    >>> round(alcohol_percent_simple(1.050, 1.010), 2)
    5.25

    References
    ----------
    Homebrew literature: (OG - FG) x 131.25.
    """
    _gravity(original)
    within(final, 0.980, original, "A final gravity", "")
    return (original - final) * 131.25


def plato_of_gravity(gravity: float) -> float:
    """Extract in degrees Plato from specific gravity at 20 degC, 0.980-1.200. [degP]

    Examples
    --------
    >>> round(plato_of_gravity(1.048), 1)
    11.9

    References
    ----------
    Cubic fit to the sugar tables of Plato, as used by brewing chemists (from memory).
    """
    g = _gravity(gravity)
    return -616.868 + 1111.14 * g - 630.272 * g**2 + 135.997 * g**3


def balling_factor(original_plato: float) -> float:
    """Alcohol by mass per degree Plato of apparent attenuation, 0-30 degP. [%/degP]

    Examples
    --------
    >>> round(balling_factor(12.0), 4)
    0.4187

    References
    ----------
    C. J. N. Balling: alcohol = (P - real extract) / (2.0665 - 0.010665 P), attenuation quotient 1.22 + 0.001 P.
    """
    p = within(original_plato, 0.0, 30.0, "An original extract", "°P")
    return 1.0 / ((1.22 + 0.001 * p) * (2.0665 - 0.010665 * p))


def alcohol_percent_balling(original: float, final: float) -> float:
    """Alcohol by volume from two gravities after Balling. [% vol]

    Examples
    --------
    >>> round(alcohol_percent_balling(1.050, 1.010), 1)
    5.3
    """
    within(final, 0.980, _gravity(original), "A final gravity", "")
    fall = plato_of_gravity(original) - plato_of_gravity(final)
    by_mass = balling_factor(max(0.0, plato_of_gravity(original))) * fall
    return by_mass * final / 0.7907


def gravity_corrected(reading: float, temperature_c: float, set_for_c: float = 20.0) -> float:
    """A hydrometer's reading as it would be at the temperature it is set for.

    Parameters
    ----------
    reading : float
        Specific gravity read, 0.980-1.200. [-]
    temperature_c : float
        Temperature of the liquid, 0-50. [degC]
    set_for_c : float
        Temperature on the hydrometer, 10-25: often 15 or 20. [degC]

    Examples
    --------
    >>> round(gravity_corrected(1.040, 35.0, 15.0), 4)
    1.0453

    References
    ----------
    The liquid is taken to widen as water does; hydrometer tables differ from it by 0.0002.
    """
    within(set_for_c, 10.0, 25.0, "A hydrometer's temperature", "°C")
    within(temperature_c, 0.0, 50.0, "A ferment's temperature", "°C")
    return _gravity(reading) * water_density_kg_l(set_for_c) / water_density_kg_l(temperature_c)


def residual_co2_volumes(temperature_c: float) -> float:
    """CO2 that a finished, unpressed ferment still holds, by its highest temperature since, 0-40 degC. [volumes]

    Examples
    --------
    >>> round(residual_co2_volumes(20.0), 2)
    0.88

    References
    ----------
    Henry's law at 1 atm of CO2, with the constant of the water chemistry.
    """
    within(temperature_c, 0.0, 40.0, "A cellar temperature", "°C")
    return MOLAR_VOLUME_L * math.pow(10.0, log_k(CO2_SOLUBILITY, temperature_c))


def priming_sugar_g_l(wanted_volumes: float, highest_temperature_c: float) -> float:
    """Sugar per litre for a wanted carbonation, 0-5 volumes; 0 where it holds enough already. [g/L]

    Too much bursts bottles: prime only what has stood at the same gravity for two weeks.

    Examples
    --------
    >>> round(priming_sugar_g_l(2.4, 20.0), 1)
    6.1
    """
    wanted = within(wanted_volumes, 0.0, 5.0, "A carbonation", "volumes")
    return max(0.0, SUGAR_G_L_PER_VOLUME * (wanted - residual_co2_volumes(highest_temperature_c)))


def free_so2_mg_l(molecular_mg_l: float, ph: float, pka: float = SO2_PKA) -> float:
    """Free SO2 that gives a wanted molecular SO2. [mg/L]

    Parameters
    ----------
    molecular_mg_l : float
        Wanted molecular SO2, 0-2; 0.5-0.8 protects wine. [mg/L]
    ph : float
        pH, 2.5-4.5. [-]
    pka : float
        1.81, or 1.77 as other tables have it, 1.6-2.1. [-]

    Examples
    --------
    >>> round(free_so2_mg_l(0.8, 3.4))
    32
    """
    within(ph, 2.5, 4.5, "A pH of wine", "")
    share = 1.0 + math.pow(10.0, ph - within(pka, 1.6, 2.1, "A pKa", ""))
    return within(molecular_mg_l, 0.0, 2.0, "A molecular SO2", "mg/L") * share


def _gravity(gravity: float) -> float:
    return within(gravity, 0.980, 1.200, "A specific gravity", "")
