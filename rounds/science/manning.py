"""Manning's flow in an open channel: its speed, and the depth that carries what is wanted."""

from __future__ import annotations

import math
from collections.abc import Callable

from rounds.errors import OutOfRange
from rounds.science.running_water import Wetted, check_run, within

SMOOTH_PLASTIC_N = 0.009
"""Manning's n of smooth plastic (Chow 1959 table 5-6 gives 0.009 to 0.010 for smooth walls; memory)."""


def manning_speed_m_s(hydraulic_radius_m: float, slope: float, roughness_n: float = SMOOTH_PLASTIC_N) -> float:
    """Mean speed of rough turbulent flow in an open channel.

    Parameters
    ----------
    hydraulic_radius_m : float
        Wetted area over wetted wall, 0 to 50. [m]
    slope : float
        Fall per length, 0.0001 to 1. [-]
    roughness_n : float
        Manning's n, 0.007 to 0.2. [s/m^(1/3)]

    Returns
    -------
    float
        Mean speed. [m/s]

    Raises
    ------
    OutOfRange
        Outside the ranges above.

    Examples
    --------
    >>> round(manning_speed_m_s(7.5 / 8, 0.003, 0.015), 3)
    3.498

    References
    ----------
    Manning 1891; worked example of V. M. Ponce, San Diego State University (3.498 m/s, 26.23 m3/s).
    """
    within(hydraulic_radius_m, 0, 50, "The hydraulic radius", "m")
    within(slope, 1e-4, 1, "The slope", "(fall per length)")
    within(roughness_n, 0.007, 0.2, "Manning's n", "s/m^(1/3)")
    return float(hydraulic_radius_m ** (2 / 3) * math.sqrt(slope) / roughness_n)


def manning_depth_m(
    flow_m3_s: float,
    section: Callable[[float], Wetted],
    deepest_m: float,
    slope: float,
    roughness_n: float = SMOOTH_PLASTIC_N,
) -> float:
    """Depth at which Manning's flow through a section is the wanted one.

    Parameters
    ----------
    flow_m3_s : float
        Flow, above 0 to 100. [m3/s]
    section : callable
        The wetted section at a depth in metres.
    deepest_m : float
        Greatest depth to look at: the channel's height, or 0.938 of a pipe's diameter. [m]
    slope : float
        Fall per length, 0.0001 to 1. [-]
    roughness_n : float
        Manning's n, 0.007 to 0.2. [s/m^(1/3)]

    Returns
    -------
    float
        Depth. [m]

    Raises
    ------
    OutOfRange
        Outside the ranges above, and where the section would run over.

    Examples
    --------
    >>> from functools import partial
    >>> from rounds.science.running_water import rectangle
    >>> round(manning_depth_m(1 / 60000, partial(rectangle, 0.1), 0.05, 0.01) * 1000, 2)
    1.29

    References
    ----------
    Manning 1891, solved by halving.
    """
    check_run(flow_m3_s, slope)

    def carries(depth_m: float) -> float:
        wetted = section(depth_m)
        return wetted.area_m2 * manning_speed_m_s(wetted.hydraulic_radius_m, slope, roughness_n)

    if not carries(deepest_m) >= flow_m3_s:
        raise OutOfRange(
            f"{flow_m3_s * 60000:.3g} L/min would fill this channel: it carries "
            f"{carries(deepest_m) * 60000:.3g} L/min.",
            "Less flow, more slope or a larger section is expected.",
        )
    low, high = 0.0, deepest_m
    for _ in range(36):
        middle = (low + high) / 2
        low, high = (middle, high) if carries(middle) < flow_m3_s else (low, middle)
    return (low + high) / 2
