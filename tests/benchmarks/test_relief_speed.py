"""How long the relief sheet of the sample farm takes, beside one correction of the same run."""

from __future__ import annotations

import time
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from rounds.book.offer import Readings
from rounds.relief.pdf import as_pdf
from rounds.relief.sheet import relief_for, relief_sheet
from rounds.resources import sample_generator
from rounds.walk.offering import work_out
from rounds.walk.session import Session

AT = datetime(2026, 11, 25, 6, 0, tzinfo=UTC)


@pytest.mark.benchmark
def test_a_sheet_with_all_its_tables_costs_less_than_a_hundred_corrections(tmp_path: Path) -> None:
    """Some eighty corrections stand in it; what weeks of history say is gone through once for each reservoir."""
    sample_generator().lay_out(tmp_path / "farm", until=date(2026, 11, 25))
    session = Session.open(tmp_path / "farm", clock=lambda: AT)
    relief = relief_for(session, "helper", date(2026, 11, 26), date(2026, 12, 2))
    readings = Readings(at=AT, ph=5.9, ec_ms_cm=1.4, temperature_c=14.0, dip_cm=36.0)
    as_pdf(relief_sheet(session, relief), AT)
    corrections = []
    for _ in range(5):
        start = time.perf_counter()
        work_out(session, "reservoir-1", readings)
        corrections.append(time.perf_counter() - start)
    start = time.perf_counter()
    sheet = relief_sheet(session, relief)
    worked_out = time.perf_counter()
    as_pdf(sheet, AT)
    printed = time.perf_counter()
    yardstick, whole = min(corrections), printed - start
    print(f"\nrelief sheet: worked out {worked_out - start:.2f} s, printed {printed - worked_out:.2f} s, "
          f"one correction {yardstick * 1e3:.0f} ms, ratio {whole / yardstick:.1f}")  # fmt: skip
    assert whole < 100 * yardstick
