"""A bell-shaped belief over a few numbers, and the fixed cloud of points that stands for it.

The cloud is deterministic (a Halton sequence, mirrored, then made to have exactly mean 0 and covariance 1), so that
the same readings always give the same advice.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from statistics import NormalDist

Vector = tuple[float, ...]
Matrix = tuple[Vector, ...]
_PRIMES = (2, 3, 5, 7, 11, 13, 17, 19, 23, 29)
_SKIPPED = 20
_LEAST_VARIANCE = 1e-9


@dataclass(frozen=True, slots=True)
class Gaussian:
    """Mean and covariance."""

    mean: Vector
    covariance: Matrix

    def sd(self, i: int) -> float:
        """Standard deviation of one component."""
        return math.sqrt(max(self.covariance[i][i], 0.0))

    def cloud(self, points: int) -> list[list[float]]:
        """Points whose mean and covariance are exactly these."""
        root = _cholesky(self.covariance)
        directions = _columns(len(self.mean), points)
        columns = []
        for middle, weights in zip(self.mean, root, strict=True):
            column = [middle] * points
            for weight, direction in zip(weights, directions, strict=True):
                if weight:
                    column = [v + weight * z for v, z in zip(column, direction, strict=True)]
            columns.append(column)
        return [list(point) for point in zip(*columns, strict=True)]

    def seen(self, i: int, value: float, sd: float) -> Gaussian:
        """What is believed once component i was read as `value` with an error of `sd`."""
        spread = self.covariance[i][i] + sd * sd
        gain = [row[i] / spread for row in self.covariance]
        off = value - self.mean[i]
        mean = tuple(m + g * off for m, g in zip(self.mean, gain, strict=True))
        across = self.covariance[i]
        covariance = tuple(
            tuple(c - g * a for c, a in zip(row, across, strict=True))
            for row, g in zip(self.covariance, gain, strict=True)
        )
        return Gaussian(mean, covariance)

    def mean_of(self, weights: Sequence[float]) -> float:
        """Mean of a weighted sum of the components."""
        return math.fsum(w * m for w, m in zip(weights, self.mean, strict=True))

    def sd_of(self, weights: Sequence[float]) -> float:
        """Standard deviation of a weighted sum of the components."""
        return math.sqrt(max(math.fsum(w * a for w, a in zip(weights, self._across(weights), strict=True)), 0.0))

    def seen_sum(self, weights: Sequence[float], value: float, sd: float) -> Gaussian:
        """What is believed once a weighted sum of the components was read as `value` with an error of `sd`."""
        across = self._across(weights)
        spread = math.fsum(w * a for w, a in zip(weights, across, strict=True)) + sd * sd
        off = value - self.mean_of(weights)
        mean = tuple(m + a / spread * off for m, a in zip(self.mean, across, strict=True))
        covariance = tuple(
            tuple(c - a * other / spread for c, other in zip(row, across, strict=True))
            for row, a in zip(self.covariance, across, strict=True)
        )
        return Gaussian(mean, covariance)

    def _across(self, weights: Sequence[float]) -> Vector:
        return tuple(math.fsum(c * w for c, w in zip(row, weights, strict=True)) for row in self.covariance)

    def loosened(self, variances: Sequence[float], shift: Sequence[float] | None = None) -> Gaussian:
        """The same with independent variances added, and its mean shifted."""
        shift = shift or [0.0] * len(self.mean)
        rows = [list(row) for row in self.covariance]
        for i, extra in enumerate(variances):
            rows[i][i] += extra
        mean = tuple(m + s for m, s in zip(self.mean, shift, strict=True))
        return Gaussian(mean, tuple(tuple(row) for row in rows))

    def replaced(self, i: int, mean: float, sd: float) -> Gaussian:
        """The same with one component known afresh, apart from all others."""
        rows = [[0.0 if i in (a, b) else value for b, value in enumerate(row)] for a, row in enumerate(self.covariance)]
        rows[i][i] = sd * sd
        return Gaussian(
            tuple(mean if a == i else m for a, m in enumerate(self.mean)), tuple(tuple(row) for row in rows)
        )


def independent(means: Sequence[float], sds: Sequence[float]) -> Gaussian:
    """A belief whose components know nothing of each other."""
    n = len(means)
    return Gaussian(tuple(means), tuple(tuple(sds[i] ** 2 if i == j else 0.0 for j in range(n)) for i in range(n)))


def of_cloud(points: Sequence[Sequence[float]]) -> Gaussian:
    """Mean and covariance of a cloud."""
    count, n = len(points), len(points[0])
    columns = list(zip(*points, strict=True))
    mean = tuple(sum(column) / count for column in columns)
    centred = [[v - m for v in column] for column, m in zip(columns, mean, strict=True)]
    rows = [[0.0] * n for _ in range(n)]
    for i in range(n):
        for j in range(i + 1):
            rows[i][j] = rows[j][i] = sum(map(_times, centred[i], centred[j])) / count
        rows[i][i] += _LEAST_VARIANCE
    return Gaussian(mean, tuple(tuple(row) for row in rows))


def quantile(values: Sequence[float], share: float) -> float:
    """A share of the values lies below it."""
    ordered = sorted(values)
    at = min(max(share * len(ordered) - 0.5, 0.0), len(ordered) - 1.0)
    i = min(int(at), len(ordered) - 2) if len(ordered) > 1 else 0
    return ordered[i] + (at - i) * (ordered[min(i + 1, len(ordered) - 1)] - ordered[i])


@lru_cache(maxsize=8)
def standard_cloud(n: int, points: int) -> Matrix:
    """`points` (even) mirrored points in n directions, with mean 0 and covariance 1."""
    bell = NormalDist()
    half = [[bell.inv_cdf(_halton(_SKIPPED + k, _PRIMES[j])) for j in range(n)] for k in range(points // 2)]
    both = half + [[-z for z in row] for row in half]
    covariance = of_cloud(both).covariance
    root = _cholesky(covariance)
    return tuple(tuple(_forward(root, row)) for row in both)


@lru_cache(maxsize=8)
def _columns(n: int, points: int) -> Matrix:
    return tuple(zip(*standard_cloud(n, points), strict=True))


def _forward(root: Sequence[Sequence[float]], row: Sequence[float]) -> list[float]:
    solved: list[float] = []
    for i, value in enumerate(row):
        solved.append((value - sum(root[i][j] * solved[j] for j in range(i))) / root[i][i])
    return solved


def _cholesky(matrix: Matrix) -> list[list[float]]:
    n = len(matrix)
    root = [[0.0] * n for _ in range(n)]
    for i in range(n):
        for j in range(i + 1):
            rest = matrix[i][j] - sum(root[i][k] * root[j][k] for k in range(j))
            root[i][j] = math.sqrt(max(rest, _LEAST_VARIANCE)) if i == j else rest / root[j][j]
    return root


def _halton(index: int, base: int) -> float:
    value, share = 0.0, 1.0
    while index:
        share /= base
        index, digit = divmod(index, base)
        value += share * digit
    return value


def _times(a: float, b: float) -> float:
    return a * b
