"""What cannot be is answered with a sentence: never a traceback, never a dose."""

from __future__ import annotations

import math
import random
import re
from dataclasses import replace
from datetime import timedelta

import msgspec
import pytest
from light_farm import (
    ACID,
    BASE,
    CONCENTRATES,
    MORNING,
    Note,
    a_farm,
    blend_water,
    buffer_dip,
    hard_water,
    rain_water,
)

from rounds.advice.correction import POURED, Readings, correct
from rounds.book.offer import form_of
from rounds.errors import NotFound
from rounds.farm.farm import Mistake

GOOD = {"at": MORNING, "ph": 6.9, "ec_ms_cm": 1.8, "temperature_c": 20.0, "volume_l": 300.0}


def doses(correction):
    return [step for step in correction.steps if step.action in POURED]


@pytest.mark.parametrize(
    "wrong",
    [
        {"ph": math.nan}, {"ph": math.inf}, {"ph": 56.0}, {"ph": -1.0}, {"ph": 0.0},
        {"ec_ms_cm": math.nan}, {"ec_ms_cm": -0.1}, {"ec_ms_cm": 190.0},
        {"temperature_c": math.nan}, {"temperature_c": -80.0}, {"temperature_c": 95.0},
        {"volume_l": 0.0}, {"volume_l": -5.0}, {"volume_l": 400.0}, {"volume_l": math.nan},
        {"volume_l": None, "dip_cm": -1.0}, {"volume_l": None, "dip_cm": 999.0}, {"volume_l": None, "dip_cm": math.nan},
        {"volume_l": None, "dip_cm": 0.0}, {"second_meter_ph": math.nan},
    ],
    ids=str,
)  # fmt: skip
def test_an_impossible_reading_gets_a_sentence_and_no_dose(wrong):
    found = correct(a_farm(), [buffer_dip()], "r", Readings(**{**GOOD, **wrong}), MORNING)
    assert doses(found) == []
    (refusal,) = found.refusals
    assert refusal.code == "bad-input" and refusal.text.endswith(".") and refusal.instead
    assert "nan" not in str(form_of(found)["assumed"])


@pytest.mark.parametrize("band", [(2.0, 3.0), (5.5, 9.0), (3.9, 6.0)])
def test_a_target_outside_4_to_8_is_refused(band):
    found = correct(a_farm(ph=band), [buffer_dip()], "r", Readings(**GOOD), MORNING)
    assert doses(found) == []
    assert f"pH band {band[0]:g} to {band[1]:g}" in found.refusals[0].text


@pytest.mark.parametrize(
    "changes",
    [
        {"molarity_mol_l": None, "percent": None, "density_kg_l": 1.043},
        {"molarity_mol_l": None, "percent": 95.0, "density_kg_l": None},
        {"molarity_mol_l": 20.0, "agent": "phosphoric"},
        {"molarity_mol_l": math.nan}, {"molarity_mol_l": -1.3}, {"molarity_mol_l": 0.0},
    ],
    ids=str,
)  # fmt: skip
def test_an_absurd_or_incomplete_strength_doses_nothing(changes):
    acid = msgspec.structs.replace(ACID, **changes)
    farm = a_farm(products=(*CONCENTRATES, acid, BASE), full_volume_l=301.0)
    found = correct(farm, [buffer_dip()], "r", Readings(**GOOD), MORNING)
    assert doses(found) == []
    assert any(r.code == "strength-unknown" and r.instead for r in found.refusals)


def test_an_unknown_salt_doses_nothing():
    bad = msgspec.structs.replace(CONCENTRATES[0], salts_g_l={"moon_dust": 10.0})
    farm = a_farm(products=(bad, CONCENTRATES[1], ACID, BASE))
    found = correct(farm, [buffer_dip()], "r", Readings(**GOOD), MORNING)
    assert doses(found) == [] and "moon_dust" in found.refusals[0].text


def test_a_missing_concentrate_is_named():
    found = correct(a_farm(products=(ACID, BASE)), [], "r", Readings(**GOOD), MORNING)
    assert doses(found) == [] and "concentrates" in found.refusals[0].text


def test_charges_that_do_not_balance_are_named_and_widen_the_range():
    lopsided = msgspec.structs.replace(hard_water(), ca_mg_l=5.0, mg_mg_l=1.0)
    readings = Readings(**{**GOOD, "ph": 5.0, "volume_l": 200.0})
    found = correct(a_farm(waters=(lopsided,)), [buffer_dip()], "r", readings, MORNING)
    sound = correct(a_farm(waters=(hard_water(),)), [buffer_dip()], "r", readings, MORNING)
    (finding,) = [f for f in found.findings if f.code == "water-unbalanced"]
    assert "%" in finding.text and "cations" in finding.text
    assert doses(found), "it goes on"

    def width(correction):
        water = next(step for step in correction.steps if step.action == "top_up")
        return water.after.ph.high - water.after.ph.low

    assert "water-unbalanced" not in {f.code for f in sound.findings}
    assert width(found) > width(sound)


def test_a_reservoir_that_is_not_there_is_named():
    with pytest.raises(NotFound, match="no station"):
        correct(a_farm(), [], "nowhere", Readings(**GOOD), MORNING)


def test_records_of_nonsense_are_passed_over():
    records = [
        Note(kind="reading", item="ph", value="six", measured_at=MORNING),
        Note(kind="reading", item="dip", value=math.nan, measured_at=MORNING),
        Note(kind="dose", item="moon", value=12.0, unit="mL", measured_at=MORNING.replace(hour=1), data={}),
        Note(
            kind="dose",
            item="acid",
            value=None,
            unit="mL",
            measured_at=MORNING.replace(hour=2),
            data={"action": "acid"},
        ),
        Note(kind="correction", measured_at=MORNING.replace(hour=3), data={"prediction": {"belief": "broken"}}),
        buffer_dip(),
    ]
    found = correct(a_farm(), records, "r", Readings(**GOOD), MORNING)
    assert found.steps


def an_odd_history(rng: random.Random) -> list[Note]:
    """Readings, doses, water and change-outs in any order and amount, some of products nobody knows."""
    records: list[Note] = []
    at = MORNING - timedelta(days=rng.uniform(0.0, 20.0))
    kinds = (
        lambda: ("reading", "ph", round(rng.uniform(3.5, 9.0), 2), None, ""),
        lambda: ("reading", "ec", round(rng.uniform(0.1, 5.0), 2), "mS/cm", ""),
        lambda: ("reading", "dip", round(rng.uniform(-3.0, 70.0), 1), "cm", ""),
        lambda: ("dose", rng.choice(["acid", "base", "moon"]), rng.uniform(0.0, 900.0), "mL", "acid"),
        lambda: ("dose", rng.choice(["a", "b"]), rng.uniform(0.0, 4000.0), "mL", "concentrate_a"),
        lambda: ("dose", rng.choice(["rain", "well", "blend", "moon"]), rng.uniform(0.0, 200.0), "L", "top_up"),
        lambda: ("dose", "rain", 320.0, "L", "change_out"),
        lambda: ("dose", "", rng.uniform(0.0, 500.0), "L", "drain_off"),
    )
    while at < MORNING and len(records) < 40:
        kind, item, value, unit, action = rng.choice(kinds)()
        data = {"action": action} if action else {}
        records.append(
            Note(kind=kind, item=item, value=value, unit=unit, measured_at=at, data=data, id=f"n{len(records)}")
        )  # fmt: skip
        at += timedelta(hours=rng.expovariate(1.0 / 8.0))
    return records


@pytest.mark.parametrize("seed", range(40))
def test_no_history_and_no_reading_makes_a_traceback_or_a_dose_that_could_end_below_5(seed):
    rng = random.Random(seed)
    waters = [rain_water(), hard_water(rng.uniform(0.0, 9.0)), blend_water()]
    rng.shuffle(waters)
    full = rng.choice([301.0, 360.0, 900.0])
    farm = a_farm(
        waters=tuple(waters), full_volume_l=full, ph=rng.choice([(5.5, 6.1), (5.0, 5.6), (6.3, 7.0), (4.2, 5.2)]),
        ec=rng.choice([(0.4, 0.7), (1.4, 2.2), (2.5, 4.0)]), young=rng.random() < 0.3,
    )  # fmt: skip
    readings = Readings(
        at=MORNING, ph=rng.choice([None, round(rng.uniform(2.0, 11.0), 2), round(rng.uniform(4.5, 8.0), 2)]),
        ec_ms_cm=rng.choice([None, round(rng.uniform(0.0, 12.0), 2), round(rng.uniform(0.3, 3.0), 2)]),
        temperature_c=rng.choice([None, rng.uniform(0.5, 40.0)]), volume_l=rng.choice([None, rng.uniform(1.0, full)]),
    )  # fmt: skip
    found = correct(farm, [*an_odd_history(rng), buffer_dip()], "r", readings, MORNING)
    assert form_of(found)["format"] == 1
    for step in found.steps:
        assert 0.0 <= step.amount <= 5_000.0
        if step.action in ("acid", "base"):
            assert step.amount <= 3_000.0
        if step.action == "acid":
            assert step.after.ph.low >= 5.0


def test_without_any_reading_only_the_level_is_looked_at():
    found = correct(a_farm(), [], "r", Readings(at=MORNING, volume_l=250.0), MORNING)
    assert {s.action for s in found.steps} <= {"top_up", "recheck"}


def with_mistakes(*mistakes, **farm):
    return replace(a_farm(**farm), mistakes=mistakes)


@pytest.mark.parametrize(
    ("file", "key", "found", "expected"),
    [
        ("farm.toml", "limits.step_ph", "x", "pH, above 0, at most 1"),
        ("farm.toml", "limits", "'none'", "a table"),
        ("farm.toml", "limits.helper.step_ml", "-3", "a number above 0"),
        ("feeds.toml", "feeds.feed.part_a", "a", "a concentrate A of shelf.toml"),
        ("farm.toml", "waters.blend.blend", "0.9", "shares that add up to 1"),
    ],
)
def test_a_mistake_in_the_limits_the_feed_or_a_water_here_stops_every_dose_and_is_told(file, key, found, expected):
    mistake = Mistake(file=file, key=key, found=found, expected=expected)
    sound = correct(a_farm(), [buffer_dip()], "r", Readings(**GOOD), MORNING)
    stopped = correct(with_mistakes(mistake), [buffer_dip()], "r", Readings(**GOOD), MORNING)
    assert doses(sound) and stopped.steps == ()
    (refusal,) = stopped.refusals
    assert str(mistake) in refusal.text and file in refusal.instead


@pytest.mark.parametrize("key", ["feeds.feed-2.part_a", "waters.pond.blend", "stations[4].crop", "place.timezone"])
def test_a_mistake_that_has_nothing_to_do_with_this_reservoir_stops_nothing(key):
    mistake = Mistake(file="farm.toml", key=key, found="x", expected="y")
    assert doses(correct(with_mistakes(mistake), [buffer_dip()], "r", Readings(**GOOD), MORNING))


def test_a_bottle_left_out_by_a_mistake_stops_the_doses_where_it_was_poured():
    """Its doses would count neither against the limits of the day nor in the book."""
    mistake = Mistake(file="shelf.toml", key="products[6].percent", found="x", expected="a number")
    other = Note(kind="dose", item="acid-2", value=9.0, unit="mL", measured_at=MORNING - timedelta(hours=5),
                 data={"action": "acid"}, id="d")  # fmt: skip
    farm = with_mistakes(mistake)
    assert "products[6]" in correct(farm, [buffer_dip(), other], "r", Readings(**GOOD), MORNING).refusals[0].text
    assert doses(correct(farm, [buffer_dip()], "r", Readings(**GOOD), MORNING))


def test_the_same_refusal_is_said_once():
    """Hard water in and a high pH afterwards both ask for acid: what is wrong with the bottle is one thing."""
    bare = msgspec.structs.replace(ACID, molarity_mol_l=None)
    farm = a_farm(waters=(hard_water(),), products=(*CONCENTRATES, bare, BASE))
    found = correct(farm, [buffer_dip()], "r", Readings(**{**GOOD, "volume_l": 240.0}), MORNING)
    assert [r.code for r in found.refusals].count("strength-unknown") == 1
    assert len({(r.code, r.text) for r in found.refusals}) == len(found.refusals)


def test_the_working_has_no_infinite_number_in_it():
    found = correct(a_farm(full_volume_l=301.0), [buffer_dip()], "r", Readings(**GOOD), MORNING)
    said = " ".join(line for step in found.steps for line in (*step.explain, *found.explain))
    assert "The least of (mL): " in said
    assert not re.search(r"\b(inf|nan)\b", said)
