"""What looking for slow change costs, against reading the same records. Run with -m benchmark -n 0 -s."""

from __future__ import annotations

import time
from collections.abc import Callable
from datetime import date, datetime, timedelta
from pathlib import Path
from statistics import median

import pytest

from rounds.book.day import zone_of
from rounds.farm.load import load_farm
from rounds.resources import sample_generator
from rounds.walk.session import Session
from rounds.walk.slow_change.watch import look_over

pytestmark = pytest.mark.benchmark


def cost_ms(work: Callable[[], object], times: int = 9) -> float:
    """Median processor time of one call. [ms]"""
    taken = []
    for _ in range(times):
        start = time.process_time()
        work()
        taken.append((time.process_time() - start) * 1000)
    return median(taken)


def test_looking_over_the_farm_costs_a_few_times_the_reading_of_its_records(tmp_path: Path) -> None:
    until = date(2026, 11, 25)
    sample_generator().lay_out(tmp_path, until=until)
    zone = zone_of(load_farm(tmp_path).place.timezone)
    now = datetime.combine(until, datetime.min.time(), zone) + timedelta(hours=7)
    session = Session.open(tmp_path, clock=lambda: now, read_only=True)
    since = now - timedelta(days=200)
    count = len(session.history.records(since=since))
    reading = cost_ms(lambda: session.history.records(since=since))
    farm = cost_ms(lambda: look_over(session))
    station = cost_ms(lambda: look_over(session, station_id="reservoir-1"))
    print(f"\n{count} records: reading {reading:.0f} ms, whole farm {farm:.0f} ms, a reservoir {station:.0f} ms")
    assert farm < 12 * reading
    assert station < 5 * reading
