"""What conductivities before and after a liquid teach of its strength and of the volume."""

from __future__ import annotations

import math
from typing import Any

import pytest
from believed import FEED, event, ledger

from rounds.belief.feeding import strength_seen
from rounds.book.ledger import LedgerEvent
from rounds.science.conductivity import ec25_ms_cm
from rounds.science.solution import Solution, mix

CONCENTRATE = Solution(ca=300.0, k=500.0, no3=1000.0, po4=100.0)


PLAIN = Solution(na=0.1, cl=0.1)


def fed(times: float = 1.0, hours: float = 1.0, start: float = 0.0, item: str = "a", litres: float = 3.0,
        liquid: Solution = CONCENTRATE):  # fmt: skip
    """A conductivity, a liquid poured, and a conductivity that moved so many times as far as the book foresees."""
    share = litres / (300.0 + litres)
    after = mix([(FEED, 300.0), (liquid, litres)])
    before_ec, after_ec = ec25_ms_cm(FEED, 6.0), ec25_ms_cm(after, 6.0)
    return (
        event("ec", start, before_ec), event("water", start + 0.1, litres, item=item, share=share, solution=after),
        event("ec", start + hours, before_ec + times * (after_ec - before_ec), solution=after),
    )  # fmt: skip


def seen(*events: LedgerEvent, volume_sd: float = 0.08):
    return strength_seen(ledger(*events), ("a", "b"), volume_sd)


def test_nothing_seen_is_the_book_with_its_spread() -> None:
    found = seen()
    assert (found.times, found.volume_times, found.from_feedings, found.from_top_ups) == (1.0, 1.0, 0, 0)
    assert found.sd == pytest.approx(math.sqrt(0.25 * 2 * 0.12**2 + 0.08**2))
    assert (found.volume_sd, found.told_apart) == (pytest.approx(0.08), False)
    assert found.in_words() == "No feeding was read before and after yet: the book's EC per mL is used."
    assert seen(volume_sd=0.001).volume_sd == pytest.approx(0.02)


@pytest.mark.parametrize(("events", "feedings", "top_ups"), [
    (fed(), 1, 0), (fed(hours=6.0), 1, 0), (fed(hours=6.01), 0, 0), (fed(item="rain", litres=30.0, liquid=PLAIN), 0, 1),
    (fed(1.99), 1, 0), (fed(2.01), 0, 0), (fed(0.41), 1, 0), (fed(0.39), 0, 0), (fed(litres=0.1), 0, 0),
    (fed(item="rain", litres=8.0, liquid=PLAIN), 0, 0), ((*fed(), *fed(start=10.0)), 2, 0),
    ([each for n in range(9) for each in fed(start=10.0 * n)], 6, 0),
    ([each for n in range(9) for each in fed(start=10.0 * n, item="rain", litres=30.0, liquid=PLAIN)], 0, 6),
    ([fed()[0], event("renewed", 0.05, 320.0), *fed()[1:]], 0, 0), ([fed()[0], fed()[2]], 0, 0),
])  # fmt: skip
def test_which_pairs_of_conductivities_teach(events: Any, feedings: int, top_ups: int) -> None:
    found = seen(*events)
    assert (found.from_feedings, found.from_top_ups) == (feedings, top_ups)


def test_a_feeding_that_moved_more_is_taken_up_by_its_weight() -> None:
    """A alone against the volume: both prior variances, 0.12² and 0.08², against the meter's and 0.06²."""
    for times in (0.8, 1.25):
        events = fed(times)
        foreseen = (events[2].value - events[0].value) / times
        read = (0.03 * math.sqrt(2.0) / foreseen) ** 2 + 0.06**2
        prior = 0.12**2 + 0.08**2
        found = seen(*events)
        taken = prior / (prior + read) * math.log(times)
        assert math.log(found.volume_times) == pytest.approx(-taken * 0.08**2 / prior, rel=0.01)
        half_a = 0.5 * taken * 0.12**2 / prior
        assert math.log(found.times) == pytest.approx(half_a + taken * 0.08**2 / prior, rel=0.01)


def test_what_conductivities_have_taught_is_said() -> None:
    told = seen(*fed(), *fed(start=10.0, item="rain", litres=30.0, liquid=PLAIN)).in_words()
    assert told.startswith(
        "A millilitre of A and B brings 1.00 times the EC of the book; A alone 1.00, B 1.00; 1.00 times"
    )
    assert told.endswith("from 1 feeding and 1 top-up.")
    two = seen(*fed(), *fed(start=10.0, item="b")).in_words()
    assert "from 2 feedings." in two and "A alone 1.00, B 1.00" in two
    water = seen(*fed(item="rain", litres=30.0, liquid=PLAIN)).in_words()
    assert water.startswith("1.00 times the litres of stick and pipes circulate (") and "A alone" not in water


@pytest.mark.parametrize("times", [1.0, 0.8])
def test_a_and_b_read_only_before_and_after_teach_of_both_together(times: float) -> None:
    """Other liquids, other shares: where it moved as foreseen nothing changes."""
    second = Solution(mg=200.0, so4=200.0, k=200.0, no3=200.0)
    one = mix([(FEED, 300.0), (CONCENTRATE, 3.0)])
    both = mix([(one, 303.0), (second, 9.0)])
    before, after = ec25_ms_cm(FEED, 6.0), ec25_ms_cm(both, 6.0)
    events = (
        event("ec", 0.0, before), event("water", 0.1, 3.0, item="a", share=3.0 / 303.0, solution=one),
        event("water", 0.2, 9.0, item="b", share=9.0 / 312.0, solution=both),
        event("ec", 1.0, before + times * (after - before), solution=both),
    )  # fmt: skip
    found = seen(*events)
    assert (found.from_feedings, found.from_top_ups) == (1, 0)
    assert (found.times < 0.95) is (times < 1.0)
    if times == 1.0:
        assert (found.times, found.volume_times) == pytest.approx((1.0, 1.0), abs=1e-6)
