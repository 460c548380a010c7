"""Water running down an open channel: a film so thin that it is mostly laminar, where Manning reads too shallow."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from rounds.science.laminar_film import laminar_film_depth_m, laminar_round_depth_m
from rounds.science.manning import SMOOTH_PLASTIC_N, manning_depth_m, manning_speed_m_s
from rounds.science.running_water import Wetted, kinematic_viscosity_m2_s, partly_full_round, rectangle

__all__ = [
    "SMOOTH_PLASTIC_N",
    "Film",
    "film_in_rectangle",
    "film_in_round",
    "laminar_film_depth_m",
    "laminar_round_depth_m",
    "manning_depth_m",
    "manning_speed_m_s",
]

Regime = Literal["laminar", "transitional", "turbulent"]

LAMINAR_BELOW = 500.0
"""Reynolds number on the hydraulic radius below which open-channel flow is laminar (Chow 1959, ch. 1-3; memory)."""
TURBULENT_ABOVE = 2000.0
"""Reynolds number above which it is turbulent (Chow 1959, ch. 1-3; memory)."""
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
