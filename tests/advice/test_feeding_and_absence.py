"""What a millilitre of concentrate really brings, and water made ready for an absence."""

from __future__ import annotations

import dataclasses
from datetime import timedelta

import pytest
from light_farm import BASE, CONCENTRATES, MORNING, Note, a_farm, buffer_dip, hard_water, rain_water

from rounds.advice.absence import RESERVE, ready_water
from rounds.advice.composition import feed_known
from rounds.advice.correction import Readings, correct
from rounds.advice.feeding import strength_seen
from rounds.advice.ledger import ledger_of
from rounds.errors import BadInput, OutOfRange

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


HARD = a_farm(waters=(hard_water(),))


def test_ready_water_stands_within_the_band_of_the_reservoir_even_if_the_well_is_softer():
    ready = ready_water(HARD, [], "r", 7, MORNING)
    assert ready.acid_id == "acid" and ready.acid.amount > 0.0
    assert 5.5 - 0.02 <= ready.ph_if_softer <= ready.ph_standing
    all_of_it_ml = 4.6 * ready.litres.amount / 1.3
    assert 0.6 * all_of_it_ml < ready.acid.amount < all_of_it_ml
    assert any("Read the pH next day" in step for step in ready.steps)


def test_ready_water_is_fed_at_the_strength_of_a_top_up():
    ready = ready_water(HARD, [], "r", 7, MORNING)
    assert ready.a.amount == pytest.approx(0.5 * 10.0 * ready.litres.amount, rel=0.03)
    assert ready.a.amount == ready.b.amount


def test_ready_water_is_as_much_as_was_topped_up_lately_and_a_reserve():
    records = [
        Note(kind="dose", item="well", value=12.0, unit="L", measured_at=MORNING - timedelta(days=d),
             data={"action": "top_up"}, id=f"t{d}")
        for d in range(1, 11)
    ]  # fmt: skip
    ready = ready_water(HARD, records, "r", 5, MORNING)
    assert ready.litres_per_day == pytest.approx(12.0)
    assert ready.litres.amount == pytest.approx(12.0 * 5 * RESERVE, abs=1.0)


def test_rain_water_needs_no_acid_to_be_ready():
    ready = ready_water(a_farm(waters=(rain_water(),)), [], "r", 7, MORNING)
    assert ready.acid.amount == 0.0 and ready.acid_id is None


@pytest.mark.parametrize("days", [0, -3, 22, 400])
def test_no_absence_is_made_ready_for_that_cannot_be(days):
    with pytest.raises(OutOfRange, match="days"):
        ready_water(HARD, [], "r", days, MORNING)


def test_hard_water_without_acid_on_the_shelf_is_refused():
    with pytest.raises(BadInput, match="no working acid"):
        ready_water(a_farm(waters=(hard_water(),), products=(*CONCENTRATES, BASE)), [], "r", 5, MORNING)


def test_the_steps_keep_acid_first_and_a_and_b_apart():
    ready = ready_water(HARD, [], "r", 7, MORNING)
    said = " ".join(ready.steps)
    assert said.index("Working acid") < said.index("Concentrate A") < said.index("Rinse the cylinder")
    assert any("Acid into water" in caution for caution in ready.cautions)
    assert dataclasses.is_dataclass(ready)
