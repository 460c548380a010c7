"""A stored belief taken out of its record, where it is one that somebody could have held."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from rounds.belief.gaussian import Gaussian

BELIEVABLE = ((3.0, 10.0), (-8.0, 4.0), (-15.0, 1.0), (-15.0, 1.0), (-9.0, 5.0), (-3.0, 3.0), (-9.0, 9.0))
"""What can be believed at all of the seven numbers of `state`, in their order."""
WIDEST_SD = 5.0


def gaussian_of(numbers: Mapping[str, Any], believable: Sequence[tuple[float, float]]) -> Gaussian | None:
    """The stored numbers as they were; None where nobody could have believed them: then the events tell anew.

    Parameters
    ----------
    believable : sequence of (low, high)
        For each of the numbers, in their order.
    """
    mean, rows, n = numbers["mean"], numbers["covariance"], len(believable)
    if not (len(mean) == len(rows) == n and all(len(row) > i for i, row in enumerate(rows))):
        return None
    if not all(low <= value <= high for value, (low, high) in zip(mean, believable, strict=True)):
        return None
    full = _mirrored(rows)
    return Gaussian(tuple(float(value) for value in mean), full) if _is_covariance(full) else None


def _mirrored(rows: Sequence[Sequence[float]]) -> tuple[tuple[float, ...], ...]:
    """The whole of a symmetric matrix of which the lower half is kept."""
    n = range(len(rows))
    return tuple(tuple(float(rows[max(i, j)][min(i, j)]) for j in n) for i in n)


def _is_covariance(full: Sequence[Sequence[float]]) -> bool:
    """Whether no spread is too wide to be held, and none together wider than the two allow."""
    n = range(len(full))
    sds = [math.sqrt(full[i][i]) if 0.0 <= full[i][i] <= WIDEST_SD**2 else math.nan for i in n]
    return all(abs(full[i][j]) <= 1.01 * sds[i] * sds[j] + 1e-6 for i in n for j in n)
