"""How long it takes to work out a round, against reading the checklists from the disk once."""

from __future__ import annotations

import time
from collections.abc import Callable
from datetime import date, datetime, timedelta
from pathlib import Path
from statistics import median

import pytest

from rounds.book.day import zone_of
from rounds.checklist.due import due_items
from rounds.checklist.events import events_of
from rounds.checklist.load import load_checklists
from rounds.checklist.quick_line import parse_line
from rounds.farm.load import load_farm
from rounds.history import History
from rounds.resources import sample_generator


def cost_ms(work: Callable[[], object], times: int = 15) -> float:
    """Median time of one call. [ms]"""
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        taken.append((time.perf_counter() - start) * 1000)
    return median(taken)


@pytest.mark.benchmark
def test_a_round_of_the_whole_farm_is_worked_out_in_less_time_than_reading_its_checklists(tmp_path: Path) -> None:
    until = date(2026, 11, 25)
    sample_generator().lay_out(tmp_path, until=until)
    farm, lists = load_farm(tmp_path), load_checklists(tmp_path)
    now = datetime.combine(until, datetime.min.time(), zone_of(farm.place.timezone)) + timedelta(hours=7)
    with History.open(tmp_path / "history", device="d-000000000000", read_only=True, now=lambda: now) as history:
        latest = history.latest_by_item()
        recent = history.records(since=now - timedelta(days=45))
    events = events_of(farm, lists, recent)
    reading = cost_ms(lambda: load_checklists(tmp_path))
    due = cost_ms(lambda: due_items(farm, lists, latest, now, "morning", events))
    finding = cost_ms(lambda: events_of(farm, lists, recent))
    items = lists.by_kind["reservoir"].number_items
    line = cost_ms(lambda: parse_line("ph 6,4 ec 1.9 t 21 dip 31cm", items))
    print(f"\nreading the checklists {reading:.2f} ms, due {due:.2f} ms, a quick line {line:.3f} ms")
    print(f"events of {len(recent)} records {finding:.2f} ms")
    assert due < reading
    assert finding < reading
    assert line < reading / 10
