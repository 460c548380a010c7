"""How long a reservoir takes to mix: by turnovers of its circulating volume."""

from __future__ import annotations

import math

from rounds.science.ranges import within

MIXED = 0.95
"""Share of a dose that must be spread before a reading counts; three turnovers reach it."""


def turnovers_to_mix(share: float = MIXED) -> float:
    """Turnovers until a dose is spread to a share, 0 to below 1. [-]

    Examples
    --------
    >>> round(turnovers_to_mix(), 1)
    3.0

    References
    ----------
    A stirred tank: what is unmixed falls as exp(-turnovers). A dead corner takes longer.
    """
    return -math.log(1.0 - within(share, 0.0, 0.9999, "A mixed share", ""))


def turnover_min(volume_l: float, flow_l_min: float) -> float:
    """Time in which the pump moves the circulating volume once. [min]

    Parameters
    ----------
    volume_l : float
        Circulating volume, above 0 and up to 1 000 000. [L]
    flow_l_min : float
        Pump flow, above 0 and up to 100 000. [L/min]

    Raises
    ------
    OutOfRange
        Where one of them is outside its range: with the pump off nothing mixes.

    Examples
    --------
    >>> turnover_min(200.0, 20.0)
    10.0
    """
    within(flow_l_min, 1e-3, 1e5, "A flow", "L/min")
    return within(volume_l, 1e-3, 1e6, "A circulating volume", "L") / flow_l_min


def minutes_to_mix(volume_l: float, flow_l_min: float, share: float = MIXED) -> float:
    """Wait before a reading counts. [min]

    Examples
    --------
    >>> round(minutes_to_mix(200.0, 20.0))
    30
    """
    return turnovers_to_mix(share) * turnover_min(volume_l, flow_l_min)


def mixed_share(minutes: float, volume_l: float, flow_l_min: float) -> float:
    """Share of a dose that is spread after a time. [-]

    Examples
    --------
    >>> round(mixed_share(30.0, 200.0, 20.0), 2)
    0.95
    """
    within(minutes, 0.0, 1e6, "A wait", "min")
    return 1.0 - math.exp(-minutes / turnover_min(volume_l, flow_l_min))
