"""Daily life: every morning for some days, the first half of which teach; and one who knows the truth beside it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta

from tests.advice.judged.grower import Grower
from tests.advice.judged.make import Make
from tests.advice.judged.tool import Advisor

DAYS = 14
"""The first week teaches. [d]"""
MORNING_MIN = 12.0 * 60.0
"""So long a grower goes on in a day: what is not right by then is left for the next one. [min]"""


@dataclass(frozen=True, kw_only=True)
class Life:
    """The mornings of the second half."""

    seed: int
    rechecks: tuple[int, ...]
    oracle: tuple[int, ...]
    """1 for each morning on which the oracle poured something."""
    out_of_band: tuple[float, ...]
    """How far out it was when each morning ended; below 0 inside. [-]"""
    lowest_ph: float
    ended: tuple[str, ...]


def lived(build: Callable[[], Make], advisor: type[Advisor], days: int = DAYS) -> Life:
    """Some days of one reservoir, twice: with the tool, and with the oracle."""
    make, known = build(), build()
    grower = Grower(make, advisor(make.farm_files(), make.reservoir_id))
    rechecks, oracle, out, ended = [], [], [], []
    began, (low, high) = make.now, make.band
    for day in range(days):
        before = grower.rechecks
        ended.append(grower.put_right(MORNING_MIN))
        rechecks.append(grower.rechecks - before)
        ph = make.truth().ph
        out.append(max(low - ph, ph - high))
        oracle.append(int(known.oracle_morning()))
        for each in (make, known):
            rest = began + timedelta(days=day + 1) - each.now
            each.wait(max(rest.total_seconds() / 60.0, 1.0))
        grower.foreseen = {}
    late = slice(days // 2, days)
    return Life(seed=make.seed, rechecks=tuple(rechecks[late]), oracle=tuple(oracle[late]),
                out_of_band=tuple(out[late]), lowest_ph=make.truth().lowest_ph, ended=tuple(ended[late]))  # fmt: skip
