"""A pipe lying on its supports as a beam: how stiff its section is and how far it sags between them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from rounds.errors import OutOfRange
from rounds.science.running_water import within


@dataclass(frozen=True, slots=True, kw_only=True)
class Beam:
    """A uniformly loaded beam over supports, solved: the moment over each support."""

    supports_m: tuple[float, ...]
    length_m: float
    load_n_m: float
    stiffness_n_m2: float
    """Modulus times second moment of area. [N m2]"""
    moments_n_m: tuple[float, ...]
    """Bending moment over each support, positive where the beam hangs through. [N m]"""

    def sag_m(self, at_m: float) -> float:
        """How far the beam hangs below the straight line through its supports, at a distance from its start. [m]"""
        spans = list(pairwise(range(len(self.supports_m))))
        if at_m < self.supports_m[0]:
            return self._overhang(self.supports_m[0] - at_m, self.supports_m[0], self._slope_at(0, start=True))
        for left, right in spans:
            if at_m <= self.supports_m[right]:
                return self._in_span(left, at_m - self.supports_m[left])
        free = self.length_m - self.supports_m[-1]
        return self._overhang(at_m - self.supports_m[-1], free, self._slope_at(len(spans) - 1, start=False))

    def _in_span(self, left: int, x: float) -> float:
        span = self.supports_m[left + 1] - self.supports_m[left]
        m0, m1 = self.moments_n_m[left], self.moments_n_m[left + 1]
        load = self.load_n_m * x * (span**3 - 2 * span * x**2 + x**3) / 24
        ends = x * (span - x) / 6 * (m0 * (2 * span - x) + m1 * (span + x)) / span
        return (load + ends) / self.stiffness_n_m2

    def _slope_at(self, left: int, start: bool) -> float:
        """Downward slope of the beam when leaving the span outward. [-]"""
        span = self.supports_m[left + 1] - self.supports_m[left]
        near, far = self.moments_n_m[left], self.moments_n_m[left + 1]
        if not start:
            near, far = far, near
        return -(self.load_n_m * span**3 / 24 + span * (2 * near + far) / 6) / self.stiffness_n_m2

    def _overhang(self, out: float, free: float, slope: float) -> float:
        own = self.load_n_m * out**2 * (6 * free**2 - 4 * free * out + out**2) / (24 * self.stiffness_n_m2)
        return slope * out + own


def beam_on_supports(supports_m: Sequence[float], length_m: float, load_n_m: float, stiffness_n_m2: float) -> Beam:
    """Solve a beam of one piece over two or more supports, overhanging ends included (three-moment equations).

    Parameters
    ----------
    supports_m : sequence of float
        Positions from the beam's start, rising, 0 to the length. [m]
    length_m : float
        Length of the beam, 0.05 to 1000. [m]
    load_n_m : float
        Even load, 0 to 1e6. [N/m]
    stiffness_n_m2 : float
        Modulus times second moment of area, above 0. [N m2]

    Returns
    -------
    Beam
        Gives the sag anywhere along it.

    Raises
    ------
    OutOfRange
        For fewer than two supports, supports out of order or off the beam, or values outside the ranges above.

    Examples
    --------
    >>> round(beam_on_supports([0, 2], 2, 10, 100).sag_m(1) / (5 * 10 * 2**4 / (384 * 100)), 6)
    1.0

    References
    ----------
    Clapeyron's three-moment equation; Timoshenko, Strength of Materials I (memory).
    """
    within(length_m, 0.05, 1000, "The beam's length", "m")
    within(load_n_m, 0, 1e6, "The load", "N/m")
    within(stiffness_n_m2, 1e-9, 1e15, "The stiffness", "N m2")
    if len(supports_m) < 2 or not all(a < b for a, b in pairwise(supports_m)):
        raise OutOfRange("Two or more supports are needed, each farther on than the one before.")
    if not (supports_m[0] >= 0 and supports_m[-1] <= length_m):
        raise OutOfRange("A support stands beyond the end of the beam.", "Supports within its length are expected.")
    moments = _support_moments(supports_m, length_m, load_n_m)
    return Beam(
        supports_m=tuple(supports_m),
        length_m=length_m,
        load_n_m=load_n_m,
        stiffness_n_m2=stiffness_n_m2,
        moments_n_m=moments,
    )


def tube_second_moment_m4(width_m: float, height_m: float, wall_m: float, slot_m: float = 0.0) -> float:
    """Second moment of area of a rectangular tube, with a slot of the holes' width cut out of its top.

    Parameters
    ----------
    width_m, height_m : float
        Outer width and height, 0.005 to 2. [m]
    wall_m : float
        Wall, 0.0001 to a quarter of the smaller side. [m]
    slot_m : float
        Width cut out of the top wall, 0 to the inner width. [m]

    Returns
    -------
    float
        About the level axis through the middle of what is left. [m4]

    Raises
    ------
    OutOfRange
        Outside the ranges above.

    Examples
    --------
    >>> round(tube_second_moment_m4(0.1, 0.06, 0.002) * 1e9, 1)
    395.1

    References
    ----------
    Geometry; a slot all along is the safe side for a row of holes.
    """
    within(width_m, 0.005, 2, "The outer width", "m")
    within(height_m, 0.005, 2, "The outer height", "m")
    within(wall_m, 1e-4, min(width_m, height_m) / 4, "The wall", "m")
    within(slot_m, 0, width_m - 2 * wall_m, "The slot", "m")
    inner_w, inner_h = width_m - 2 * wall_m, height_m - 2 * wall_m
    area = width_m * height_m - inner_w * inner_h
    full = (width_m * height_m**3 - inner_w * inner_h**3) / 12
    cut, arm = slot_m * wall_m, (height_m - wall_m) / 2
    left = full - slot_m * wall_m**3 / 12 - cut * arm**2
    return left - (cut * arm) ** 2 / (area - cut)


def ring_second_moment_m4(outer_diameter_m: float, wall_m: float, slot_m: float = 0.0) -> float:
    """Second moment of area of a round pipe, with a slot of the holes' width cut out of its top.

    Parameters
    ----------
    outer_diameter_m : float
        0.005 to 2. [m]
    wall_m : float
        Wall, 0.0001 to a quarter of the diameter. [m]
    slot_m : float
        Width cut out of the top, as a chord: 0 to nine tenths of the diameter. [m]

    Returns
    -------
    float
        About the level axis through the middle of what is left. [m4]

    Raises
    ------
    OutOfRange
        Outside the ranges above.

    Examples
    --------
    >>> round(ring_second_moment_m4(0.1, 0.002) * 1e9)
    740

    References
    ----------
    Geometry of a thin ring, scaled to the exact second moment of the whole one.
    """
    within(outer_diameter_m, 0.005, 2, "The outer diameter", "m")
    within(wall_m, 1e-4, outer_diameter_m / 4, "The wall", "m")
    within(slot_m, 0, 0.9 * outer_diameter_m, "The slot", "m")
    whole = math.pi / 64 * (outer_diameter_m**4 - (outer_diameter_m - 2 * wall_m) ** 4)
    half_cut = math.asin(slot_m / outer_diameter_m)
    left = math.pi - half_cut
    share = (left - math.sin(2 * half_cut) / 2 - 2 * math.sin(half_cut) ** 2 / left) / math.pi
    return whole * share


def _support_moments(supports_m: Sequence[float], length_m: float, load_n_m: float) -> tuple[float, ...]:
    spans = [b - a for a, b in pairwise(supports_m)]
    first = -load_n_m * supports_m[0] ** 2 / 2
    last = -load_n_m * (length_m - supports_m[-1]) ** 2 / 2
    rows = [[left, 2 * (left + right), right, -load_n_m * (left**3 + right**3) / 4] for left, right in pairwise(spans)]
    if not rows:
        return first, last
    rows[0][3] -= rows[0][0] * first
    rows[-1][3] -= rows[-1][2] * last
    return first, *_tridiagonal(rows), last


def _tridiagonal(rows: list[list[float]]) -> list[float]:
    for above, row in pairwise(rows):
        factor = row[0] / above[1]
        row[1] -= factor * above[2]
        row[3] -= factor * above[3]
    found: list[float] = []
    for row in reversed(rows):
        after = found[-1] if found else 0.0
        found.append((row[3] - (row[2] * after if found else 0.0)) / row[1])
    return found[::-1]
