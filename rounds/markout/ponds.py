"""Water that stays on the floor of a channel: ponds that sag makes, and errors of tape and string at worst."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from rounds.science.beams import Beam

STEPS = 24
"""Points in which each stretch between two supports is looked at. [-]"""


def ponds_mm(
    places_mm: Sequence[float], levels_mm: Sequence[float], length_mm: float, beam: Beam, error_mm: float
) -> tuple[float, float]:
    """The deepest pond as planned, and with every support off by an error in the worst direction.

    Parameters
    ----------
    places_mm, levels_mm : sequence of float
        Where the supports stand from the inlet end, and how high the channel lies on each. [mm]
    length_mm : float
        Length of the channel. [mm]
    beam : Beam
        The channel on these supports.
    error_mm : float
        How far the height of a support may be off. [mm]

    Returns
    -------
    (pond, worst) : tuple of float
        The worst is never less than the pond as planned. [mm]
    """
    shares = _shares(places_mm, length_mm)
    heights = _heights(places_mm, levels_mm, shares, beam)
    pond = deepest_pond_mm([height for stretch in heights for height in stretch])
    return pond, max(pond, _worst_pond(heights, shares, error_mm))


def deepest_pond_mm(heights_mm: Sequence[float]) -> float:
    """Deepest water that stays on a floor given by its heights from inlet to outlet.

    Examples
    --------
    >>> deepest_pond_mm([10, 4, 6, 0])
    2
    """
    barrier, deepest = -math.inf, 0.0
    for height in reversed(heights_mm):
        barrier = max(barrier, height)
        deepest = max(deepest, barrier - height)
    return deepest


def _shares(places: Sequence[float], length_mm: float) -> list[list[float]]:
    """Points of each stretch as shares of it; the first and the last one reach on to the ends of the channel."""
    inner = [i / STEPS for i in range(STEPS + 1)]
    found = [list(inner) for _ in range(len(places) - 1)]
    before = -places[0] / (places[1] - places[0])
    beyond = (length_mm - places[-1]) / (places[-1] - places[-2])
    found[0] = [before * i / 6 for i in range(6, 0, -1) if before] + found[0]
    found[-1] += [1 + beyond * i / 6 for i in range(1, 7) if beyond]
    return found


def _heights(
    places: Sequence[float], levels: Sequence[float], shares: list[list[float]], beam: Beam
) -> list[list[float]]:
    """Height of the floor at every point of each stretch, sag taken off."""
    return [
        [high + (low - high) * share - beam.sag_m((start + (end - start) * share) / 1000) * 1000 for share in points]
        for points, (start, end), (high, low) in zip(shares, pairwise(places), pairwise(levels), strict=True)
    ]


def _worst_pond(nominal: Sequence[Sequence[float]], shares: Sequence[Sequence[float]], error: float) -> float:
    """The bad case for each stretch: everything above it too low, everything below it too high, itself tilted.

    What lies above only counts by its lowest point, what lies below by its highest, so one pass is enough.
    """
    lowest_above, highest_below = _running(nominal)
    worst = 0.0
    for k, heights in enumerate(nominal):
        tilted = [height + error * (2 * share - 1) for height, share in zip(heights, shares[k], strict=True)]
        worst = max(worst, deepest_pond_mm([lowest_above[k] - error, *tilted, highest_below[k] + error]))
    return worst


def _running(nominal: Sequence[Sequence[float]]) -> tuple[list[float], list[float]]:
    """Lowest height in the stretches before each one, highest in those after it."""
    above, below = [math.inf], [-math.inf]
    for heights in nominal[:-1]:
        above.append(min(above[-1], *heights))
    for heights in reversed(nominal[1:]):
        below.append(max(below[-1], *heights))
    return above, below[::-1]
