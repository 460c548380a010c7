"""What a millilitre of concentrate really brings."""

from __future__ import annotations

import math
from datetime import timedelta

import pytest
from light_farm import CONCENTRATES, MORNING, Note, a_farm, buffer_dip, neutral, rain_water

from rounds.advice.correction import Readings, correct
from rounds.belief.feeding import A, B, strength_seen
from rounds.book.composition import concentrate_solution, feed_known
from rounds.book.ledger import ledger_of

FARM = a_farm(waters=(rain_water(),), full_volume_l=301.0)
FULL = a_farm(waters=(rain_water(),))


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


def topped_up(thinned_to: float, days: int = 6):
    """Top-ups of 60 L of rain into 316 L, and the conductivities read before and after."""
    records = []
    for day in range(days, 0, -1):
        at = MORNING - timedelta(days=day)
        records += [
            Note(kind="reading", item="volume", value=290.0, measured_at=at, id=f"v{day}"),
            Note(kind="reading", item="ec", value=2.0, measured_at=at, id=f"e{day}"),
            Note(kind="dose", item="rain", value=60.0, unit="L", measured_at=at + timedelta(minutes=5),
                 data={"action": "top_up"}, id=f"w{day}"),
            Note(kind="reading", item="ec", value=round(thinned_to, 2), measured_at=at + timedelta(hours=1),
                 id=f"f{day}"),
        ]  # fmt: skip
    return records


def thinned_to(engine, times: float) -> float:
    """What 60 L of rain make of 2 mS/cm in `times` 316 L: conductivities by PHREEQC, mixed by volume."""
    a, b = (concentrate_solution(part).scaled(0.01) for part in CONCENTRATES)
    fed = neutral(a.plus(b))
    share = 60.0 / (316.0 * times + 60.0)
    before, after = (engine.state(s, 25.0, 5.8)["sc_us_cm"] for s in (fed, fed.scaled(1.0 - share)))
    return 2.0 * after / before


@pytest.mark.parametrize("times", [0.75, 1.0, 1.3])
def test_how_much_circulates_is_learned_from_what_plain_water_thins(engine, times):
    found = seen(topped_up(thinned_to(engine, times)))
    assert (found.from_feedings, found.from_top_ups) == (0, 6)
    assert found.volume_sd < 0.065
    assert abs(found.volume_times - 1.0) >= 0.35 * abs(times - 1.0) - 0.01
    assert min(1.0, times) - 0.04 <= found.volume_times <= max(1.0, times) + 0.04
    assert f"{found.volume_times:.2f} times the litres" in found.in_words() and "6 top-ups" in found.in_words()


def fed_apart(a_times: float, b_times: float):
    """The feedings of `fed_mornings`, with a conductivity read between A and B as well."""
    records = []
    whole = fed_mornings(1.0, days=6)
    rises = {r.id[1:]: float(r.value) - 1.2 for r in whole if r.id.startswith("f")}
    share = ec_share_of_a()
    for record in whole:
        day = record.id[1:]
        if record.id.startswith("b"):
            middle = round(1.2 + share * a_times * rises[day], 2)
            at = record.measured_at - timedelta(minutes=1)
            records.append(Note(kind="reading", item="ec", value=middle, measured_at=at, id=f"m{day}"))
        if record.id.startswith("f"):
            value = round(1.2 + (share * a_times + (1.0 - share) * b_times) * rises[day], 2)
            record = Note(kind="reading", item="ec", value=value, measured_at=record.measured_at, id=record.id)
        records.append(record)
    return records


def ec_share_of_a() -> float:
    """Share of A in the rise, from limiting ionic conductivities (CRC Handbook, from memory; mS/cm per mmol/L).

    Ca 0.119, K 0.0735, NH4 0.0735, NO3 0.0714, H2PO4 0.036, Mg 0.106, SO4 0.160.
    """
    ions = {"ca": 0.119, "k": 0.0735, "nh4": 0.0735, "no3": 0.0714, "po4": 0.036, "mg": 0.106, "so4": 0.160}
    a, b = (
        sum(worth * getattr(concentrate_solution(part), ion) for ion, worth in ions.items()) for part in CONCENTRATES
    )
    return a / (a + b)


def test_a_conductivity_between_a_and_b_tells_which_of_them_is_off():
    found = seen(fed_apart(1.25, 1.0))
    together = seen(fed_mornings(1.12))
    assert found.told_apart and not together.told_apart
    a, b = (math.exp(found.belief.mean[i]) for i in (A, B))
    assert a > 1.06 and abs(b - 1.0) < 0.06 and a - b > 0.03
    assert f"A alone {a:.2f}, B {b:.2f}" in found.in_words()


def test_what_was_seen_to_circulate_moves_the_conductivity_foreseen_after_water():
    little, book = (
        correct(FULL, records, "r", Readings(at=MORNING, ph=5.8, ec_ms_cm=2.3, volume_l=270.0), MORNING)
        for records in (topped_up(1.6), [])
    )
    assert {s.action for s in little.steps if s.amount} == {s.action for s in book.steps if s.amount} == {"top_up"}
    falls = [
        (2.3 - found.prediction["mixed"]["ec_ms_cm"]["value"]) / sum(s.amount for s in found.steps)
        for found in (little, book)
    ]
    assert falls[0] > 1.05 * falls[1]
