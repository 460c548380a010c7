"""Whatever is read and whatever is on record: no traceback, no number that is none, no step that is not safe."""

from __future__ import annotations

import math
import random
from datetime import timedelta
from typing import Any

import pytest
from light_farm import (
    ACID,
    BASE,
    CONCENTRATES,
    COUNTED,
    MORNING,
    Note,
    a_farm,
    blend_water,
    buffer_dip,
    hard_water,
    rain_water,
)

from rounds.advice.correction import Correction, Readings, correct
from rounds.farm.farm import Farm
from rounds.farm.model import Limits
from rounds.farm.shelf import Acid, Base

ACIDS = (
    ACID,
    *(
        Acid(
            id="acid", name=agent, agent=agent, amount=5, unit="L", counted_on=COUNTED, molarity_mol_l=1.0, working=True
        )
        for agent in ("phosphoric", "sulfuric", "hydrochloric")
    ),
)
BASES = (
    BASE,
    *(
        Base(
            id="base", name=agent, agent=agent, amount=5, unit="L", counted_on=COUNTED, molarity_mol_l=0.6, working=True
        )
        for agent in ("potassium_carbonate", "potassium_hydrogen_carbonate")
    ),
)
WATERS = (
    (hard_water(7.0),), (hard_water(0.05),), (rain_water(),), (hard_water(),),
    (hard_water(), rain_water(), blend_water()),
)  # fmt: skip
SHUT = {"bottle-doubtful", "no-effect", "chlorine", "base-after-acid"}
POURED = ("acid", "base", "concentrate_a", "concentrate_b")


def any_farm(rng: random.Random) -> Farm:
    limits = Limits(
        next_round_h=rng.choice((0.5, 12.0, 24.0, 336.0)), step_ph=rng.choice((0.1, 0.4, 1.0)),
        day_ph=rng.choice((0.07, 0.3, 1.0, 2.0)), step_ec=rng.choice((0.1, 0.3, 1.0)),
        vessels_ml=rng.choice(((5.0,), (1000.0,), (10.0, 100.0, 500.0))),
    )  # fmt: skip
    shelf = (*CONCENTRATES, rng.choice(ACIDS), rng.choice(BASES))
    return a_farm(waters=rng.choice(WATERS), products=shelf, limits=limits, young=rng.random() < 0.3)


def any_record(rng: random.Random, n: int, water: str) -> list[Note]:
    at = MORNING - timedelta(
        hours=rng.choice((rng.uniform(0.02, 3.0), rng.uniform(1.0, 60.0), rng.uniform(1.0, 600.0)))
    )
    common: dict[str, Any] = {"measured_at": at, "id": f"n{n}", "station": "r" if rng.random() < 0.9 else "other"}
    kind = rng.choice(("ph", "ec", "acid", "base", "gone", "feed", "top_up", "drain_off", "change_out", "chlorine"))
    if kind in ("ph", "ec"):
        value = round(rng.uniform(4.8, 7.6) if kind == "ph" else rng.uniform(0.0, 3.0), 2)
        return [Note(kind="reading", item=kind, value=value, **common)]
    if kind in ("acid", "base", "gone"):
        action = kind if kind != "gone" else rng.choice(("acid", "base"))
        value, unit = rng.choice(((rng.uniform(1.0, 60.0), "mL"), (0.03, "L")))
        return [Note(kind="dose", item=kind, value=value, unit=unit, data={"action": action}, **common)]
    if kind == "feed":
        return [
            Note(kind="dose", item=part, value=300.0, unit="mL", data={"action": f"concentrate_{part}"}, **common)
            for part in "ab"
        ]  # fmt: skip
    if kind == "chlorine":
        return [Note(kind="check", item="chlorine", value=rng.random() < 0.6, **common)]
    litres = {"top_up": 20.0, "drain_off": 60.0, "change_out": 320.0}[kind]
    return [Note(kind="dose", item=water, value=litres, unit="L", data={"action": kind}, **common)]


def any_case(seed: int) -> tuple[Farm, list[Note], Readings]:
    rng = random.Random(seed)
    farm = any_farm(rng)
    water = next(iter(farm.waters))
    records = [buffer_dip(shown=rng.choice((7.02, 7.02, 7.02, 6.4)))] if rng.random() < 0.8 else []
    for n in range(rng.choice((0, 0, 3, 12, 25))):
        records += any_record(rng, n, water)
    if rng.random() < 0.8:
        records.sort(key=lambda record: record.measured_at)
    readings = Readings(
        at=MORNING, ph=rng.choice((4.0, 4.5, 5.0, 5.4, 5.8, 6.2, 6.4, 6.9, 7.4, 8.0, 8.9, None)),
        ec_ms_cm=rng.choice((None, 0.0, 0.02, 0.1, 0.3, 0.8, 1.3, 1.8, 2.3, 3.0, 7.0, 11.0)),
        temperature_c=rng.choice((1.0, 10.0, 20.0, 30.0, 39.0, None)),
        volume_l=rng.choice((1.0, 20.0, 150.0, 290.0, 300.0, 360.0, None)), ph_meter="pen", ec_meter="stick",
    )  # fmt: skip
    return farm, records, readings


def what_is_wrong(farm: Farm, readings: Readings, found: Correction) -> list[str]:
    """Everything about a correction that nobody could stand by."""
    wrong = []
    codes = {said.code for said in (*found.findings, *found.refusals)}
    actions = [step.action for step in found.steps]
    poured = None
    for step in found.steps:
        spans = (step.after.ph, step.after.ec_ms_cm, step.after.volume_l)
        numbers = [step.amount, step.wait_min, *(v for span in spans for v in (span.low, span.value, span.high))]
        if not all(math.isfinite(number) and number >= 0.0 for number in numbers):
            wrong.append(f"a number that is none: {step}")
        if step.action == "acid" and step.after.ph.low < farm.limits.lowest_ph:
            wrong.append(f"acid to a low end of {step.after.ph.low:.2f}")
        if step.action == "base" and step.after.ph.high > 7.5:
            wrong.append(f"base to a high end of {step.after.ph.high:.2f}")
        if step.action in POURED and poured:
            wrong.append(f"{step.action} right after {poured}")
        if step.action in POURED and step.amount <= 0.0:
            wrong.append(f"{step.action} of nothing")
        poured = step.action if step.action in POURED else None
    if {"acid", "base"} <= set(actions):
        wrong.append("acid and base in one correction")
    if "acid" in actions and codes & SHUT:
        wrong.append(f"acid in spite of {codes & SHUT}")
    if readings.ph is not None and readings.ph >= 6.9 and not actions and not found.refusals:
        wrong.append("a high pH and silence")
    wrong += fed_too_far(farm, readings, found)
    return wrong


def fed_too_far(farm: Farm, readings: Readings, found: Correction) -> list[str]:
    """Concentrates that would raise the conductivity past the step, by the tool's word or by what they bring."""
    amounts = {step.action: step.amount for step in found.steps}
    if "concentrate_a" not in amounts or "change_out" in amounts or readings.ec_ms_cm is None:
        return []
    volume = found.assumed.volume_l or 0.0
    strength = amounts["concentrate_a"] / (10.0 * (volume + amounts.get("top_up", 0.0)))
    rise = next(step.after.ec_ms_cm.value for step in found.steps if step.action == "concentrate_b")
    thinned = [step.after.ec_ms_cm.value for step in found.steps if step.action == "top_up"]
    start = min([readings.ec_ms_cm, *thinned])
    missing = max(0.0, readings.ec_ms_cm - start) + farm.limits.step_ec
    wrong = []
    if rise - readings.ec_ms_cm > farm.limits.step_ec + 0.1:
        wrong.append(f"fed from {readings.ec_ms_cm} to {rise:.2f}")
    if strength > 1.4 * missing / 1.7:
        wrong.append(f"{strength:.2f} of full strength for {missing:.2f} mS/cm")
    return wrong


@pytest.mark.parametrize("block", range(6))
def test_nothing_that_can_be_read_or_recorded_leads_to_an_unsafe_step(block):
    for seed in range(100 * block, 100 * block + 100):
        farm, records, readings = any_case(seed)
        found = correct(farm, records, "r", readings, MORNING)
        assert not what_is_wrong(farm, readings, found), (seed, what_is_wrong(farm, readings, found))


@pytest.mark.long
def test_nothing_leads_to_an_unsafe_step_many_times_over():
    for seed in range(10_000, 16_000):
        farm, records, readings = any_case(seed)
        found = correct(farm, records, "r", readings, MORNING)
        assert not what_is_wrong(farm, readings, found), (seed, what_is_wrong(farm, readings, found))
