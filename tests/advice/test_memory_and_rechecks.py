"""Beliefs taken up again, rechecks that fall due, the shelf as it is now, and what was learned in words."""

from __future__ import annotations

import dataclasses
from datetime import timedelta

import msgspec
import pytest
from light_farm import ACID, MORNING, Note, a_farm, buffer_dip, rain_water
from simulated_reservoir import random_grower

from rounds.advice.correction import Readings, correct
from rounds.advice.rechecks import recheck_due
from rounds.advice.words import answer_in_words
from rounds.belief import memory
from rounds.belief import state as b
from rounds.belief.pooling import pooled_habits
from rounds.book.offer import form_of
from rounds.book.stock import stock_now

FULL = a_farm(waters=(rain_water(),), full_volume_l=301.0)


def read(at=MORNING, **other):
    return Readings(**{"at": at, "ph": 6.8, "ec_ms_cm": 1.8, "temperature_c": 20.0, "volume_l": 300.0, **other})


def without_beliefs(records):
    return [
        dataclasses.replace(r, data={**r.data, "prediction": {}}) if r.kind == "correction" else r for r in records
    ]  # fmt: skip


def test_a_belief_taken_up_again_is_that_of_going_through_all_of_it():
    grower = random_grower(71, fresh_share=0.0)
    grower.live(4)
    readings = grower.seen(grower.read())
    resumed = correct(grower.farm, grower.records, "r", readings, grower.now)
    afresh = correct(grower.farm, without_beliefs(grower.records), "r", readings, grower.now)
    assert any(r.kind == "correction" and r.data["prediction"]["belief"] for r in grower.records)
    now, then = resumed.prediction["next_morning"]["ph"], afresh.prediction["next_morning"]["ph"]
    assert now["value"] == pytest.approx(then["value"], abs=0.06)
    assert now["high"] - now["low"] == pytest.approx(then["high"] - then["low"], rel=0.2)


def test_a_belief_is_taken_up_where_ph_and_ec_were_typed_in_one_line(monkeypatch):
    """Both then have the same minute, and the EC stands behind the pH in the book."""
    grower = random_grower(71, fresh_share=0.0)
    grower.ec_noise = 0.02
    grower.live(4)
    readings = grower.seen(grower.read())
    resumed = correct(grower.farm, grower.records, "r", readings, grower.now)
    monkeypatch.setattr(memory, "followed", gone_through_again)
    assert correct(grower.farm, grower.records, "r", readings, grower.now) == resumed
    with pytest.raises(AssertionError, match="gone through again"):
        correct(grower.farm, without_beliefs(grower.records), "r", readings, grower.now)


def gone_through_again(*_):
    raise AssertionError("gone through again")


def test_an_entry_put_right_many_events_back_is_noticed_too():
    grower = random_grower(71, fresh_share=0.0)
    grower.live(9)
    readings = grower.seen(grower.read())
    first = next(i for i, r in enumerate(grower.records) if r.kind == "dose" and r.data.get("correction"))
    righted = list(grower.records)
    righted[first] = dataclasses.replace(righted[first], id="righted", value=righted[first].value * 0.5)
    assert len([r for r in righted[first:] if r.item in ("ph", "acid")]) > 2 * memory.REMEMBERED - 4
    entered, put_right = (
        correct(grower.farm, records, "r", readings, grower.now).prediction["phosphate_mmol_l"]
        for records in (grower.records, righted)
    )
    assert entered != put_right


def test_a_record_that_is_opened_less_far_back_still_lets_the_belief_be_taken_up(monkeypatch):
    grower = random_grower(71, fresh_share=0.0)
    grower.live(16)
    readings = grower.seen(grower.read())
    later = [r for r in grower.records if r.measured_at > grower.now - timedelta(days=15.95)]
    monkeypatch.setattr(memory, "followed", gone_through_again)
    assert correct(grower.farm, later, "r", readings, grower.now).prediction["belief"]["closed"] > 3


def others_with(strength: float) -> list[Note]:
    """The last corrections of some other reservoirs, where bottles are so strong against their label."""
    last = []
    for seed in (3, 8, 14):
        grower = random_grower(seed, fresh_share=0.0)
        grower.truth.strength = {"acid": strength, "base": strength}
        grower.live(7)
        newest = [r for r in grower.records if r.kind == "correction"][-1]
        last.append(dataclasses.replace(newest, station=f"other-{seed}", id=f"o{seed}"))
    return last


def test_a_new_reservoir_begins_with_what_the_others_have_shown():
    weak, strong = others_with(0.65), others_with(1.5)
    arriving = b.ARRIVING - b.RESTING
    alone = pooled_habits([], "r", True)
    by_weak, by_strong = (pooled_habits(others, "r", True) for others in (weak, strong))
    assert by_weak.mean[arriving] < alone.mean[arriving] == 0.0
    assert by_weak.mean[arriving] < by_strong.mean[arriving]
    assert all(by_weak.sd(i) < alone.sd(i) for i in range(4))
    assert all(abs(alone.sd(i) - b.habits(True).sd(i)) < 1e-9 for i in range(4))


def test_a_correction_makes_use_of_what_the_others_have_shown():
    others = others_with(0.65)
    found = correct(FULL, [*others, buffer_dip()], "r", read(ph=7.0), MORNING)
    by_itself = correct(FULL, [buffer_dip()], "r", read(ph=7.0), MORNING)
    wide = [c.prediction["co2_atm"]["high"] / c.prediction["co2_atm"]["low"] for c in (found, by_itself)]
    assert wide[0] < 0.98 * wide[1]


def test_the_corrections_of_others_are_never_taken_for_ones_own():
    grower = random_grower(71, fresh_share=0.0)
    grower.live(3)
    foreign = [dataclasses.replace(r, station="other") for r in grower.records if r.kind == "correction"]
    readings = grower.seen(grower.read())
    mine = [r for r in grower.records if r.kind != "correction"]
    with_foreign = correct(grower.farm, [*foreign, *mine], "r", readings, grower.now)
    assert with_foreign.prediction["belief"]["closed"] <= grower.corrections


def test_an_entry_put_right_later_makes_the_past_be_gone_through_again():
    grower = random_grower(72, fresh_share=0.0)
    grower.bring_into_band()
    at = next(i for i, r in enumerate(grower.records) if r.kind == "dose" and r.data.get("correction"))
    righted = list(grower.records)
    righted[at] = dataclasses.replace(righted[at], id="righted", value=righted[at].value * 0.3)
    grower.records.append(Note(kind="reading", item="ph", value=6.3, measured_at=grower.now, id="later"))
    righted.append(grower.records[-1])
    readings = msgspec.structs.replace(grower.seen(6.3), at=grower.now)
    as_entered = correct(grower.farm, grower.records, "r", readings, grower.now)
    as_righted = correct(grower.farm, righted, "r", readings, grower.now)
    assert as_entered.prediction["phosphate_mmol_l"] != as_righted.prediction["phosphate_mmol_l"]


def offered_and_done(hours_ago: float):
    at = MORNING - timedelta(hours=hours_ago)
    found = correct(FULL, [buffer_dip(at)], "r", read(at), at)
    (acid,) = [s for s in found.steps if s.action == "acid"]
    return [
        Note(kind="correction", measured_at=at, id="k", data={"prediction": found.prediction, **form_of(found)}),
        Note(kind="dose", item="acid", value=acid.amount, unit="mL", measured_at=at, id="d",
             data={"action": "acid", "correction": "k"}),
    ]  # fmt: skip


def test_a_correction_is_rechecked_after_three_turnovers_and_next_morning():
    due = {r.stage: r for r in recheck_due(FULL, offered_and_done(0.1), "r", MORNING)}
    assert set(due) == {"mixed", "next-morning"}
    done = MORNING - timedelta(hours=0.1)
    assert due["mixed"].due_at - done == timedelta(minutes=3 * 320.0 / 20.0)
    assert due["next-morning"].due_at > due["mixed"].due_at + timedelta(hours=6)


def test_a_reading_in_time_closes_the_first_recheck_but_not_the_next_mornings():
    records = offered_and_done(2.0)
    records.append(Note(kind="reading", item="ph", value=6.5, measured_at=MORNING - timedelta(hours=0.9), id="p"))
    assert [r.stage for r in recheck_due(FULL, records, "r", MORNING)] == ["next-morning"]


def test_a_reading_too_early_closes_nothing():
    records = offered_and_done(2.0)
    records.append(Note(kind="reading", item="ph", value=6.5, measured_at=MORNING - timedelta(hours=1.7), id="p"))
    assert len(recheck_due(FULL, records, "r", MORNING)) == 2


def test_the_next_mornings_reading_closes_both():
    records = offered_and_done(23.0)
    records.append(Note(kind="reading", item="ph", value=6.3, measured_at=MORNING, id="p"))
    assert recheck_due(FULL, records, "r", MORNING) == ()


def test_a_correction_that_was_not_done_asks_for_no_recheck():
    assert recheck_due(FULL, offered_and_done(1.0)[:1], "r", MORNING) == ()


def test_the_shelf_is_the_last_count_less_what_was_poured_since():
    records = [
        Note(kind="dose", item="acid", value=100.0, unit="mL", measured_at=MORNING - timedelta(days=30), id="old"),
        Note(kind="dose", item="acid", value=250.0, unit="mL", measured_at=MORNING, id="new"),
        Note(kind="stock", item="a", value=7.5, unit="L", measured_at=MORNING, id="count"),
        Note(kind="dose", item="a", value=0.5, unit="L", measured_at=MORNING + timedelta(hours=1), id="poured"),
    ]
    now = stock_now(FULL, records)
    assert now["acid"] == pytest.approx(ACID.amount - 0.25)
    assert now["a"] == pytest.approx(7.0)
    assert now["b"] == 20.0


def test_the_shelf_never_falls_below_nothing():
    gone = [Note(kind="dose", item="acid", value=9.0, unit="L", measured_at=MORNING, id="x")]
    assert stock_now(FULL, gone)["acid"] == 0.0


def test_a_reservoir_nobody_has_dosed_is_not_known_yet():
    assert "not known well yet" in answer_in_words(FULL, [], "r", MORNING)


def test_a_strongly_buffered_reservoir_takes_more_acid_of_the_book_than_a_weak_one():
    def times(left: float) -> str:
        grower = random_grower(3, fresh_share=0.0)
        solution = dataclasses.replace(grower.truth.solution, po4=left)
        inert = solution.inert_meq_l + (left - grower.truth.solution.po4) * 1.25
        grower.truth.solution = dataclasses.replace(solution, inert_meq_l=inert)
        grower.truth.settle()
        grower.live(7)
        return answer_in_words(grower.farm, grower.records, "r", grower.now)

    strong, weak = times(1.4), times(0.35)

    def number(words: str) -> float:
        assert "correction" in words and "acid of the book" in words, words
        return float(words.split("takes ")[1].split(" ")[0]) if "takes the" not in words else 1.0

    assert number(strong) > number(weak), (strong, weak)
