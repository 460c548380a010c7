"""What is due and what is still to sort cost the same after ten years as after a few months."""

from __future__ import annotations

import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from statistics import median
from typing import Any

import pytest

from rounds.history.record import Draft
from rounds.walk.session import Session
from rounds.walk.to_sort.listing import open_matters

UNTIL = datetime(2026, 11, 25, 6, 0, tzinfo=UTC)
MOST_MS = 20.0
"""So much longer may ten years take. [ms]"""
TIMES = 25


def cost_ms(work: Callable[[], object]) -> float:
    """Median time of one call. [ms]"""
    taken = []
    for _ in range(TIMES):
        start = time.perf_counter()
        work()
        taken.append((time.perf_counter() - start) * 1000.0)
    return median(taken)


def days_of(days: int) -> list[Draft]:
    """Ordinary days, with a check that is off now and then, and one that nobody ever answered."""
    found = [Draft(kind="check", station="ch-2", item="outlet", value=False, measured_at=UNTIL - timedelta(days=days))]
    for day in range(days, 0, -1):
        at = UNTIL - timedelta(days=day)
        values: dict[tuple[str, str], Any] = {
            ("res-1", "ph"): 5.9 + day % 5 * 0.1, ("res-1", "ec"): 1.7, ("res-1", "dip"): 36.0 - day % 3,
            ("ch-1", "flow"): 1.2, ("hens", "eggs"): 9.0, ("hens", "water"): 2.5,
        }  # fmt: skip
        found += [Draft(kind="reading", station=s, item=i, value=v, measured_at=at) for (s, i), v in values.items()]
        found.append(Draft(kind="check", station="ch-1", item="wilt", value=day % 40 != 0, measured_at=at))
        found.append(Draft(kind="check", station="hens", item="perch", value=12, measured_at=at))
    return found


def costs(farm: Path, days: int) -> tuple[float, float]:
    """Due, and what is still to sort, after so many days. [ms]"""
    session = Session.open(farm, clock=lambda: UNTIL)
    with session.history:
        session.history.add_bulk(days_of(days))
        session.read_all()
    session = Session.open(farm, clock=lambda: UNTIL)
    with session.history:
        assert [each.id for each in open_matters(session)] == ["off:ch-2:outlet"]
        return cost_ms(lambda: session.due("morning")), cost_ms(lambda: open_matters(session))


@pytest.mark.benchmark
def test_ten_years_cost_no_more_than_a_few_months(tmp_path: Path, lay_out_farm: Callable[[Path], Path]) -> None:
    short = costs(lay_out_farm(tmp_path / "short"), 120)
    long = costs(lay_out_farm(tmp_path / "long"), 3650)
    for name, few, many in zip(("due", "to sort"), short, long, strict=True):
        print(f"\n{name}: {few:.2f} ms after 120 days, {many:.2f} ms after ten years, {many / few:.2f} times")
        assert many < few + MOST_MS and many < 3.0 * few
