"""What the last correction believed of a bottle's faults: kept by batch, fading with the days."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import msgspec
import pytest
from light_cases import RAIN, case_of, note, ph, read
from light_farm import ACID, BASE, CONCENTRATES, MORNING, TRIED, Note, a_farm, buffer_dip, rain_water

from rounds.advice.correction import correct
from rounds.advice.faults_kept import made_of, remembered
from rounds.belief.hypotheses import FAULTS
from rounds.farm.farm import Farm

PRIOR = {each.code: each.prior for each in FAULTS}


def kept(ago_h: float, weights: dict[str, float], made: str = "", item: str = "acid", **other: Any) -> Note:
    data = {"prediction": {"faults": {item: {"made": made, "weights": weights}}}}
    return note("correction", "", None, ago_h, data=data, **other)


def weights_of(records: list[Note], farm: Farm = RAIN, item: str = "acid") -> dict[str, float]:
    """Odds against all being as told."""
    return dict(remembered(case_of(records, farm=farm), item).odds)


def batch(made: date | None) -> Farm:
    acid = msgspec.structs.replace(ACID, made_on=made)
    return a_farm(waters=(rain_water(),), products=(*CONCENTRATES, acid, BASE))


@pytest.mark.parametrize(("made", "now", "counts"), [
    ("", None, True), ("2026-06-01", date(2026, 6, 1), True), ("2026-06-01", date(2026, 6, 9), False),
    ("", date(2026, 6, 1), False), ("2026-06-01", None, False),
])  # fmt: skip
def test_a_batch_that_was_made_anew_starts_afresh(made: str, now: date | None, counts: bool) -> None:
    farm = batch(now)
    found = weights_of([kept(1.0, {"bottle-ten-times": 1e-6}, made)], farm)
    assert ("bottle-ten-times" in found) is counts
    assert made_of(case_of(farm=farm), "acid") == (now.isoformat() if now else "")


def test_a_new_batch_is_tried_in_a_jar_again() -> None:
    """The jar tests of `TRIED` were of a batch of which nobody said when it was made: a jar of a tried one
    tells of meter and water alone, and why it is asked for says so.
    """

    def asked(made: date | None) -> str:
        acid = msgspec.structs.replace(ACID, made_on=made)
        farm = a_farm(waters=(rain_water(),), products=(*CONCENTRATES, acid, BASE), full_volume_l=301.0)
        found = correct(farm, [*TRIED, buffer_dip()], "r", read(ph=6.9), MORNING)
        (jar,) = (step for step in found.steps if step.action == "jar_test")
        return str(jar.why)

    assert "bottle" not in asked(None)
    assert "a bottle ten times as strong" in asked(date(2026, 6, 10))


def test_a_bottle_that_was_swapped_starts_afresh_from_that_hour_on() -> None:
    """What the bottle before it did, in jars and in the reservoir, says nothing of it; of the meter it still tells."""
    opened = kept(0.5, {}).measured_at
    farm = replace(RAIN, opened={"acid": opened})
    records = [kept(1.0, dict.fromkeys(("bottle-ten-times", "half-circulates"), 1e-6))]
    found = remembered(case_of(records, farm=farm), "acid")
    assert found.odds == {} and made_of(case_of(farm=farm), "acid") == opened.isoformat()
    bottle = {each.code for each in FAULTS if each.sort in ("bottle", "weak")}
    assert found.since == dict.fromkeys(bottle, opened)
    assert remembered(case_of(records, farm=farm), "base").since == {}
    of_this_one = [kept(0.2, {"bottle-ten-times": 1e-6}, made=opened.isoformat())]
    assert set(remembered(case_of(of_this_one, farm=farm), "acid").odds) == {"bottle-ten-times"}


def test_a_swapped_bottle_is_tried_in_a_jar_again() -> None:
    def asked(farm: Farm) -> str:
        found = correct(farm, [*TRIED, buffer_dip()], "r", read(ph=6.9), MORNING)
        return " ".join(str(step.why) for step in found.steps if step.action == "jar_test")

    farm = a_farm(waters=(rain_water(),), products=(*CONCENTRATES, ACID, BASE), full_volume_l=301.0)
    assert "bottle" not in asked(farm)
    assert "a bottle ten times as strong" in asked(replace(farm, opened={"acid": MORNING - timedelta(minutes=5)}))


def test_what_is_remembered_fades_towards_the_prior_at_its_own_pace() -> None:
    """A bottle stays what it is; standing water and a meter may go wrong any day."""
    old = dict.fromkeys(("bottle-ten-times", "half-circulates", "meter-high"), 0.2)
    found = weights_of([kept(72.0, old)])
    assert found["bottle-ten-times"] == pytest.approx(0.2 / 0.4, rel=0.01), "all three together 0.6: 0.4 are as told"
    for code, days in (("half-circulates", 7.0), ("meter-high", 3.0)):
        by_hand = PRIOR[code] + (0.5 - PRIOR[code]) * math.exp(-3.0 / days)
        assert found[code] == pytest.approx(by_hand)


def test_the_newest_that_is_not_to_come_counts() -> None:
    records = [kept(50.0, {"bottle-ten-times": 0.4}), kept(2.0, {"bottle-ten-times": 0.2}),
               kept(-2.0, {"bottle-ten-times": 0.9})]  # fmt: skip
    assert weights_of(records)["bottle-ten-times"] == pytest.approx(0.2 / 0.8, rel=0.01)
    found = remembered(case_of(records), "acid")
    assert found.since["bottle-ten-times"] == kept(2.0, {}).measured_at and set(found.odds) == set(found.since)


def test_one_bottle_says_nothing_of_another() -> None:
    assert weights_of([kept(2.0, {"bottle-ten-times": 0.4}, item="base")]) == {}


@pytest.mark.parametrize("data", [
    {}, {"prediction": None}, {"prediction": {}}, {"prediction": {"faults": None}}, {"prediction": {"faults": []}},
    {"prediction": {"faults": {"acid": None}}}, {"prediction": {"faults": {"acid": {}}}},
    {"prediction": {"faults": {"acid": {"made": "", "weights": {"bottle-ten-times": "much"}}}}},
    {"prediction": {"faults": {"acid": {"made": "", "weights": {"bottle-ten-times": 7.0}}}}},
    {"prediction": {"faults": {"acid": {"made": "", "weights": {"of-later-days": 0.5}}}}},
])  # fmt: skip
def test_records_of_before_and_broken_ones_are_read(data: dict[str, Any]) -> None:
    """Nothing of them is believed, and the advice is that of a bottle that nobody has tried."""
    record = note("correction", "", None, 2.0, data=data)
    assert weights_of([record]) == {}
    found = correct(RAIN, [record, buffer_dip()], "r", read(ph=6.9), MORNING)
    assert "jar_test" in [step.action for step in found.steps]


def test_what_a_correction_believes_is_kept_with_it() -> None:
    """A jar at 8 that shows the bottle to be right is not asked for again tomorrow."""
    first = correct(RAIN, [buffer_dip()], "r", read(ph=6.9), MORNING)
    table = first.prediction["faults"]["acid"]
    assert table["made"] == "" and set(table["weights"]) == set(PRIOR)
    again = note("correction", "", None, 24.0, data={"prediction": first.prediction})
    found = weights_of([again])
    sound = 1.0 - math.fsum(table["weights"].values())
    assert found["bottle-ten-times"] == pytest.approx(table["weights"]["bottle-ten-times"] / sound, rel=0.01)


STRIPS = [note("reading", "strip", 5.9, 0.1), note("reading", "strip", 6.0, 0.05)]


def offered_after(records: list[Note], **readings: Any) -> tuple[Any, Note]:
    found = correct(RAIN, records, "r", read(**readings), MORNING)
    return found, note("correction", f"offer {len(records)}", None, 0.0, data={"prediction": found.prediction})


def test_offering_once_more_forgets_no_fault() -> None:
    """Two strips at 5.9 and 6.0 beside a meter at 6.9: the meter is named, however often it is worked out anew."""
    records = [*TRIED, buffer_dip(), ph(6.9, 0.2), *STRIPS]
    for _ in range(3):
        found, offer = offered_after(records, ph=6.9)
        assert [each.code.startswith("likely-meter") for each in found.refusals] == [True]
        assert not any(step.action == "acid" for step in found.steps)
        records = [*records, offer]


def test_a_jar_that_is_taken_back_counts_no_longer() -> None:
    """What was learned from it is kept with the correction, and falls with it."""
    was_read = [ph(6.9, 0.02), buffer_dip()]
    before, _ = offered_after(was_read, ph=6.9)
    asked = next(each for each in before.questions if each.code == "jar")
    jar = note("reading", "jar", 6.2, 0.0, data={"product": asked.product, "ml_per_l": asked.ml_per_l})
    with_jar, offer = offered_after([*was_read, jar], ph=6.9)
    without, _ = offered_after([*was_read, offer], ph=6.9)

    def acid(found: Any) -> float:
        return sum(step.amount for step in found.steps if step.action == "acid")

    assert acid(with_jar) > 1.5 * acid(before)
    assert acid(without) == acid(before)
    assert "jar" in {each.code for each in without.questions}


def test_a_bottle_and_the_only_meter_are_the_same_at_every_reservoir_and_standing_water_is_not() -> None:
    """What a jar test at one reservoir has shown of the bottle need not be shown at the next."""
    found = weights_of([kept(2.0, dict.fromkeys(PRIOR, 1e-6), station="another")])
    assert found["bottle-ten-times"] == pytest.approx(1e-6, rel=0.1)
    assert found["meter-high"] < 0.1 * PRIOR["meter-high"]
    assert {"half-circulates", "another-water"}.isdisjoint(found)
