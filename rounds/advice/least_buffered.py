"""The weakest believable reservoir: what it would take, and how careful a dose must be of it."""

from __future__ import annotations

import math
from collections.abc import Sequence

from rounds.advice.projection import Projection
from rounds.belief import state as b
from rounds.belief.gaussian import quantile
from rounds.book.parcel import Parcel

WEAKEST_SDS = {b.PHOSPHATE: -2.9, b.PRESSURE: -1.7, b.ARRIVING: 0.5}
"""How far out the weakest believable reservoir lies before it was ever dosed, in standard deviations: a fifth of the
recipe's phosphate where it is worn, the CO2 of the air, a strong bottle in little water, all at once. [-]"""
PAST_EDGE_PH = 0.4
"""Even that one is brought no further past the far edge than this. [-]"""
FAR_EDGE_SD = 2.8
"""The first step keeps so many standard deviations of the dose below what would reach the far edge. [-]"""


def careful(needed: Sequence[float], sds: float = FAR_EDGE_SD) -> float:
    """A low quantile of what would reach an edge: by the logarithm where it is needed all over, straight elsewhere.

    Examples
    --------
    >>> careful([1.0, 1.0, 1.0])
    1.0
    """
    if min(needed) > 0.0:
        logs = [math.log(v) for v in needed]
        mean = math.fsum(logs) / len(logs)
        sd = math.sqrt(math.fsum((v - mean) ** 2 for v in logs) / len(logs))
        return math.exp(mean - sds * sd)
    mean = math.fsum(needed) / len(needed)
    sd = math.sqrt(math.fsum((v - mean) ** 2 for v in needed) / len(needed))
    return max(0.0, mean - sds * sd)


def weakest_takes(projected: Projection, edge: float, sign: float, per_unit: Parcel) -> float:
    """What the weakest believable reservoir takes up to a little past the far edge, in units of the dose.

    Parameters
    ----------
    edge : float
        The far edge of the band. [-]
    sign : float
        -1 for acid, which overshoots downwards, 1 for base.
    """
    state = projected.state
    point = [m + WEAKEST_SDS.get(i, 0.0) * state.sd(i) for i, m in enumerate(state.mean)]
    point[b.PH] += 0.5 * sign * state.sd(b.PH)
    (needed,) = b.demand([point], projected.curve, edge + sign * PAST_EDGE_PH, per_unit)
    return max(0.0, needed)


def buffers(projected: Projection, cloud: Sequence[Sequence[float]]) -> tuple[float, float]:
    """The weakest believable buffer and the middle one. [meq/(L pH)]"""
    slopes = [buffer_at(p, projected) for p in cloud[::4]]
    return quantile(slopes, 0.05), quantile(slopes, 0.5)


def buffer_at(point: Sequence[float], projected: Projection) -> float:
    """The buffer of one believable reservoir at its pH, its CO2 kept in. [meq/(L pH)]"""
    _, _, _, held = projected.curve.parts(point[b.PH])
    return projected.curve.slope_meq_l_ph(point[b.PH], math.exp(point[b.PHOSPHATE]), math.exp(point[b.PRESSURE]) * held)
