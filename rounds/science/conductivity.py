"""Electrical conductivity from the ions, and back and forth between temperatures and the scales of meters.

References
----------
R. B. McCleskey, D. K. Nordstrom, J. N. Ryan, J. W. Ball, Geochim. Cosmochim. Acta 77 (2012) 369: molar conductivity of
each ion as (a0 + a1 T + a2 T²) - (b0 + b1 T + b2 T²) sqrt(I) / (1 + B sqrt(I)), T in degC, I in mol/L (coefficients from
memory; checked against the limiting values of the CRC Handbook and against printed KCl standards).
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from rounds.errors import BadInput, OutOfRange
from rounds.science.activity import checked_temperature
from rounds.science.equilibrium import Equilibrium
from rounds.science.solution import Solution
from rounds.science.speciation import checked_ph

_Ion = tuple[tuple[float, float, float], tuple[float, float, float], float]

_IONS: Mapping[str, _Ion] = {
    "K+": ((40.70, 1.261, 0.003046), (22.59, 0.9316, 0.00535), 1.5),
    "Na+": ((26.23, 0.877, 0.003763), (32.07, 1.141, 0.00027), 1.7),
    "NH4+": ((39.04, 1.285, 0.003341), (11.19, 0.6070, 0.00132), 0.3),
    "Ca+2": ((62.28, 1.984, 0.009645), (132.3, 2.334, 0.03174), 2.8),
    "Mg+2": ((57.16, 1.695, 0.01068), (80.5, 1.915, 0.02453), 2.1),
    "H+": ((224.2, 5.355, -0.01414), (39.32, 1.842, -0.00918), 0.3),
    "Cl-": ((40.99, 1.337, 0.003817), (22.01, 0.9469, 0.00613), 1.5),
    "NO3-": ((39.90, 1.214, 0.001925), (23.31, 0.5619, 0.00118), 0.1),
    "SO4-2": ((82.37, 2.838, 0.01037), (193.5, 5.889, 0.03324), 2.6),
    "HCO3-": ((21.14, 0.9048, 0.000614), (10.97, 0.8957, -0.00503), 0.1),
    "CO3-2": ((64.03, 2.998, -0.000326), (120.2, 5.542, -0.00181), 2.3),
}
"""[S cm²/mol]"""

KCL_PERCENT_PER_C = 1.91


def _molar(ion: _Ion, ionic_strength_m: float, temperature_c: float) -> float:
    (a0, a1, a2), (b0, b1, b2), size = ion
    t, root = temperature_c, math.sqrt(ionic_strength_m)
    return a0 + a1 * t + a2 * t * t - (b0 + b1 * t + b2 * t * t) * root / (1.0 + size * root)


def ec_ms_cm(solution: Solution, temperature_c: float, ph: float | None = None) -> float:
    """Conductivity at the solution's own temperature, uncompensated. [mS/cm]

    Parameters
    ----------
    solution : Solution
        Totals. [mmol/L]
    temperature_c : float
        Temperature, 0-50. [degC]
    ph : float, optional
        pH where known; the solution's own where left out. [-]
    """
    equilibrium = Equilibrium(solution, checked_temperature(temperature_c))
    equilibrium.settle(equilibrium.balance() if ph is None else checked_ph(ph))
    return _summed(equilibrium.amounts_m(), solution, equilibrium.ionic_strength_m, temperature_c)


def ec25_ms_cm(solution: Solution, ph: float | None = None, temperature_c: float = 25.0) -> float:
    """Conductivity at 25 degC, as a compensating meter shows it. [mS/cm]

    Parameters
    ----------
    solution : Solution
        Totals. [mmol/L]
    ph : float, optional
        pH where known; the solution's own at 25 degC where left out. [-]
    temperature_c : float
        Temperature at which the pH was read. It moves the result by less than 0.1 % and is accepted so that callers
        can pass what they have; the conductivity is always that at 25 degC. [degC]

    Examples
    --------
    >>> round(ec25_ms_cm(Solution(k=10.0, cl=10.0)), 2)
    1.42
    """
    checked_temperature(temperature_c)
    return ec_ms_cm(solution, 25.0, ph)


def _summed(amounts_m: Mapping[str, float], solution: Solution, strength_m: float, temperature_c: float) -> float:
    strong = {"NO3-": solution.no3, "Cl-": solution.cl}
    known = {**amounts_m, **{name: mmol / 1000.0 for name, mmol in strong.items()}}
    return sum(known.get(n, 0.0) * _molar(ion, strength_m, temperature_c) for n, ion in _IONS.items())


def compensated_ec25_ms_cm(
    ec_at_t_ms_cm: float, temperature_c: float, percent_per_c: float = KCL_PERCENT_PER_C
) -> float:
    """Linear compensation to 25 degC: EC25 = EC / (1 + a (T - 25)). [mS/cm]

    Parameters
    ----------
    ec_at_t_ms_cm : float
        Reading without compensation, 0-100. [mS/cm]
    temperature_c : float
        Temperature of the reading, 0-50. [degC]
    percent_per_c : float
        Coefficient, 0-5; 1.91 in Standard Methods, 2.0 in many meters. [%/degC]

    Examples
    --------
    >>> round(compensated_ec25_ms_cm(1.278, 20.0), 3)
    1.413

    References
    ----------
    Standard Methods for the Examination of Water and Wastewater, 2510 B.
    """
    return _checked_ec(ec_at_t_ms_cm) / _linear(temperature_c, percent_per_c)


def uncompensated_ec_ms_cm(ec25: float, temperature_c: float, percent_per_c: float = KCL_PERCENT_PER_C) -> float:
    """The reading a meter without compensation shows, from EC at 25 degC: the reverse of the above. [mS/cm]"""
    return _checked_ec(ec25) * _linear(temperature_c, percent_per_c)


def _linear(temperature_c: float, percent_per_c: float) -> float:
    if not 0.0 <= percent_per_c <= 5.0:
        raise OutOfRange(f"A compensation of {percent_per_c} %/°C is not believable.", "Expected 0 to 5.")
    return 1.0 + percent_per_c / 100.0 * (checked_temperature(temperature_c) - 25.0)


def _checked_ec(ec_ms_cm: float) -> float:
    if not 0.0 <= ec_ms_cm <= 100.0:
        raise OutOfRange(f"A conductivity of {ec_ms_cm} mS/cm is not believable.", "Expected 0 to 100 mS/cm.")
    return ec_ms_cm


SCALES: Mapping[str, float] = {"ms_cm": 1.0, "us_cm": 1000.0, "ds_m": 1.0, "cf": 10.0, "ppm500": 500.0, "ppm700": 700.0}
"""Reading per mS/cm on each scale: common practice of the makers of meters, no standard stands behind ppm and CF."""


def from_scale(reading: float, scale: str) -> float:
    """mS/cm from a reading on another scale.

    Examples
    --------
    >>> from_scale(980, "ppm700")
    1.4
    """
    return _checked_ec(reading / _scale(scale))


def to_scale(ec: float, scale: str) -> float:
    """A conductivity in mS/cm as another scale shows it.

    Examples
    --------
    >>> to_scale(1.4, "ppm500")
    700.0
    """
    return _checked_ec(ec) * _scale(scale)


def _scale(scale: str) -> float:
    if scale not in SCALES:
        raise BadInput(f"'{scale}' is no scale of conductivity.", f"Expected one of {', '.join(SCALES)}.")
    return SCALES[scale]
