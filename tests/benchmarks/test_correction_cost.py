"""What a full correction costs, against a yardstick of plain Python in the same run."""

from __future__ import annotations

import math
import sys
import time
from collections.abc import Callable
from pathlib import Path
from statistics import median

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "advice"))


def cost_ms(work: Callable[[], object], times: int = 25) -> float:
    """Median processor time of one call. [ms]"""
    taken = []
    for _ in range(times):
        start = time.process_time()
        work()
        taken.append((time.process_time() - start) * 1e3)
    return median(taken)


def yardstick() -> float:
    """260,000 exponentials: about the 20 ms that were asked for, where this was written."""
    return sum(math.exp(-i / 1e4) for i in range(260_000))


@pytest.mark.benchmark
def test_a_full_correction_costs_less_than_260_000_exponentials() -> None:
    from light_farm import MORNING, a_farm, buffer_dip
    from simulated_reservoir import random_grower

    from rounds.advice.correction import Readings, correct

    farm, records = a_farm(), [buffer_dip()]
    readings = Readings(at=MORNING, ph=6.9, ec_ms_cm=1.2, temperature_c=20.0, volume_l=270.0)
    grower = random_grower(5, fresh_share=0.0)
    grower.live(20)
    late = grower.seen(grower.read())
    rule = cost_ms(yardstick)
    costs = {
        "water, A, B and acid": cost_ms(lambda: correct(farm, records, "r", readings, MORNING)),
        "after 20 days of history": cost_ms(lambda: correct(grower.farm, grower.records, "r", late, grower.now)),
    }
    print(f"\nyardstick {rule:.1f} ms; " + ", ".join(f"{name} {ms:.1f} ms" for name, ms in costs.items()))
    assert all(ms < rule for ms in costs.values())
