"""What a millilitre of concentrate really brings."""

from __future__ import annotations

from datetime import timedelta

import pytest
from light_farm import MORNING, Note, a_farm, buffer_dip, rain_water

from rounds.advice.composition import feed_known
from rounds.advice.correction import Readings, correct
from rounds.advice.feeding import strength_seen
from rounds.advice.ledger import ledger_of

FARM = a_farm(waters=(rain_water(),), full_volume_l=301.0)


def read(ec: float, at=MORNING):
    return Readings(at=at, ph=5.8, ec_ms_cm=ec, temperature_c=20.0, volume_l=300.0)


def fed_mornings(times: float, days: int = 4):
    """Feedings as advised, and conductivities that rise by so many times what the book says."""
    records = [Note(kind="reading", item="volume", value=300.0, measured_at=MORNING - timedelta(days=30), id="v")]
    for day in range(days, 0, -1):
        at = MORNING - timedelta(days=day)
        records.append(Note(kind="reading", item="ec", value=1.2, measured_at=at, id=f"e{day}"))
        for i, part in enumerate("ab"):
            records.append(
                Note(kind="dose", item=part, value=600.0, unit="mL", measured_at=at + timedelta(minutes=10 * (i + 1)),
                     data={"action": f"concentrate_{part}"}, id=f"{part}{day}")
            )  # fmt: skip
        found = correct(FARM, [], "r", read(1.2, at), at)
        a_ml = next(s.amount for s in found.steps if s.action == "concentrate_a")
        rise = (found.prediction["mixed"]["ec_ms_cm"]["value"] - 1.2) * 600.0 / a_ml
        after = round(1.2 + times * rise, 2)
        records.append(
            Note(kind="reading", item="ec", value=after, measured_at=at + timedelta(hours=2), id=f"f{day}")
        )  # fmt: skip
    return records


def seen(records):
    reservoir = FARM.reservoir("r")
    ledger = ledger_of(FARM, reservoir, feed_known(FARM, FARM.feeds["feed"]), records, MORNING)
    return strength_seen(ledger, ("a", "b"))


def test_without_a_feeding_the_book_is_believed_within_its_spread():
    found = seen([])
    assert (found.times, found.from_feedings) == (1.0, 0) and "book" in found.in_words()


@pytest.mark.parametrize("times", [0.8, 1.0, 1.25])
def test_the_strength_of_a_and_b_is_learned_from_what_the_conductivity_did(times):
    found = seen(fed_mornings(times))
    assert found.from_feedings == 4
    assert found.times == pytest.approx(times, rel=0.09)
    assert found.sd < 0.12
    assert f"{found.times:.2f} times the EC of the book" in found.in_words()


def test_concentrates_that_proved_strong_are_poured_more_sparingly():
    def poured(records) -> float:
        found = correct(FARM, [*records, buffer_dip()], "r", read(1.2), MORNING)
        return sum(s.amount for s in found.steps if s.action == "concentrate_a")

    assert poured(fed_mornings(1.3)) < 0.9 * poured([])


def test_nobody_learns_from_a_feeding_that_makes_no_sense():
    assert seen(fed_mornings(6.0)).from_feedings == 0
