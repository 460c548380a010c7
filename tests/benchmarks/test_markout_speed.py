"""How long one key takes in marking out, beside a yardstick of the same run."""

import time

import pytest

from rounds.markout.cautions import warnings_of
from rounds.markout.plan import plan
from rounds.markout.typed import read
from rounds.units import warm_up

TYPED = {
    "length": "14.3m", "section": "120x60mm", "slope": "1:40", "spacing": "250mm", "hole": "50mm", "flow": "1.2L/min",
    "supports": "15", "ground": ",".join(str(i * 3 % 11) for i in range(15)) + "mm", "channels": "20",
    "pump": "0:4,20:3,40:0", "lift": "1.1m", "supply_pipe": "20mm:6m", "header": "20mm", "inlet_tube": "4mm:0.5m",
    "return_pipe": "50mm:4m", "room": "6m", "reservoir_full": "200L", "reservoir_working": "150L",
}  # fmt: skip


def _best(work, times=15):
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        taken.append(time.perf_counter() - start)
    return min(taken)


@pytest.mark.benchmark
def test_one_key_costs_a_fraction_of_building_pints_registry_once():
    """The largest form we expect; the yardstick (a fifth of a second by itself) is what the first unit costs."""
    import pint

    warm_up()
    yardstick = _best(lambda: pint.UnitRegistry().Quantity(1, "cm").to("m"), times=3)
    key = _best(lambda: warnings_of(plan(read(TYPED))))
    small = _best(lambda: warnings_of(plan(read({k: TYPED[k] for k in list(TYPED)[:6]}))))
    print(f"\nmark out, one key: short form {small * 1e3:.2f} ms, largest form {key * 1e3:.2f} ms, "
          f"registry {yardstick * 1e3:.0f} ms, ratio {key / yardstick:.3f}")  # fmt: skip
    assert key < yardstick / 8
