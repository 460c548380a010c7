"""What one answer of the water chemistry costs, against a yardstick of plain Python in the same run."""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from statistics import median

import pytest

from rounds.science.acids_bases import agent_by_molarity
from rounds.science.conductivity import ec25_ms_cm
from rounds.science.dosing import acid_demand_meq_l, dose_for_ph
from rounds.science.solution import Solution
from rounds.science.speciation import ph_closed, ph_open


def cost_us(work: Callable[[], object], times: int = 60) -> float:
    """Median time of one call. [us]"""
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        taken.append((time.perf_counter() - start) * 1e6)
    return median(taken)


def yardstick() -> float:
    """Ten thousand exponentials: about a millisecond on a machine of 2020."""
    return sum(math.exp(-i / 1e4) for i in range(10_000))


@pytest.mark.benchmark
def test_an_answer_costs_less_than_ten_thousand_exponentials() -> None:
    feed = Solution(no3=13.0, k=6.0, ca=6.0, mg=2.5, so4=2.3, po4=1.0, nh4=1.0, cl=0.7, na=1.0, carbonate=4.9)
    acid = agent_by_molarity("nitric", 1.5)
    rule = cost_us(yardstick)
    costs = {
        "pH, closed": cost_us(lambda: ph_closed(feed, 20.0)),
        "pH, open": cost_us(lambda: ph_open(feed, 20.0)),
        "dose": cost_us(lambda: dose_for_ph(feed, 5.8, acid, 20.0, 100.0)),
        "demand": cost_us(lambda: acid_demand_meq_l(feed, 5.8, 20.0)),
        "conductivity": cost_us(lambda: ec25_ms_cm(feed, 6.0)),
    }
    print(f"\nyardstick {rule:.0f} us; " + ", ".join(f"{name} {us:.0f} us" for name, us in costs.items()))
    assert all(us < rule for us in costs.values())
