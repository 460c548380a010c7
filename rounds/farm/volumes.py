"""From a dip in centimetres to litres and back, for every form of vessel the farm knows."""

from __future__ import annotations

import math
from bisect import bisect_left

from rounds.errors import OutOfRange
from rounds.farm.stations import Box, LyingCylinder, Reservoir, Shape, UprightCylinder, Vessel

USUAL_DIP_ERROR_CM = 0.5
"""How far a stick is read wrong, where the vessel does not say: common practice, no source. [cm]"""
_CM3_PER_L = 1000.0


def dip_to_litres(vessel: Vessel, dip_cm: float) -> tuple[float, float]:
    """Litres in a vessel that is dipped, and how far they may be off.

    Parameters
    ----------
    vessel : Vessel
        With a shape or a dip table; the table wins where there are both.
    dip_cm : float
        Wet length of the stick, 0 up to the height of the vessel. [cm]

    Returns
    -------
    (litres, error) : tuple of float
        The volume and the half width that the error of the dip makes. [L]

    Raises
    ------
    OutOfRange
        Where the dip is negative, not a number, or above what the vessel holds.

    Examples
    --------
    >>> from rounds.farm.stations import Tank
    >>> drum = Tank(id="a", name="A", water="w", full_volume_l=400.0, shape=Box(length_cm=100.0, width_cm=50.0))
    >>> dip_to_litres(drum, 40.0)
    (200.0, 2.5)

    References
    ----------
    Segment of a circle: any table of geometry.
    """
    litres = _litres(vessel, _checked(vessel, dip_cm))
    off = vessel.dip_error_cm if isinstance(vessel, Reservoir) else USUAL_DIP_ERROR_CM
    highest = highest_dip_cm(vessel)
    wide = _litres(vessel, min(highest, dip_cm + off)) - _litres(vessel, max(0.0, dip_cm - off))
    return litres, wide / (min(highest, dip_cm + off) - max(0.0, dip_cm - off)) * off


def litres_to_dip(vessel: Vessel, litres: float) -> float:
    """Where the stick will be wet to at a volume. [cm]

    Raises
    ------
    OutOfRange
        Where the volume is negative, not a number, or above what the vessel holds.

    Examples
    --------
    >>> from rounds.farm.stations import Tank
    >>> drum = Tank(id="a", name="A", water="w", full_volume_l=400.0, shape=Box(length_cm=100.0, width_cm=50.0))
    >>> round(litres_to_dip(drum, 200.0), 3)
    40.0
    """
    low, high = 0.0, highest_dip_cm(vessel)
    if not 0.0 <= litres <= _litres(vessel, high) * (1.0 + 1e-9):
        raise OutOfRange(f"{vessel.name} cannot hold {litres:g} L.", f"Expected 0 to {_litres(vessel, high):.0f} L.")
    for _ in range(60):
        middle = (low + high) / 2.0
        low, high = (middle, high) if _litres(vessel, middle) < litres else (low, middle)
    return (low + high) / 2.0


def highest_dip_cm(vessel: Vessel) -> float:
    """The dip at which the vessel is full. [cm]"""
    if vessel.dip_table:
        return vessel.dip_table[-1][0]
    match vessel.shape:
        case LyingCylinder(diameter_cm=diameter):
            return diameter
        case Box() | UprightCylinder() as upright:
            return vessel.full_volume_l * _CM3_PER_L / _floor_cm2(upright)
    raise OutOfRange(f"{vessel.name} has neither a shape nor a dip table.", "Enter one of them in farm.toml.")


def _checked(vessel: Vessel, dip_cm: float) -> float:
    highest = highest_dip_cm(vessel)
    if not 0.0 <= dip_cm <= highest * 1.001:
        raise OutOfRange(
            f"{vessel.name} cannot be dipped to {dip_cm:g} cm.", f"Full is {highest:.1f} cm; expected 0 to that."
        )
    return min(dip_cm, highest)


def _litres(vessel: Vessel, dip_cm: float) -> float:
    if vessel.dip_table:
        return _from_table(vessel.dip_table, dip_cm)
    return _from_shape(vessel.shape, dip_cm)


def _from_table(rows: tuple[tuple[float, float], ...], dip_cm: float) -> float:
    points = rows if rows[0][0] <= 0.0 else ((0.0, 0.0), *rows)
    at = min(max(bisect_left([cm for cm, _ in points], dip_cm), 1), len(points) - 1)
    (below_cm, below_l), (above_cm, above_l) = points[at - 1], points[at]
    return below_l + (above_l - below_l) * (dip_cm - below_cm) / (above_cm - below_cm)


def _from_shape(shape: Shape | None, dip_cm: float) -> float:
    match shape:
        case LyingCylinder(diameter_cm=diameter, length_cm=length):
            return _segment_cm2(diameter / 2.0, dip_cm) * length / _CM3_PER_L
        case Box() | UprightCylinder() as upright:
            return _floor_cm2(upright) * dip_cm / _CM3_PER_L
    return 0.0


def _floor_cm2(shape: Box | UprightCylinder) -> float:
    if isinstance(shape, Box):
        return shape.length_cm * shape.width_cm
    return math.pi * shape.diameter_cm**2 / 4.0


def _segment_cm2(radius_cm: float, height_cm: float) -> float:
    above = radius_cm - min(max(height_cm, 0.0), 2.0 * radius_cm)
    return radius_cm**2 * math.acos(above / radius_cm) - above * math.sqrt(max(0.0, radius_cm**2 - above**2))
