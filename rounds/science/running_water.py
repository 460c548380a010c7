"""What running water needs everywhere: its viscosity, the pull of gravity, and the shape of a wetted section."""

from __future__ import annotations

import math
from dataclasses import dataclass

from rounds.errors import OutOfRange

GRAVITY_M_S2 = 9.80665
"""Standard gravity. [m/s2] CGPM 1901."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wetted:
    """The part of a section that water fills: its area, the wall it touches, and the width of its surface."""

    area_m2: float
    perimeter_m: float
    surface_m: float

    @property
    def hydraulic_radius_m(self) -> float:
        """Area over wetted wall. [m]"""
        return self.area_m2 / self.perimeter_m if self.perimeter_m else 0.0


def kinematic_viscosity_m2_s(temperature_c: float) -> float:
    """Kinematic viscosity of clean water; a dilute nutrient feed differs by less than half a percent.

    Parameters
    ----------
    temperature_c : float
        Water temperature, 0 to 60. [degC]

    Returns
    -------
    float
        Viscosity over density. [m2/s]

    Raises
    ------
    OutOfRange
        Outside 0 to 60 degC.

    Examples
    --------
    >>> round(kinematic_viscosity_m2_s(20) * 1e6, 4)
    1.0038

    References
    ----------
    Kestin, Sokolov and Wakeham, J. Phys. Chem. Ref. Data 7 (1978) 941 (viscosity); Kell, J. Chem. Eng. Data 20
    (1975) 97 (density). Both from memory.
    """
    within(temperature_c, 0, 60, "The water temperature", "degC")
    below_20 = 20 - temperature_c
    exponent = below_20 / (temperature_c + 96) * (1.2364 - 1.37e-3 * below_20 + 5.7e-6 * below_20**2)
    return 1.002e-3 * 10**exponent / _density_kg_m3(temperature_c)


def partly_full_round(diameter_m: float, depth_m: float) -> Wetted:
    """The wetted part of a lying round pipe.

    Parameters
    ----------
    diameter_m : float
        Inner diameter, above 0 to 5. [m]
    depth_m : float
        Depth at the lowest point, 0 to the diameter. [m]

    Returns
    -------
    Wetted
        Area, wetted wall and width of the water surface.

    Raises
    ------
    OutOfRange
        For a diameter or depth outside these ranges.

    Examples
    --------
    >>> round(partly_full_round(0.1, 0.05).area_m2, 6)
    0.003927

    References
    ----------
    Geometry of the circle's segment.
    """
    within(diameter_m, 1e-4, 5, "The diameter", "m")
    within(depth_m, 0, diameter_m, "The depth in the round section", "m")
    half_angle = math.acos(1 - 2 * depth_m / diameter_m)
    area = diameter_m**2 / 4 * (half_angle - math.sin(2 * half_angle) / 2)
    return Wetted(area_m2=area, perimeter_m=diameter_m * half_angle, surface_m=diameter_m * math.sin(half_angle))


def rectangle(width_m: float, depth_m: float) -> Wetted:
    """The wetted part of an open rectangular channel.

    Parameters
    ----------
    width_m : float
        Inner width, above 0 to 100. [m]
    depth_m : float
        Depth of water, 0 to 50. [m]

    Returns
    -------
    Wetted
        Area, wetted wall (bottom and both sides) and width of the water surface.

    Raises
    ------
    OutOfRange
        For a width or depth outside these ranges.

    Examples
    --------
    >>> rectangle(5, 1.5).area_m2
    7.5

    References
    ----------
    Geometry.
    """
    within(width_m, 1e-4, 100, "The width", "m")
    within(depth_m, 0, 50, "The depth", "m")
    return Wetted(area_m2=width_m * depth_m, perimeter_m=width_m + 2 * depth_m, surface_m=width_m)


def within(value: float, low: float, high: float, what: str, unit: str) -> None:
    """Refuse a value that is not inside `low` to `high` (NaN and infinity are not).

    Raises
    ------
    OutOfRange
        With a sentence that names the value, the unit and the range.
    """
    if not low <= value <= high:
        raise OutOfRange(f"{what} of {value:g} {unit} cannot be used here.", f"{low:g} to {high:g} {unit} is expected.")


def _density_kg_m3(temperature_c: float) -> float:
    t = temperature_c
    fine = -46.170461e-6 + t * (105.56302e-9 - t * 280.54253e-12)
    above = 999.83952 + t * (16.945176 + t * (-7.9870401e-3 + t * fine))
    return above / (1 + 16.879850e-3 * t)


def check_run(flow_m3_s: float, slope: float) -> None:
    """Refuse a flow or a slope outside what the formulas of open channels hold for.

    Parameters
    ----------
    flow_m3_s : float
        Flow, above 0 to 100. [m3/s]
    slope : float
        Fall per length, 0.0001 to 1. [-]

    Raises
    ------
    OutOfRange
        Outside the ranges above.

    Examples
    --------
    >>> check_run(1 / 60000, 0.01)
    """
    within(flow_m3_s, 1e-9, 100, "The flow", "m3/s")
    within(slope, 1e-4, 1, "The slope", "(fall per length)")
