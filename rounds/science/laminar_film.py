"""A film so thin that it runs in layers, after Nusselt: on a flat floor and at the bottom of a lying pipe."""

from __future__ import annotations

import math

from rounds.errors import OutOfRange
from rounds.science.running_water import GRAVITY_M_S2, check_run, kinematic_viscosity_m2_s, within


def laminar_film_depth_m(flow_m3_s: float, width_m: float, slope: float, temperature_c: float = 20.0) -> float:
    """Depth of a laminar film on a wide flat floor (Nusselt).

    Parameters
    ----------
    flow_m3_s : float
        Flow, above 0 to 100. [m3/s]
    width_m : float
        Width of the floor, 0.01 to 10. [m]
    slope : float
        Fall per length along the channel, 0.0001 to 1. [-]
    temperature_c : float
        Water temperature, 0 to 60. [degC]

    Returns
    -------
    float
        Film depth. The side walls are left out: they make it deeper by 0.2 × depth / width at most. [m]

    Raises
    ------
    OutOfRange
        Outside the ranges above.

    Examples
    --------
    >>> round(laminar_film_depth_m(1 / 60000, 0.1, 0.01) * 1000, 2)
    1.72

    References
    ----------
    Nusselt, Z. VDI 60 (1916) 541; Bird, Stewart and Lightfoot, Transport Phenomena, 2.2 (memory).
    """
    check_run(flow_m3_s, slope)
    within(width_m, 0.01, 10, "The width of the floor", "m")
    per_width = flow_m3_s / width_m
    return float((3 * kinematic_viscosity_m2_s(temperature_c) * per_width / (GRAVITY_M_S2 * slope)) ** (1 / 3))


def laminar_round_depth_m(flow_m3_s: float, diameter_m: float, slope: float, temperature_c: float = 20.0) -> float:
    """Depth of a laminar film at the bottom of a lying round pipe.

    Each strip of the film runs as Nusselt's film of its own depth: the flow is g S / (3 nu) times the sum of depth³
    over the width. The wall is taken as a parabola, which holds to 3 % of depth up to a quarter of the diameter.

    Parameters
    ----------
    flow_m3_s : float
        Flow, above 0 to 100. [m3/s]
    diameter_m : float
        Inner diameter, 0.01 to 5. [m]
    slope : float
        Fall per length along the pipe, 0.0001 to 1. [-]
    temperature_c : float
        Water temperature, 0 to 60. [degC]

    Returns
    -------
    float
        Depth at the lowest point. [m]

    Raises
    ------
    OutOfRange
        Outside the ranges above, and where the film would reach a quarter of the diameter.

    Examples
    --------
    >>> round(laminar_round_depth_m(1 / 60000, 0.1, 0.01) * 1000, 2)
    3.16

    References
    ----------
    Nusselt's film summed over the segment (lubrication approximation); no table known.
    """
    check_run(flow_m3_s, slope)
    within(diameter_m, 0.01, 5, "The diameter", "m")
    pull = GRAVITY_M_S2 * slope / (3 * kinematic_viscosity_m2_s(temperature_c))
    depth = float((flow_m3_s / (pull * 32 / 35 * math.sqrt(diameter_m))) ** (2 / 7))
    if not depth <= diameter_m / 4:
        raise OutOfRange(
            f"A laminar film of {depth * 1000:.1f} mm is too deep for this formula in a {diameter_m * 1000:g} mm pipe.",
            "A film below a quarter of the diameter is expected.",
        )
    return depth
