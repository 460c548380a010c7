"""Electrical conductivity from the ions, and back and forth between temperatures and the scales of meters."""

from __future__ import annotations

from collections.abc import Mapping

from rounds.errors import BadInput, OutOfRange
from rounds.science.activity import checked_temperature
from rounds.science.equilibrium import Equilibrium
from rounds.science.mobility import conductivity_ms_cm, water_viscosity_mpa_s
from rounds.science.solution import Solution
from rounds.science.speciation import checked_ph

KCL_PERCENT_PER_C = 1.91


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
    return conductivity_ms_cm(_carriers(equilibrium, solution), equilibrium.ionic_strength_m, temperature_c)


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
    1.41
    """
    checked_temperature(temperature_c)
    return ec_ms_cm(solution, 25.0, ph)


def _carriers(equilibrium: Equilibrium, solution: Solution) -> dict[str, float]:
    found = equilibrium.amounts_m()
    found["NO3-"], found["Cl-"] = solution.no3 / 1000.0, solution.cl / 1000.0
    found["inert+" if solution.inert_meq_l > 0.0 else "inert-"] = abs(solution.inert_meq_l) / 1000.0
    return found


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


def iso_7888_factor(temperature_c: float) -> float:
    """Factor that turns the conductivity of a natural water (0.06-1 mS/cm) into that at 25 degC, 0-35 degC. [-]

    Examples
    --------
    >>> round(iso_7888_factor(20.0), 3)
    1.116

    References
    ----------
    ISO 7888 / EN 27888: 1.116 [(1 - a) + a (viscosity ratio to 20 degC)^n]; a and n from memory, checked at three rows.
    """
    if not 0.0 <= temperature_c <= 35.0:
        raise OutOfRange(f"ISO 7888 does not cover {temperature_c} °C.", "Expected 0 to 35 °C.")
    ratio = water_viscosity_mpa_s(temperature_c) / water_viscosity_mpa_s(20.0)
    return float(1.116 * (0.037856 + 0.962144 * ratio**0.965078))


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
