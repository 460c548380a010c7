"""What a bucket test shows of each part of a feed: its EC per mL against the book's, with no volume in doubt."""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import datetime

from rounds.book.composition import KnownFeed
from rounds.book.feed_tests import BucketTest, FeedTests
from rounds.farm.shelf import Concentrate
from rounds.science.conductivity import ec25_ms_cm
from rounds.science.solution import Solution, mix

Moves = tuple[tuple[float, ...], float, float]
"""How the parts and the volume weigh, seen against foreseen, and the spread of its logarithm."""
LATEST_BUCKETS = 4
LEAST_RISE_MS_CM = 0.06
BELIEVABLE = (0.25, 4.0)
WORKING_SHARE, STRENGTH_SD = 0.7, 0.03
"""Share of full strength that a bucket is taken to have had where nobody says, and what that leaves in doubt: half
strength reads 2 to 11 % high for each gram. Practice. [-]"""
_MODEL_SD = 0.015
_PLAIN = Solution(ca=1.0, cl=2.0)
"""What a plain water is taken to be made of, whatever its pH: how it conducts hardly matters for a rise. [mmol/L]"""


def bucket_moves(tests: FeedTests, feed: KnownFeed) -> Iterator[Moves]:
    """What the latest buckets show of the parts of a feed; drums made since are not those that were tried."""
    for test in tests.buckets[-LATEST_BUCKETS:]:
        yield from _of_one(test, feed)
    for number, part in enumerate(feed.products):
        mine = [test for test in tests.parts if test.product == part.id and _is_of_now(part, test.at)]
        for tried in mine[-LATEST_BUCKETS:]:
            ratio = tried.per_ml_l / _per_ml_l(feed, number)
            if BELIEVABLE[0] <= ratio <= BELIEVABLE[1]:
                weights = (*(float(n == number) for n in range(len(feed.products))), 0.0)
                yield weights, ratio, math.hypot(tried.sd / tried.per_ml_l, STRENGTH_SD)


def _per_ml_l(feed: KnownFeed, number: int) -> float:
    """What a millilitre of a part in each litre raises the EC by, by the book at working strength. [mS/cm per mL/L]"""
    whole = Solution()
    ecs, shares = [], feed.ml_per_l
    for brings in (Solution(), *feed.brings):
        whole = whole.plus(brings.scaled(WORKING_SHARE))
        ecs.append(ec25_ms_cm(whole, 6.0))
    return max((ecs[number + 1] - ecs[number]) / (WORKING_SHARE * shares[number]), 1e-6)


def _of_one(test: BucketTest, feed: KnownFeed) -> Iterator[Moves]:
    parts = {part.id: (number, part) for number, part in enumerate(feed.products)}
    liquids = [brings.scaled(1000.0 / ml) for brings, ml in zip(feed.brings, feed.ml_per_l, strict=True)]
    there, litres, before = _water_of(test.ec_water_ms_cm), test.litres, test.ec_water_ms_cm
    for pour in test.pours:
        if pour.product not in parts:
            return
        number, part = parts[pour.product]
        mixed = mix([(there, litres), (liquids[number], pour.ml / 1000.0)])
        scale = before / max(ec25_ms_cm(there, 6.0), 1e-6) if before > LEAST_RISE_MS_CM else 1.0
        foreseen = scale * (ec25_ms_cm(mixed, 6.0) - ec25_ms_cm(there, 6.0))
        seen = pour.ec_after_ms_cm - before
        if _is_of_now(part, test.at) and foreseen >= LEAST_RISE_MS_CM / 2.0 and seen > 0.0:
            ratio = seen / foreseen
            if BELIEVABLE[0] <= ratio <= BELIEVABLE[1]:
                weights = (*(float(n == number) for n in range(len(parts))), 0.0)
                yield weights, ratio, math.hypot(test.meter_sd_ms_cm / seen, test.sd, _MODEL_SD)
        there, litres, before = mixed, litres + pour.ml / 1000.0, pour.ec_after_ms_cm


def _water_of(ec_ms_cm: float) -> Solution:
    return _PLAIN.scaled(max(ec_ms_cm, 0.0) / ec25_ms_cm(_PLAIN, 6.0))


def _is_of_now(part: Concentrate, tried_at: datetime) -> bool:
    return part.made_on is None or part.made_on <= tried_at.date()
