"""A nutrient told by its label alone: a safe first dose, and its EC per mL learned from that dose on.

The truth is the light farm's drums of known salts; what the labels say of them is worked out by hand from their
elements. Conductivities of the truth are PHREEQC's where a figure hangs on them.
"""

from __future__ import annotations

import dataclasses
from datetime import timedelta

import pytest
from labelled_farm import labelled_farm
from light_farm import CONCENTRATES, MORNING, TRIED, Note, a_farm, buffer_dip, rain_water

from rounds.advice.correction import Readings, correct
from rounds.belief.feeding import strength_seen
from rounds.book.composition import concentrate_solution, feed_known, water_known
from rounds.book.feed_tests import BucketPour, BucketTest, FeedTests
from rounds.book.ledger import ledger_of
from rounds.science.solution import mix

RAIN = (rain_water(),)
FARM, TRUTH = labelled_farm(waters=RAIN), a_farm(waters=RAIN)


def read(ec: float, at=MORNING, ph: float = 5.8):
    return Readings(at=at, ph=ph, ec_ms_cm=ec, temperature_c=20.0, volume_l=300.0)


def ec_of_truth(engine, pours_ml, litres: float = 306.0 + 14.0):
    water = water_known(TRUTH, "rain", MORNING.date()).solution
    liquids = [(concentrate_solution(part), ml / 1000.0) for part, ml in zip(CONCENTRATES, pours_ml, strict=True)]
    mixed = mix([(water, litres), *liquids])
    return engine.state(mixed, 25.0, 6.0)["sc_us_cm"] / 1000.0


def learned(records, farm=FARM, at=MORNING):
    reservoir, feed = farm.reservoir("r"), feed_known(farm, farm.feeds["feed"])
    return strength_seen(ledger_of(farm, reservoir, feed, records, at), ["a", "b"], feed=feed)


def test_a_first_dose_is_offered_with_a_wider_interval_than_for_known_salts():
    told, known = (correct(farm, [buffer_dip()], "r", read(1.0), MORNING) for farm in (FARM, TRUTH))
    assert [s.action for s in told.steps if s.action.startswith("concentrate")] == ["concentrate_a", "concentrate_b"]
    after = [next(s.after.ec_ms_cm for s in found.steps if s.action == "concentrate_b") for found in (told, known)]
    assert after[0].high - after[0].low > after[1].high - after[1].low


def test_the_first_dose_leaves_the_true_feed_within_the_interval_that_was_foreseen(engine):
    before = [1800.0, 1800.0]
    start = ec_of_truth(engine, before)
    found = correct(FARM, [buffer_dip()], "r", read(round(start, 2)), MORNING)
    pours = [s.amount for s in found.steps if s.action.startswith("concentrate")]
    then = ec_of_truth(engine, [b + p for b, p in zip(before, pours, strict=True)])
    after = next(s.after.ec_ms_cm for s in found.steps if s.action == "concentrate_b")
    assert after.low <= then <= after.high


def test_one_dose_brings_ec_per_ml_within_a_twentieth(engine):
    at, litres = MORNING - timedelta(hours=4), 320.0
    start, then = ec_of_truth(engine, [1500.0, 1500.0]), ec_of_truth(engine, [2600.0, 2600.0])
    records = [
        Note(kind="reading", item="volume", value=300.0, measured_at=at - timedelta(hours=1), id="v"),
        Note(kind="reading", item="ec", value=round(start, 3), measured_at=at, id="e1"),
        *(Note(kind="dose", item=part, value=1100.0, unit="mL", data={"action": f"concentrate_{part}"},
               measured_at=at + timedelta(minutes=10 * n), id=f"d{n}") for n, part in enumerate("ab", start=1)),
        Note(kind="reading", item="ec", value=round(then, 3), measured_at=at + timedelta(hours=2), id="e2"),
    ]  # fmt: skip
    seen = learned(records)
    feed = feed_known(FARM, FARM.feeds["feed"])
    true_feed = feed_known(TRUTH, TRUTH.feeds["feed"])
    by_label = engine.state(feed.full.scaled(0.7), 25.0, 6.0)["sc_us_cm"]
    truly = engine.state(true_feed.full.scaled(0.7), 25.0, 6.0)["sc_us_cm"]
    assert litres == pytest.approx(FARM.circulating_volume_l(FARM.reservoir("r"), 300.0))
    assert seen.times * by_label == pytest.approx(truly, rel=0.05)
    assert seen.sd < 0.7 * learned([]).sd


def test_a_bucket_brings_ec_per_ml_of_each_part_within_a_twentieth(engine):
    water = water_known(TRUTH, "rain", MORNING.date()).solution
    pours, mixed, ecs = [60.0, 60.0], [(water, 10.0)], []
    for part, ml in zip(CONCENTRATES, pours, strict=True):
        mixed.append((concentrate_solution(part), ml / 1000.0))
        ecs.append(engine.state(mix(mixed), 25.0, 6.0)["sc_us_cm"] / 1000.0)
    test = BucketTest(
        at=MORNING, litres=10.0, water="rain", ec_water_ms_cm=0.02,
        pours=tuple(BucketPour(product=p, ml=ml, ec_after_ms_cm=ec)
                    for p, ml, ec in zip("ab", pours, ecs, strict=True)),
    )  # fmt: skip
    feed, true_feed = feed_known(FARM, FARM.feeds["feed"]), feed_known(TRUTH, TRUTH.feeds["feed"])
    ledger = ledger_of(FARM, FARM.reservoir("r"), feed, [], MORNING)
    seen = strength_seen(dataclasses.replace(ledger, tests=FeedTests(buckets=(test,))), ["a", "b"], feed=feed)
    assert seen.from_buckets == 1
    for number, (told, true) in enumerate(zip(feed.brings, true_feed.brings, strict=True)):
        by_label, truly = (engine.state(each.scaled(0.6), 25.0, 6.0)["sc_us_cm"] for each in (told, true))
        assert pytest.approx(truly, rel=0.05) == by_label * 2.718281828 ** seen.belief.mean[number]


def test_phosphate_that_no_label_tells_widens_what_is_believed_of_the_buffer():
    unsure = labelled_farm(waters=RAIN)
    from labelled_farm import with_label

    open_habit = with_label(unsure, "b", npk=(0.5, 1.1, 3.1))
    sds = [feed_known(farm, farm.feeds["feed"]).phosphate_sd for farm in (TRUTH, unsure, open_habit)]
    assert sds[0] == 0.0 and sds[0] < sds[1] < sds[2]
    ledger = ledger_of(open_habit, open_habit.reservoir("r"), feed_known(open_habit, open_habit.feeds["feed"]), [],
                       MORNING)  # fmt: skip
    assert ledger.phosphate_sd == sds[2]


def test_acid_is_offered_on_a_labelled_feed_and_no_more_than_on_a_known_one():
    told, known = (correct(farm, [buffer_dip(), *TRIED], "r", read(1.8, ph=6.9), MORNING) for farm in (FARM, TRUTH))
    acid = [next(s.amount for s in found.steps if s.action == "acid") for found in (told, known)]
    assert 0.0 < acid[0] <= 1.05 * acid[1]


@pytest.mark.parametrize("npk", [(40.0, 40.0, 40.0), (60.0, 0.0, 0.0)])
def test_a_label_that_cannot_be_stops_the_dose_in_a_sentence(npk):
    from labelled_farm import with_label

    found = correct(with_label(FARM, "a", npk=npk), [buffer_dip()], "r", read(1.0), MORNING)
    assert not found.steps
    assert any("look at the label again" in f"{refusal.text} {refusal.instead}" for refusal in found.refusals)


def poured(part: str, ml: float, hours_ago: float) -> Note:
    return Note(kind="dose", item=part, value=ml, unit="mL", measured_at=MORNING - timedelta(hours=hours_ago),
                data={"action": f"concentrate_{part}"}, id=f"{part}-{hours_ago}")  # fmt: skip


def filled(litres: float, hours_ago: float = 60.0) -> Note:
    return Note(kind="dose", item="rain", value=litres, unit="L", measured_at=MORNING - timedelta(hours=hours_ago),
                data={"action": "change_out"}, id=f"fill-{hours_ago}")  # fmt: skip


def advised(records, ec: float = 0.6, farm=FARM):
    found = correct(farm, [buffer_dip(), *records], "r", read(ec), MORNING)
    return found, [step.amount for step in found.steps if step.action.startswith("concentrate")]


def test_the_label_counts_from_the_fill_on_and_says_when_it_is_reached():
    # By hand: 320 L of fresh water at 10 mL/L bear 3,200 mL of each; 3,000 are in, and 200 are left.
    found, amounts = advised([filled(320.0), poured("a", 3000.0, 50.0), poured("b", 3000.0, 49.0)])
    assert amounts == [200.0, 200.0]
    assert any(finding.code == "label-holds" for finding in found.findings)
    found, amounts = advised([filled(320.0), poured("a", 3200.0, 50.0), poured("b", 3200.0, 49.0)])
    assert amounts == []
    assert any(refusal.code == "label-reached" for refusal in found.refusals)


def test_what_was_topped_up_adds_its_share():
    topped = Note(kind="dose", item="rain", value=20.0, unit="L", measured_at=MORNING - timedelta(hours=20),
                  data={"action": "top_up"}, id="t")  # fmt: skip
    _, amounts = advised([filled(320.0), poured("a", 3200.0, 50.0), poured("b", 3200.0, 49.0), topped])
    assert amounts == [200.0, 200.0]


def test_known_salts_and_a_feed_that_was_seen_are_not_held_by_a_label():
    records = [filled(320.0), poured("a", 3200.0, 50.0), poured("b", 3200.0, 49.0)]
    _, amounts = advised(records, farm=TRUTH)
    assert min(amounts) > 100.0
    seen = [Note(kind="measured", item="measured:bucket:feed", station="", measured_at=MORNING - timedelta(days=1),
                 data={"parts": {part: {"per_ml_l": ec, "sd": 0.002} for part, ec in (("a", 0.115), ("b", 0.1))}},
                 id="m")]  # fmt: skip
    _, amounts = advised([*records, *seen])
    assert min(amounts) > 100.0


@pytest.mark.parametrize("kind", ["organic", "buffered"])
def test_an_organic_or_buffered_bottle_has_no_ec_rule_and_acid_waits_a_day(kind):
    from labelled_farm import with_label

    farm = with_label(FARM, "b", npk=(0.5, 1.1, 3.1), **{kind: True})
    found, amounts = advised([], farm=farm)
    assert amounts == [] and any(refusal.code == "feed-not-by-ec" for refusal in found.refusals)
    for hours, waits in ((23.0, True), (25.0, False)):
        records = [buffer_dip(), *TRIED, poured("a", 300.0, hours + 0.1), poured("b", 300.0, hours)]
        found = correct(farm, records, "r", read(1.8, ph=6.9), MORNING)
        assert any(refusal.code == "acid-waits-for-bottle" for refusal in found.refusals) is waits
        assert any(step.action == "acid" for step in found.steps) is not waits


def measured_bucket(engine, hours_ago: float = 5.0) -> Note:
    """A bucket test as `rounds measure` keeps it, of the true drums: 60 mL of each in 10 L."""
    water = water_known(TRUTH, "rain", MORNING.date()).solution
    mixed, ecs = [(water, 10.0)], [0.02]
    for part in CONCENTRATES:
        mixed.append((concentrate_solution(part), 0.06))
        ecs.append(engine.state(mix(mixed), 25.0, 6.0)["sc_us_cm"] / 1000.0)
    rows = [[60.0, ecs[n + 1]] for n in range(2)]
    parts = {p: {"per_ml_l": (ecs[n + 1] - ecs[n]) / 6.0, "sd": 0.003} for n, p in enumerate("ab")}
    return Note(kind="measured", item="measured:bucket:feed", station="", id="bucket",
                measured_at=MORNING - timedelta(hours=hours_ago),
                data={"parts": parts, "rows": rows, "litres": 10.0, "water": "rain", "ec_ms_cm": ecs[0],
                      "products": ["a", "b"]})  # fmt: skip


def test_a_measured_bucket_foresees_the_first_dose_within_a_twentieth(engine):
    before = [1500.0, 1500.0]
    start = ec_of_truth(engine, before)
    records = [buffer_dip(), filled(320.0), poured("a", 1500.0, 50.0), poured("b", 1500.0, 49.0)]
    found = correct(FARM, [*records, measured_bucket(engine)], "r", read(round(start, 3)), MORNING)
    pours = [step.amount for step in found.steps if step.action.startswith("concentrate")]
    then = ec_of_truth(engine, [b + p for b, p in zip(before, pours, strict=True)])
    after = next(step.after.ec_ms_cm for step in found.steps if step.action == "concentrate_b")
    assert after.value - start == pytest.approx(then - start, rel=0.05)
    assert after.low <= then <= after.high


@pytest.mark.parametrize(
    "spoilt", [{"rows": "x"}, {"rows": [[60.0, "a"], [60.0, 1.0]]}, {"rows": [[60.0, 0.1, 1.0]]}, {"litres": None}]
)
def test_a_bucket_record_with_odd_rows_is_read_by_its_sums(engine, spoilt):
    note = measured_bucket(engine)
    odd = dataclasses.replace(note, data={**note.data, **spoilt})
    seen = learned([odd])
    assert seen.from_buckets == 1 and 0.5 < seen.times < 1.5


def fell(*more):
    """Five days after an EC of 1.86, with nothing poured since."""
    at = MORNING - timedelta(days=5)
    old = [Note(kind="reading", item=item, value=value, measured_at=at, id=item)
           for item, value in (("volume", 300.0), ("ec", 1.86), ("ph", 5.8))]  # fmt: skip
    return correct(TRUTH, [buffer_dip(), *old, *more], "r", read(0.9), MORNING)


def test_an_ec_that_fell_by_half_is_read_again_then_a_quarter_goes_in_and_is_read():
    found = fell()
    assert [step.action for step in found.steps] == ["read_again"]
    assert any(finding.code == "ec-fell" for finding in found.findings)
    again = Note(kind="reading", item="ec", value=0.92, measured_at=MORNING - timedelta(minutes=10), id="again")
    quarter = fell(again)
    whole = correct(TRUTH, [buffer_dip()], "r", read(0.9), MORNING)
    a_ml = [next(s.amount for s in each.steps if s.action == "concentrate_a") for each in (quarter, whole)]
    assert a_ml[0] == pytest.approx(a_ml[1] / 4.0, rel=0.15)
    assert any(finding.code == "a-quarter-first" for finding in quarter.findings)
    assert quarter.steps[-1].action == "recheck"


def test_once_the_quarter_was_read_the_rest_goes_in():
    fed = [Note(kind="dose", item=part, value=130.0, unit="mL", data={"action": f"concentrate_{part}"}, id=f"q{part}",
                measured_at=MORNING - timedelta(hours=2, minutes=n)) for n, part in enumerate("ba")]  # fmt: skip
    found = fell(*fed)
    assert not any(finding.code in ("ec-fell", "a-quarter-first") for finding in found.findings)


def test_an_ec_thinned_by_its_top_ups_did_not_fall_far():
    topped = Note(kind="dose", item="rain", value=150.0, unit="L", measured_at=MORNING - timedelta(days=4),
                  data={"action": "top_up"}, id="t")  # fmt: skip
    assert not any(finding.code == "ec-fell" for finding in fell(topped).findings)
