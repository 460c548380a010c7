"""Water pushed through full pipes: which regime holds, and the head that friction and fittings take."""

from __future__ import annotations

import math

from rounds.science.running_water import GRAVITY_M_S2, kinematic_viscosity_m2_s, within

LAMINAR_BELOW = 2040.0
"""Reynolds number in a pipe above which turbulence keeps itself up (Avila et al., Science 333 (2011) 192; memory)."""
PLASTIC_ROUGHNESS_M = 1.5e-6
"""Roughness of drawn plastic pipe (Moody 1944 drawn tubing; memory)."""


def reynolds(flow_m3_s: float, diameter_m: float, temperature_c: float = 20.0) -> float:
    """Reynolds number of a full round pipe.

    Parameters
    ----------
    flow_m3_s : float
        Flow, 0 to 100. [m3/s]
    diameter_m : float
        Inner diameter, 0.0005 to 5. [m]
    temperature_c : float
        Water temperature, 0 to 60. [degC]

    Returns
    -------
    float
        Speed times diameter over kinematic viscosity. [-]

    Raises
    ------
    OutOfRange
        Outside the ranges above.

    Examples
    --------
    >>> round(reynolds(10 / 60000, 0.02), -2)
    10600.0

    References
    ----------
    Definition.
    """
    return speed_m_s(flow_m3_s, diameter_m) * diameter_m / kinematic_viscosity_m2_s(temperature_c)


def speed_m_s(flow_m3_s: float, diameter_m: float) -> float:
    """Mean speed in a full round pipe.

    Parameters
    ----------
    flow_m3_s : float
        Flow, 0 to 100. [m3/s]
    diameter_m : float
        Inner diameter, 0.0005 to 5. [m]

    Returns
    -------
    float
        Flow over area. [m/s]

    Raises
    ------
    OutOfRange
        Outside the ranges above.

    Examples
    --------
    >>> round(speed_m_s(10 / 60000, 0.02), 3)
    0.531

    References
    ----------
    Geometry.
    """
    within(flow_m3_s, 0, 100, "The flow", "m3/s")
    within(diameter_m, 0.0005, 5, "The pipe's inner diameter", "m")
    return 4 * flow_m3_s / (math.pi * diameter_m**2)


def friction_factor(reynolds_number: float, relative_roughness: float = 0.0) -> float:
    """Darcy friction factor: 64/Re while laminar, Serghides' explicit form of Colebrook-White above.

    Between 2040 and 4000 the flow may be either: the turbulent, larger value is given, the safe side for a pump.

    Parameters
    ----------
    reynolds_number : float
        Above 0 to 1e9. [-]
    relative_roughness : float
        Roughness over diameter, 0 to 0.05. [-]

    Returns
    -------
    float
        Darcy factor (four times Fanning's). [-]

    Raises
    ------
    OutOfRange
        Outside the ranges above.

    Examples
    --------
    >>> friction_factor(1000)
    0.064

    References
    ----------
    Serghides, Chem. Eng. 91 (1984) 63 (memory); within 0.01 % of Colebrook-White.
    """
    within(reynolds_number, 1e-9, 1e9, "The Reynolds number", "")
    within(relative_roughness, 0, 0.05, "The roughness over the diameter", "")
    if reynolds_number < LAMINAR_BELOW:
        return 64 / reynolds_number
    rough = relative_roughness / 3.7
    first = -2 * math.log10(rough + 12 / reynolds_number)
    second = -2 * math.log10(rough + 2.51 * first / reynolds_number)
    third = -2 * math.log10(rough + 2.51 * second / reynolds_number)
    if abs(third - 2 * second + first) < 1e-12:
        return third**-2
    return float((first - (second - first) ** 2 / (third - 2 * second + first)) ** -2)


def pipe_loss_m(
    flow_m3_s: float,
    diameter_m: float,
    length_m: float,
    fittings_k: float = 0.0,
    temperature_c: float = 20.0,
    roughness_m: float = PLASTIC_ROUGHNESS_M,
) -> float:
    """Head lost along a full round pipe and in its fittings (Darcy-Weisbach with a sum of K).

    Parameters
    ----------
    flow_m3_s : float
        Flow, 0 to 100. [m3/s]
    diameter_m : float
        Inner diameter, 0.0005 to 5. [m]
    length_m : float
        Length of pipe, 0 to 10000. [m]
    fittings_k : float
        Sum of the loss coefficients of bends, tees, valves and the outlet, 0 to 10000. [-]
    temperature_c : float
        Water temperature, 0 to 60. [degC]
    roughness_m : float
        Wall roughness. [m]

    Returns
    -------
    float
        Head. [m]

    Raises
    ------
    OutOfRange
        Outside the ranges above.

    Examples
    --------
    >>> round(pipe_loss_m(10 / 60000, 0.02, 10), 3)
    0.219

    References
    ----------
    Darcy-Weisbach; K from Crane TP-410 where it is used (memory).
    """
    within(length_m, 0, 10000, "The pipe length", "m")
    within(fittings_k, 0, 10000, "The sum of fitting losses", "")
    if flow_m3_s == 0:
        return 0.0
    speed = speed_m_s(flow_m3_s, diameter_m)
    factor = friction_factor(reynolds(flow_m3_s, diameter_m, temperature_c), roughness_m / diameter_m)
    return (factor * length_m / diameter_m + fittings_k) * speed**2 / (2 * GRAVITY_M_S2)
