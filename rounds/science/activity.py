"""How much of a dissolved ion acts: activity coefficients in dilute salt solutions, and the water they depend on."""

from __future__ import annotations

import math
from functools import lru_cache

from rounds.errors import OutOfRange

KELVIN = 273.15
COLDEST_C, HOTTEST_C = 0.0, 50.0


def checked_temperature(temperature_c: float) -> float:
    """The temperature, if liquid water and the constants here allow it (0-50 degC). [degC]"""
    if not COLDEST_C <= temperature_c <= HOTTEST_C:
        raise OutOfRange(
            f"A solution at {temperature_c} °C is outside what the chemistry here covers.",
            f"Expected {COLDEST_C:g} to {HOTTEST_C:g} °C.",
        )
    return temperature_c


def water_density_kg_l(temperature_c: float) -> float:
    """Density of pure water, 0-50 degC. [kg/L]

    Examples
    --------
    >>> round(water_density_kg_l(20.0), 4)
    0.9982

    References
    ----------
    G. S. Kell, J. Chem. Eng. Data 20 (1975) 97, equation 16 (coefficients from memory, checked at 4, 20 and 25 degC).
    """
    t = checked_temperature(temperature_c)
    top = 999.83952 + t * (
        16.945176 + t * (-7.9870401e-3 + t * (-46.170461e-6 + t * (105.56302e-9 - 280.54253e-12 * t)))
    )
    return top / (1.0 + 16.879850e-3 * t) / 1000.0


def water_permittivity(temperature_c: float) -> float:
    """Relative permittivity of water, 0-50 degC. [-]

    Examples
    --------
    >>> round(water_permittivity(25.0), 1)
    78.3

    References
    ----------
    C. G. Malmberg, A. A. Maryott, J. Res. NBS 56 (1956) 1 (coefficients from memory).
    """
    t = checked_temperature(temperature_c)
    return 87.740 - 0.40008 * t + 9.398e-4 * t**2 - 1.410e-6 * t**3


@lru_cache(maxsize=1024)
def debye_hueckel(temperature_c: float) -> tuple[float, float]:
    """The two constants of the Debye-Hückel law, A [(L/mol)^0.5] and B [(L/mol)^0.5 per ångström].

    Examples
    --------
    >>> [round(x, 3) for x in debye_hueckel(25.0)]
    [0.511, 0.329]

    References
    ----------
    A. H. Truesdell, B. F. Jones, J. Res. USGS 2 (1974) 233.
    """
    scale = water_permittivity(temperature_c) * (temperature_c + KELVIN)
    root = math.sqrt(water_density_kg_l(temperature_c))
    return 1.82483e6 * root / scale**1.5, 50.2916 * root / math.sqrt(scale)


def log_gamma_davies(charge: int, ionic_strength_m: float, temperature_c: float = 25.0) -> float:
    """Logarithm (base 10) of the activity coefficient by Davies, for any ion. [-]

    Parameters
    ----------
    charge : int
        Charge of the ion. [-]
    ionic_strength_m : float
        Ionic strength, 0-1; a law for up to 0.5, a rough guide beyond. [mol/L]
    temperature_c : float
        Temperature, 0-50. [degC]

    Raises
    ------
    OutOfRange
        Where the ionic strength or temperature is outside the range.

    Examples
    --------
    >>> round(10 ** log_gamma_davies(1, 0.1), 2)
    0.78

    References
    ----------
    C. W. Davies, Ion Association (1962); uncharged species 0.1 I as in USGS PHREEQC.
    """
    if not 0.0 <= ionic_strength_m <= 1.0:
        raise OutOfRange(f"An ionic strength of {ionic_strength_m} mol/L is beyond the Davies law.", "Expected 0 to 1.")
    if charge == 0:
        return 0.1 * ionic_strength_m
    a, _ = debye_hueckel(temperature_c)
    root = math.sqrt(ionic_strength_m)
    return -a * charge**2 * (root / (1.0 + root) - 0.3 * ionic_strength_m)
