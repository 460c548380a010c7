"""Water leaving through a hole: as over a weir while it is shallow, as through an orifice when the hole is drowned."""

from __future__ import annotations

import math

from rounds.science.running_water import GRAVITY_M_S2, within

SHARP_EDGE = 0.62
"""Discharge coefficient of a small hole with a sharp edge (engineering texts)."""


def orifice_flow_m3_s(diameter_m: float, head_m: float, discharge: float = SHARP_EDGE) -> float:
    """Flow through a drowned hole.

    Parameters
    ----------
    diameter_m : float
        Diameter of the hole, 0.0001 to 1. [m]
    head_m : float
        Water above the middle of the hole, or above a floor drain, 0 to 50. [m]
    discharge : float
        Coefficient, 0.3 to 1. [-]

    Returns
    -------
    float
        Flow. [m3/s]

    Raises
    ------
    OutOfRange
        Outside the ranges above.

    Examples
    --------
    >>> round(orifice_flow_m3_s(0.02, 0.1) * 60000, 1)
    16.4

    References
    ----------
    Torricelli with a discharge coefficient of 0.62; engineering texts.
    """
    within(diameter_m, 1e-4, 1, "The hole's diameter", "m")
    within(head_m, 0, 50, "The head", "m")
    within(discharge, 0.3, 1, "The discharge coefficient", "")
    return discharge * math.pi / 4 * diameter_m**2 * math.sqrt(2 * GRAVITY_M_S2 * head_m)


def rim_flow_m3_s(diameter_m: float, head_m: float, discharge: float = SHARP_EDGE) -> float:
    """Flow over the rim of a drain in a level floor, as over a sharp weir as long as the rim.

    Parameters
    ----------
    diameter_m : float
        Inner diameter of the drain, 0.0001 to 1. [m]
    head_m : float
        Water above the rim, 0 to 1. [m]
    discharge : float
        Weir coefficient, 0.3 to 1. [-]

    Returns
    -------
    float
        Flow. [m3/s]

    Raises
    ------
    OutOfRange
        Outside the ranges above.

    Examples
    --------
    >>> round(rim_flow_m3_s(0.04, 0.005) * 60000, 2)
    4.88

    References
    ----------
    Poleni's weir, 2/3 Cd sqrt(2 g) L h^1.5 with the rim as the crest; engineering texts (memory).
    """
    within(diameter_m, 1e-4, 1, "The drain's diameter", "m")
    within(head_m, 0, 1, "The head", "m")
    within(discharge, 0.3, 1, "The weir coefficient", "")
    return 2 / 3 * discharge * math.sqrt(2 * GRAVITY_M_S2) * math.pi * diameter_m * math.sqrt(head_m**3)


def drain_flow_m3_s(diameter_m: float, head_m: float) -> float:
    """What a floor drain takes at a depth of water: the smaller of rim and hole.

    Parameters
    ----------
    diameter_m : float
        Inner diameter of the drain, 0.0001 to 1. [m]
    head_m : float
        Depth of water over the floor, 0 to 1. [m]

    Returns
    -------
    float
        Flow. [m3/s]

    Raises
    ------
    OutOfRange
        Outside the ranges above.

    Examples
    --------
    >>> drain_flow_m3_s(0.025, 0.0)
    0.0

    References
    ----------
    As the two functions above; the smaller one governs (engineering texts on drop inlets; memory).
    """
    return min(rim_flow_m3_s(diameter_m, head_m), orifice_flow_m3_s(diameter_m, head_m))
