"""What a bucket test shows of each part of a feed: its EC per mL against the book's, with no volume in doubt."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from rounds.book.composition import KnownFeed, concentrate_solution
from rounds.book.feed_tests import BucketTest
from rounds.farm.shelf import Concentrate
from rounds.science.conductivity import ec25_ms_cm
from rounds.science.solution import Solution, mix

Moves = tuple[tuple[float, ...], float, float]
"""How the parts and the volume weigh, seen against foreseen, and the spread of its logarithm."""
LATEST_BUCKETS = 4
LEAST_RISE_MS_CM = 0.06
BELIEVABLE = (0.25, 4.0)
_MODEL_SD = 0.015
_HARD = Solution(ca=1.0, carbonate=2.0)
"""What a plain water is taken to be made of: how it conducts hardly matters for a rise. [mmol/L]"""


def bucket_moves(tests: Sequence[BucketTest], feed: KnownFeed) -> Iterator[Moves]:
    """What the latest buckets show of the parts of a feed; drums made since are not those that were tried."""
    for test in tests[-LATEST_BUCKETS:]:
        yield from _of_one(test, feed)


def _of_one(test: BucketTest, feed: KnownFeed) -> Iterator[Moves]:
    parts = {part.id: (number, part) for number, part in enumerate(feed.products)}
    there, litres, before = _water_of(test.ec_water_ms_cm), test.litres, test.ec_water_ms_cm
    for pour in test.pours:
        if pour.product not in parts:
            return
        number, part = parts[pour.product]
        mixed = mix([(there, litres), (concentrate_solution(part), pour.ml / 1000.0)])
        scale = before / max(ec25_ms_cm(there, 6.0), 1e-6) if before > LEAST_RISE_MS_CM else 1.0
        foreseen = scale * (ec25_ms_cm(mixed, 6.0) - ec25_ms_cm(there, 6.0))
        seen = pour.ec_after_ms_cm - before
        if _is_of_now(part, test) and foreseen >= LEAST_RISE_MS_CM / 2.0 and seen > 0.0:
            ratio = seen / foreseen
            if BELIEVABLE[0] <= ratio <= BELIEVABLE[1]:
                weights = (*(float(n == number) for n in range(len(parts))), 0.0)
                yield weights, ratio, math.hypot(test.meter_sd_ms_cm / seen, test.sd, _MODEL_SD)
        there, litres, before = mixed, litres + pour.ml / 1000.0, pour.ec_after_ms_cm


def _water_of(ec_ms_cm: float) -> Solution:
    return _HARD.scaled(max(ec_ms_cm, 0.0) / ec25_ms_cm(_HARD, 7.0))


def _is_of_now(part: Concentrate, test: BucketTest) -> bool:
    return part.made_on is None or part.made_on <= test.at.date()
