"""What may be in a nutrient of which a label tells a part: weighted compositions over the range of published feeds.

What is not told is not known. Each candidate takes what the label tells, within its rounding, and the rest from a
published full feed with similar shares of P and K, and closes its charges: nitrate that potassium does not cover came
with calcium first, then with magnesium. The share of ammonium and urea is the widest doubt; urea carries no current.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from rounds.science.conductivity import ec25_ms_cm
from rounds.science.filling_in import BELL, ION_MASS, IONS, filled_in, nitrogen, nitrogen_of
from rounds.science.printed_label import Habit, PrintedLabel
from rounds.science.published_feeds import PUBLISHED, PublishedFeed
from rounds.science.solution import CHARGES, Solution

CANDIDATES = 128
OXIDES_SHARE = 0.8
"""How likely P and K are meant as oxides where nobody said: most countries print so. Practice. [-]"""
BY_WEIGHT_SHARE = 0.5
MADE_SD = 0.03
"""Spread of what is in a bottle against its label: practice. [-]"""
LIKE_P, LIKE_K = 0.5, 0.35
"""How near a published feed's shares of P and K must lie: spread of the logarithm. [-]"""
_AT_MS_CM = 1.2
"""Working strength, at which EC per mL is compared. [mS/cm]"""
_RATES_PH = 6.0
_DENSITY_PER_SHARE = 0.75
"""Logarithm of density against the share of salts in a solution: nitrates and sulfates from CRC tables, memory. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """One composition that fits a label."""

    weight: float
    per_ml: Solution
    """What a millilitre brings. [mmol]"""
    urea_n: float = 0.0
    """Nitrogen as urea, which neither shows in the EC nor moves the pH at once. [mmol]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Composition:
    """What is believed of a nutrient: the middle, and how far each part of it is known."""

    per_ml: Solution
    """Middle. [mmol]"""
    ranges: Mapping[str, tuple[float, float]]
    """By ion, the ends that hold nine in ten. [mmol]"""
    ec_sd: float
    """Spread of the logarithm of EC per mL. [-]"""
    sds: Mapping[str, float]
    """Spread of the logarithm by ion, where there is any. [-]"""
    urea_range: tuple[float, float] = (0.0, 0.0)


@lru_cache(maxsize=64)
def composition_of(label: PrintedLabel, feeds: tuple[PublishedFeed, ...] = PUBLISHED) -> Composition:
    """What a millilitre of a nutrient is believed to bring.

    Parameters
    ----------
    label : PrintedLabel
        What is told.
    feeds : tuple of PublishedFeed
        The range of what is not.

    Examples
    --------
    >>> label = PrintedLabel(percent=(("n", 4.0), ("p2o5", 1.0), ("k2o", 7.0)), by="volume")
    >>> low, high = composition_of(label).ranges["k"]
    >>> low < 1.49 < high
    True
    """
    return _summed_up(candidates(label, feeds))


def candidates(label: PrintedLabel, feeds: tuple[PublishedFeed, ...] = PUBLISHED) -> tuple[Candidate, ...]:
    """The compositions that fit a label, with their weights."""
    found = [_candidate(label, feeds, point) for point in _points(CANDIDATES)]
    whole = math.fsum(each.weight for each in found)
    return tuple(Candidate(weight=c.weight / whole, per_ml=c.per_ml, urea_n=c.urea_n) for c in found)


_PRIMES = (2, 3, 5, 7, 11, 13, 17, 19, 23, 29, 31, 37)


def _points(count: int) -> Iterator[tuple[float, ...]]:
    """Points that fill a cube evenly, by multiples of square roots (Kronecker): the same label, the same belief."""
    for number in range(1, count + 1):
        yield tuple((number * math.sqrt(prime)) % 1.0 for prime in _PRIMES)


def _candidate(label: PrintedLabel, feeds: tuple[PublishedFeed, ...], point: tuple[float, ...]) -> Candidate:
    habit = label.habit or ("oxides" if point[0] < OXIDES_SHARE else "elements")
    told = _told(label, habit, point[1:5])
    one, other = (_like(told, feeds, label, (point[5] + turn) % 1.0) for turn in (0.0, 0.618))
    filled, urea, weight = filled_in(told, one, other, label, point[6:])
    times = _per_ml_times(label, filled, point[11])
    return Candidate(
        weight=weight, per_ml=Solution(**{ion: mmol * times for ion, mmol in filled.items()}), urea_n=urea * times
    )


def _told(label: PrintedLabel, habit: Habit, point: Sequence[float]) -> dict[str, float]:
    """What the label tells, each within its rounding and what bottles differ. [mmol in a gram of 100 %]"""
    printed = dict(label.main)
    told = label.told(habit)
    shifts = {}
    for number, (name, value) in enumerate(printed.items()):
        turn = (point[number % len(point)] + 0.37 * (number // len(point))) % 1.0
        half = 0.5 * _last_place(value)
        shifts[name] = max(value + (2.0 * turn - 1.0) * half, 0.02 * value) / value if value > 0.0 else 0.0
        shifts[name] *= math.exp(MADE_SD * BELL.inv_cdf(min(max((turn * 7.0) % 1.0, 0.02), 0.98)))
    for (name, _), quantity in zip(printed.items(), told, strict=True):
        told[quantity] *= shifts[name]
    return told


def _last_place(value: float) -> float:
    """What the last printed digit stands for: 1 for 4, 0.1 for 4.5. [%]"""
    decimals = len(f"{value:.6f}".rstrip("0").partition(".")[2])
    return 10.0**-decimals


def _like(
    told: Mapping[str, float], feeds: tuple[PublishedFeed, ...], label: PrintedLabel, turn: float
) -> PublishedFeed:
    """A published feed, those with shares of P and K as the label's more often."""
    n, p, k = nitrogen(told), told.get("po4", 0.0), told.get("k", 0.0)
    weights = []
    for feed in feeds:
        s, all_n, off = feed.solution, nitrogen_of(feed), 0.0
        if label.part == "whole" and n > 0.0:
            off += (math.log(max(p / n, 1e-3) / (s.po4 / all_n)) / LIKE_P) ** 2 if "po4" in told else 0.0
            off += (math.log(max(k / n, 1e-3) / (s.k / all_n)) / LIKE_K) ** 2 if "k" in told else 0.0
        weights.append(math.exp(-0.5 * min(off, 18.0)))
    mark = turn * math.fsum(weights)
    for feed, weight in zip(feeds, weights, strict=True):
        mark -= weight
        if mark <= 0.0:
            return feed
    return feeds[-1]


def _per_ml_times(label: PrintedLabel, filled: Mapping[str, float], turn: float) -> float:
    """What turns mmol in a gram into mmol in a mL. [g/mL]"""
    if label.stock_g_l is not None:
        return label.stock_g_l / 1000.0
    if label.by == "volume" or (label.by is None and turn >= BY_WEIGHT_SHARE):
        return 1.0
    if label.density_kg_l is not None:
        return label.density_kg_l
    salts = math.fsum(mmol * ION_MASS.get(ion, 0.0) for ion, mmol in filled.items()) / 1000.0
    return math.exp(_DENSITY_PER_SHARE * min(salts, 0.6))


def _summed_up(found: Sequence[Candidate]) -> Composition:
    middle = Solution(**{ion: math.fsum(c.weight * getattr(c.per_ml, ion) for c in found) for ion in CHARGES})
    ml_per_l = _working_ml_per_l(middle)
    logs = [math.log(max(ec25_ms_cm(c.per_ml.scaled(ml_per_l), _RATES_PH), 1e-6)) for c in found]
    by_ion = {ion: [(getattr(c.per_ml, ion), c.weight) for c in found] for ion in IONS}
    return Composition(
        per_ml=middle,
        ranges={ion: (_quantile(pairs, 0.05), _quantile(pairs, 0.95)) for ion, pairs in by_ion.items()},
        ec_sd=_spread([(log, c.weight) for log, c in zip(logs, found, strict=True)]),
        sds={ion: _spread([(math.log(v), w) for v, w in pairs]) for ion, pairs in by_ion.items()
             if all(v > 0.0 for v, _ in pairs)},
        urea_range=tuple(_quantile([(c.urea_n, c.weight) for c in found], q) for q in (0.05, 0.95)),  # type: ignore[arg-type]
    )  # fmt: skip


def _working_ml_per_l(per_ml: Solution) -> float:
    """So much in a litre that it comes to working strength. [mL/L]"""
    charges = math.fsum(abs(charge) * getattr(per_ml, ion) for ion, charge in CHARGES.items())
    return _AT_MS_CM * 20.0 / charges if charges > 0.0 else 1.0


def _spread(pairs: Sequence[tuple[float, float]]) -> float:
    whole = math.fsum(w for _, w in pairs)
    mean = math.fsum(v * w for v, w in pairs) / whole
    return math.sqrt(math.fsum(w * (v - mean) ** 2 for v, w in pairs) / whole)


def _quantile(pairs: Sequence[tuple[float, float]], share: float) -> float:
    ordered = sorted(pairs)
    mark = share * math.fsum(w for _, w in ordered)
    for value, weight in ordered:
        mark -= weight
        if mark <= 0.0:
            return value
    return ordered[-1][0]
