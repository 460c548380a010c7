"""How often slow change is told where there is none, and how often where there is: simulated readings with known truth.

The noise is that of practice: a jug is read to 2-5 %, eggs come or do not come (binomial), what the weather moves hangs
on the day before. No figure here is taken from the program's own output.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import pytest

from rounds.checklist.load import load_checklists
from rounds.walk.slow_change.finding import finding_of
from rounds.walk.slow_change.point import Point
from rounds.walk.slow_change.series import Series

LISTS = load_checklists(None)
NOW = datetime(2026, 11, 25, 6, 0, tzinfo=UTC)
FEW_FALSE = 0.02
Make = Callable[[random.Random], Series]


def series(
    kind: str, item_id: str, values: list[float], every_days: float, *, band: tuple[float, float] | None = None,
    figure: str = "value", decimals: int | None = None,
) -> Series:  # fmt: skip
    """A series read as the checklist says, with its digits."""
    item = LISTS.item(kind, item_id)
    assert item is not None
    digits = item.decimals if decimals is None else decimals
    days = [every_days * (len(values) - 1 - n) for n in range(len(values))]
    points = [
        Point(at=NOW - timedelta(days=back), value=round(v, digits)) for v, back in zip(values, days, strict=True)
    ]
    return Series(
        station_id="x", place="Somewhere", item=item, figure=figure, label=item.label, unit=item.unit, decimals=digits,
        band=band, tolerance=0.0, points=tuple(points), as_of=NOW,
    )  # fmt: skip


def hanging(chance: random.Random, count: int, tie: float, spread: float) -> list[float]:
    """Noise in which each value hangs on the one before by a share of `tie`."""
    values = [chance.gauss(0, spread)]
    while len(values) < count:
        values.append(tie * values[-1] + chance.gauss(0, spread * math.sqrt(1 - tie * tie)))
    return values


def eggs(chance: random.Random, share: float) -> float:
    """Eggs of 23 hens on one day."""
    return float(sum(chance.random() < share for _ in range(23)))


def jug(chance: random.Random, flows: list[float], spread: float) -> Series:
    values = [flow + chance.gauss(0, spread) for flow in flows]
    return series("channel", "flow", values, 7, band=(0.85, 1.15))


NOISE: dict[str, Make] = {
    "a careful jug": lambda r: jug(r, [1.0] * 13, 0.02),
    "a careless jug": lambda r: jug(r, [1.0] * 13, 0.05),
    "a careless jug in a new channel": lambda r: jug(r, [1.0] * 7, 0.05),
    "eggs": lambda r: series("hens", "eggs", [eggs(r, 0.75) for _ in range(29)], 1, band=(8, 24)),
    "eggs without a band": lambda r: series("hens", "eggs", [eggs(r, 0.75) for _ in range(29)], 1),
    "water of hens as the weather goes": lambda r: series(
        "hens", "water", [4.8 + e for e in hanging(r, 29, 0.5, 0.4)], 1
    ),
    "a probe in its buffer": lambda r: series(
        "reservoir", "buffer", [7.02 + r.gauss(0, 0.03) for _ in range(13)], 3, band=(6.9, 7.15)
    ),
    "drift of the pH": lambda r: series(
        "reservoir", "ph", [r.gauss(0.03, 0.06) for _ in range(22)], 1.3, figure="drift"
    ),
    "litres drunk, a dip read wrong counting twice": lambda r: series(
        "reservoir", "dip", [4.5 + e for e in hanging(r, 28, -0.4, 1.2)], 1, figure="drunk", decimals=1
    ),
    "litres drunk as the weather goes": lambda r: series(
        "reservoir", "dip", [4.5 + e for e in hanging(r, 28, 0.4, 0.8)], 1, figure="drunk", decimals=1
    ),
}  # fmt: skip
FALLS: dict[str, tuple[Make, float]] = {
    "a jug that loses a quarter in six weeks after six steady ones": (
        lambda r: jug(r, [1.0] * 7 + [1.0 - 0.25 * n / 6 for n in range(1, 7)], 0.02), 0.9,
    ),
    "a jug that loses a quarter from the first week on, read eight times": (
        lambda r: jug(r, [1.0 - 0.25 * n / 7 for n in range(8)], 0.02), 0.9,
    ),
    "a jug that loses a quarter in six weeks, read only in these": (
        lambda r: jug(r, [1.0 - 0.25 * n / 6 for n in range(7)], 0.02), 0.8,
    ),
    "a jug that loses a tenth in twelve weeks, within its band": (
        lambda r: jug(r, [1.0 - 0.1 * n / 12 for n in range(13)], 0.02), 0.8,
    ),
    "hens that lay a third less after four weeks": (
        lambda r: series("hens", "eggs", [eggs(r, 0.75 - 0.25 * n / 28) for n in range(29)], 1, band=(8, 24)), 0.6,
    ),
    "a pH that falls a bit faster every day": (
        lambda r: series("reservoir", "ph", [r.gauss(-0.2 * n / 21, 0.05) for n in range(22)], 1.3, figure="drift"),
        0.8,
    ),
    "a probe that loses a tenth of a pH in five weeks": (
        lambda r: series("reservoir", "buffer", [7.03 - 0.1 * n / 12 + r.gauss(0, 0.015) for n in range(13)], 3,
                         band=(6.9, 7.15)), 0.7,
    ),
    "a tank that leaks a centimetre a day": (
        lambda r: series("tank", "dip", [120.0 - n + r.gauss(0, 1.5) for n in range(29)], 1, band=(40, 160)), 0.95,
    ),
}  # fmt: skip


def share_told(make: Make, count: int, seed: int = 5) -> float:
    chance = random.Random(seed)
    return sum(finding_of(make(chance)) is not None for _ in range(count)) / count


@pytest.mark.parametrize("name", NOISE)
def test_noise_alone_is_told_in_fewer_than_one_series_of_fifty(name: str) -> None:
    assert share_told(NOISE[name], 1000) < FEW_FALSE


@pytest.mark.parametrize("name", FALLS)
def test_a_change_that_matters_is_told(name: str) -> None:
    make, least = FALLS[name]
    assert share_told(make, 200) >= least


def test_a_typing_error_in_every_series_leaves_both_as_they_are() -> None:
    """One value of each series has its point a place too far to the left or right."""

    def spoiled(make: Make) -> Make:
        def spoil(chance: random.Random) -> Series:
            whole = make(chance)
            at, factor = chance.randrange(len(whole.points)), chance.choice([0.1, 10.0])
            values = [p.value * factor if n == at else p.value for n, p in enumerate(whole.points)]
            return series("channel", "flow", values, 7, band=(0.85, 1.15))

        return spoil

    assert share_told(spoiled(NOISE["a careful jug"]), 600) < FEW_FALSE
    fall, _ = FALLS["a jug that loses a quarter in six weeks after six steady ones"]
    assert share_told(spoiled(fall), 200) >= 0.6


def test_a_year_of_weekly_looks_at_a_steady_jug_seldom_tells_anything() -> None:
    """Each week it is looked at again, so that the small chances add up."""
    chance = random.Random(6)
    ever = 0
    for _ in range(150):
        values = [1.0 + chance.gauss(0, 0.03) for _ in range(65)]
        weeks = (series("channel", "flow", values[n - 13 : n], 7, band=(0.85, 1.15)) for n in range(13, 66))
        ever += any(finding_of(week) is not None for week in weeks)
    assert ever / 150 < 0.1


@pytest.mark.long
def test_the_rates_are_printed_for_thousands_of_series() -> None:
    for name, make in NOISE.items():
        print(f"\nnoise: {name:<60} {share_told(make, 5000, seed=8):.4f}", end="")
    for name, (make, _) in FALLS.items():
        print(f"\nfall:  {name:<60} {share_told(make, 1000, seed=8):.3f}", end="")
    assert max(share_told(make, 5000, seed=8) for make in NOISE.values()) < FEW_FALSE
