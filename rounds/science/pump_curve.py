"""A pump's curve, and the point where it meets what the pipes ask for."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise

from rounds.errors import OutOfRange

_POINTS = "Points such as 0:2.5,10:2,20:0 are expected."


def check_curve(points: Sequence[tuple[float, float]]) -> None:
    """Refuse a pump curve that cannot be one.

    Parameters
    ----------
    points : sequence of (flow, head)
        Two or more, flows rising from point to point, heads never rising.

    Raises
    ------
    OutOfRange
        For fewer than two points, negative values, flows that do not rise or a head that does.

    Examples
    --------
    >>> check_curve([(0, 2.5), (20, 0)])
    """
    if len(points) < 2:
        raise OutOfRange("A pump curve needs at least two points.", _POINTS)
    if not all(0 <= flow < 1e6 and 0 <= head < 1e6 for flow, head in points):
        raise OutOfRange("A pump curve has flows and heads of 0 or more.", _POINTS)
    for (flow, head), (next_flow, next_head) in pairwise(points):
        if not next_flow > flow:
            raise OutOfRange(
                f"The flow of the pump curve goes from {flow:g} to {next_flow:g}.", "Write the points by rising flow."
            )
        if not next_head <= head:
            raise OutOfRange(
                f"The pump curve rises from {head:g} at {flow:g} to {next_head:g} at {next_flow:g}.",
                "A pump gives less head the more it moves: look at the points again.",
            )


def head_at(points: Sequence[tuple[float, float]], flow: float) -> float:
    """Head of the pump at a flow, straight between the points; 0 beyond the last point.

    Parameters
    ----------
    points : sequence of (flow, head)
        A curve that `check_curve` accepts, both in units of the caller's choice.
    flow : float
        Flow, 0 or more. [unit of the points]

    Returns
    -------
    float
        Head in the unit of the points.

    Raises
    ------
    OutOfRange
        For a curve that is none, or a negative flow.

    Examples
    --------
    >>> head_at([(0, 2.0), (20, 0)], 5)
    1.5

    References
    ----------
    Straight lines between the printed points.
    """
    check_curve(points)
    if not flow >= 0:
        raise OutOfRange(f"A flow of {flow:g} is not one.", "0 or more is expected.")
    if flow <= points[0][0]:
        return points[0][1]
    for (low, high_head), (high, low_head) in pairwise(points):
        if flow <= high:
            return high_head + (low_head - high_head) * (flow - low) / (high - low)
    return 0.0


def working_point(points: Sequence[tuple[float, float]], asked_head: Callable[[float], float]) -> tuple[float, float]:
    """Flow and head at which the pump gives what the pipes ask for.

    Parameters
    ----------
    points : sequence of (flow, head)
        A curve that `check_curve` accepts.
    asked_head : callable
        Head the pipes ask for at a flow: never falling with flow, static lift included.

    Returns
    -------
    tuple of float
        Flow and head; a flow of 0 where the pump cannot even lift the water.

    Raises
    ------
    OutOfRange
        For a curve that is none.

    Examples
    --------
    >>> flow, head = working_point([(0, 2.0), (20, 0)], lambda flow: 1.0)
    >>> round(flow, 3), round(head, 3)
    (10.0, 1.0)

    References
    ----------
    Both curves meet once, since one falls and the other rises: found by halving.
    """
    check_curve(points)
    if head_at(points, 0) <= asked_head(0):
        return 0.0, head_at(points, 0)
    low, high = 0.0, points[-1][0]
    if head_at(points, high) >= asked_head(high):
        return high, head_at(points, high)
    for _ in range(40):
        middle = (low + high) / 2
        low, high = (middle, high) if head_at(points, middle) > asked_head(middle) else (low, middle)
    return low, head_at(points, low)
