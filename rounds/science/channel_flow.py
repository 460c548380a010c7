"""Water running down an open channel: a film so thin that it is mostly laminar, where Manning reads too shallow."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from rounds.errors import OutOfRange
from rounds.science.running_water import (
    GRAVITY_M_S2,
    Wetted,
    kinematic_viscosity_m2_s,
    partly_full_round,
    rectangle,
    within,
)

Regime = Literal["laminar", "transitional", "turbulent"]

LAMINAR_BELOW = 500.0
"""Reynolds number on the hydraulic radius below which open-channel flow is laminar (Chow 1959, ch. 1-3; memory)."""
TURBULENT_ABOVE = 2000.0
"""Reynolds number above which it is turbulent (Chow 1959, ch. 1-3; memory)."""
SMOOTH_PLASTIC_N = 0.009
"""Manning's n of smooth plastic (Chow 1959 table 5-6 gives 0.009 to 0.010 for smooth walls; memory)."""
FULLEST_OPEN_RUN = 0.938
"""Depth over diameter at which an open round pipe carries most (Chow 1959, fig. 6-5; memory)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Film:
    """The water in a channel that runs evenly: how deep, how fast, and in which regime."""

    depth_m: float
    """Depth at the lowest point of the section. [m]"""
    speed_m_s: float
    area_m2: float
    reynolds: float
    """Flow over wetted wall and viscosity: the Reynolds number on the hydraulic radius. [-]"""
    regime: Regime


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
    _check_run(flow_m3_s, slope)
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
    _check_run(flow_m3_s, slope)
    within(diameter_m, 0.01, 5, "The diameter", "m")
    pull = GRAVITY_M_S2 * slope / (3 * kinematic_viscosity_m2_s(temperature_c))
    depth = float((flow_m3_s / (pull * 32 / 35 * math.sqrt(diameter_m))) ** (2 / 7))
    if not depth <= diameter_m / 4:
        raise OutOfRange(
            f"A laminar film of {depth * 1000:.1f} mm is too deep for this formula in a {diameter_m * 1000:g} mm pipe.",
            "A film below a quarter of the diameter is expected.",
        )
    return depth


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
    >>> round(manning_depth_m(1 / 60000, partial(rectangle, 0.1), 0.05, 0.01) * 1000, 2)
    1.29

    References
    ----------
    Manning 1891, solved by halving.
    """
    _check_run(flow_m3_s, slope)

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


def film_in_rectangle(
    flow_m3_s: float,
    width_m: float,
    height_m: float,
    slope: float,
    temperature_c: float = 20.0,
    roughness_n: float = SMOOTH_PLASTIC_N,
) -> Film:
    """Film in an open rectangular channel by the formula of the regime that holds.

    Laminar below a Reynolds number of 500 (on the hydraulic radius), turbulent above 2000; between them the deeper of
    the two answers. A bare channel: roots make it several times deeper.

    Parameters
    ----------
    flow_m3_s : float
        Flow, above 0 to 100. [m3/s]
    width_m, height_m : float
        Inner width (0.01 to 10) and height. [m]
    slope : float
        Fall per length, 0.0001 to 1. [-]
    temperature_c : float
        Water temperature, 0 to 60. [degC]
    roughness_n : float
        Manning's n. [s/m^(1/3)]

    Returns
    -------
    Film
        Depth, speed, Reynolds number and regime.

    Raises
    ------
    OutOfRange
        Outside the ranges above, and where the channel would run over.

    Examples
    --------
    >>> film_in_rectangle(1 / 60000, 0.1, 0.05, 0.01).regime
    'laminar'

    References
    ----------
    Nusselt 1916; Manning 1891; limits of Chow, Open-Channel Hydraulics (1959), 1-3 (memory).
    """

    def laminar() -> float:
        return laminar_film_depth_m(flow_m3_s, width_m, slope, temperature_c)

    def section(depth_m: float) -> Wetted:
        return rectangle(width_m, depth_m)

    def turbulent() -> float:
        return manning_depth_m(flow_m3_s, section, height_m, slope, roughness_n)

    return _film(flow_m3_s, section, laminar, turbulent, temperature_c)


def film_in_round(
    flow_m3_s: float,
    diameter_m: float,
    slope: float,
    temperature_c: float = 20.0,
    roughness_n: float = SMOOTH_PLASTIC_N,
) -> Film:
    """Film at the bottom of a lying round pipe by the formula of the regime that holds.

    Parameters
    ----------
    flow_m3_s : float
        Flow, above 0 to 100. [m3/s]
    diameter_m : float
        Inner diameter, 0.01 to 5. [m]
    slope : float
        Fall per length, 0.0001 to 1. [-]
    temperature_c : float
        Water temperature, 0 to 60. [degC]
    roughness_n : float
        Manning's n. [s/m^(1/3)]

    Returns
    -------
    Film
        Depth at the lowest point, speed, Reynolds number and regime.

    Raises
    ------
    OutOfRange
        Outside the ranges above, and where the pipe would run full.

    Examples
    --------
    >>> film_in_round(2 / 60000, 0.1, 0.025).regime
    'transitional'

    References
    ----------
    As `film_in_rectangle`; a pipe carries most at 0.938 of its diameter (Chow 1959; memory).
    """

    def laminar() -> float:
        return laminar_round_depth_m(flow_m3_s, diameter_m, slope, temperature_c)

    def section(depth_m: float) -> Wetted:
        return partly_full_round(diameter_m, depth_m)

    def turbulent() -> float:
        return manning_depth_m(flow_m3_s, section, FULLEST_OPEN_RUN * diameter_m, slope, roughness_n)

    return _film(flow_m3_s, section, laminar, turbulent, temperature_c)


def _film(
    flow_m3_s: float,
    section: Callable[[float], Wetted],
    laminar: Callable[[], float],
    turbulent: Callable[[], float],
    temperature_c: float,
) -> Film:
    viscosity = kinematic_viscosity_m2_s(temperature_c)
    rough_depth = turbulent()
    rough = flow_m3_s / section(rough_depth).perimeter_m / viscosity
    if rough > TURBULENT_ABOVE:
        return _described(flow_m3_s, section(rough_depth), rough_depth, viscosity)
    depth = laminar()
    smooth = flow_m3_s / section(depth).perimeter_m / viscosity
    if smooth >= LAMINAR_BELOW:
        depth = max(depth, rough_depth)
    return _described(flow_m3_s, section(depth), depth, viscosity)


def _described(flow_m3_s: float, wetted: Wetted, depth_m: float, viscosity_m2_s: float) -> Film:
    reynolds = flow_m3_s / wetted.perimeter_m / viscosity_m2_s
    regime: Regime = "turbulent" if reynolds > TURBULENT_ABOVE else "transitional"
    if reynolds < LAMINAR_BELOW:
        regime = "laminar"
    speed = flow_m3_s / wetted.area_m2
    return Film(depth_m=depth_m, speed_m_s=speed, area_m2=wetted.area_m2, reynolds=reynolds, regime=regime)


def _check_run(flow_m3_s: float, slope: float) -> None:
    within(flow_m3_s, 1e-9, 100, "The flow", "m3/s")
    within(slope, 1e-4, 1, "The slope", "(fall per length)")
