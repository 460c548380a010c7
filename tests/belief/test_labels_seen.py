"""What a bucket teaches of a published feed that was told as label only, its prior made without it.

Conductivities are PHREEQC's, for the true composition; the judge of the priors themselves is
`tests/science/test_untold_feeds.py`, which tells the labels.
"""

from __future__ import annotations

import math
from datetime import UTC, date, datetime

import pytest

from rounds.belief.buckets import bucket_moves
from rounds.belief.feeding import strength_seen
from rounds.book.composition import KnownFeed
from rounds.book.feed_tests import BucketPour, BucketTest, FeedTests
from rounds.book.ledger import Ledger
from rounds.farm.feeds import Feed
from rounds.farm.labels import Label
from rounds.farm.shelf import Concentrate
from rounds.science.solution import Solution
from tests.science.conftest import Engine
from tests.science.test_untold_feeds import ML_PER_L, READ, believed, pair, told

MORNING = datetime(2026, 6, 10, 8, 0, tzinfo=UTC)
WATER = Solution(ca=0.5, carbonate=1.0)
SHARE = 0.7
"""Of full strength, in the bucket."""


@pytest.fixture(scope="module")
def engine() -> Engine:
    return Engine()


def known(feed) -> KnownFeed:
    """The pair as it is believed from its labels and the other feeds."""
    parts = tuple(
        Concentrate(
            id=letter.lower(), name=letter, part=letter, amount=5, unit="L", counted_on=date(2026, 6, 1),
            label=Label(npk=tuple(value for _, value in told(solution, role).percent), by="volume", p_and_k="oxides"),
        )
        for letter, role, solution in zip("AB", ("calcium", "rest"), pair(feed), strict=True)
    )  # fmt: skip
    told_feed = Feed(id="f", name="F", part_a="a", part_b="b", a_ml_per_l=ML_PER_L, b_ml_per_l=ML_PER_L, stages=())
    brings = tuple(each.per_ml.scaled(ML_PER_L) for each in believed(feed, as_pair=True))
    return KnownFeed(feed=told_feed, products=parts, brings=brings)


def ec(engine: Engine, solution: Solution) -> float:
    return engine.state(solution, 25.0, 6.0)["sc_us_cm"] / 1000.0


@pytest.mark.parametrize("feed", READ, ids=lambda f: f.name)
def test_a_bucket_brings_a_label_within_a_twentieth(engine, feed):
    a, b = pair(feed)
    strong = min(1.0, 1.6 / ec(engine, feed.solution)) * SHARE
    after_a = WATER.plus(a.scaled(strong))
    ecs = [ec(engine, after_a), ec(engine, after_a.plus(b.scaled(strong)))]
    pours = tuple(BucketPour(product=part, ml=10.0 * ML_PER_L * strong, ec_after_ms_cm=value)
                  for part, value in zip("ab", ecs, strict=True))  # fmt: skip
    test = BucketTest(at=MORNING, litres=10.0, water="", ec_water_ms_cm=ec(engine, WATER), pours=pours)
    believed_feed = known(feed)
    assert len(list(bucket_moves(FeedTests(buckets=(test,)), believed_feed))) == 2
    ledger = Ledger(solution=WATER, volume_l=100.0, since=None, drunk_share=0.0, events=(),
                    tests=FeedTests(buckets=(test,)))  # fmt: skip
    seen = strength_seen(ledger, ("a", "b"), feed=believed_feed)
    foreseen = WATER
    for brings, mean in zip(believed_feed.brings, seen.belief.mean, strict=False):
        rise = ec(engine, WATER.plus(brings.scaled(strong))) - ec(engine, WATER)
        foreseen = foreseen.plus(brings.scaled(strong))
        assert rise > 0.0 and abs(mean) < 0.5
    by_label = ec(engine, foreseen) - ec(engine, WATER)
    assert by_label * math.exp(seen.belief.mean_of((*seen.shares, 0.0))) == pytest.approx(
        ecs[-1] - ec(engine, WATER), rel=0.05
    )
