"""Histories and readings that are odd but happen: no dose may come of them that nobody would pour."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from zoneinfo import ZoneInfo

import pytest
from light_farm import MORNING, TRIED, Note, a_farm, buffer_dip, hard_water, rain_water

from rounds.advice.case import gathered
from rounds.advice.correction import Correction, Readings, correct
from rounds.advice.gates import acid_poured_today
from rounds.book.measures import vessel_for
from rounds.book.offer import form_of
from rounds.farm.model import Limits
from rounds.science.conductivity import ec25_ms_cm

RAIN = a_farm(waters=(rain_water(),))
HARD = a_farm(waters=(hard_water(),))


def read(at=MORNING, **other) -> Readings:
    return Readings(**{"at": at, "ph": 5.8, "ec_ms_cm": 1.8, "temperature_c": 20.0, "volume_l": 300.0, **other})


def hours_ago(hours: float):
    return MORNING - timedelta(hours=hours)


def amount(found: Correction, action: str) -> float:
    return sum(step.amount for step in found.steps if step.action == action)


def codes(found: Correction) -> set[str]:
    return {said.code for said in (*found.findings, *found.refusals)}


@pytest.mark.parametrize("ec", [0.0, 0.02, 0.03, 0.05, 0.1, 0.3, 0.8])
def test_a_weak_reading_is_never_fed_past_the_step(ec):
    """What A and B really make of rain: by the ions, whose law is held against PHREEQC elsewhere."""
    found = correct(RAIN, [buffer_dip()], "r", read(ec_ms_cm=ec), MORNING)
    from light_farm import CONCENTRATES

    from rounds.book.composition import concentrate_solution

    fed = concentrate_solution(CONCENTRATES[0]).scaled(amount(found, "concentrate_a") / 1000.0 / 316.0)
    fed = fed.plus(concentrate_solution(CONCENTRATES[1]).scaled(amount(found, "concentrate_b") / 1000.0 / 316.0))
    assert 0.15 < ec25_ms_cm(fed, 6.0) <= 0.45
    assert found.prediction["mixed"]["ec_ms_cm"]["value"] == pytest.approx(ec + 0.3, abs=0.05)


def test_a_dead_cell_is_not_fed_on_however_often_it_reads_the_same():
    records = [
        buffer_dip(),
        Note(kind="reading", item="ec", value=1.8, measured_at=hours_ago(24), id="e1"),
        Note(kind="reading", item="ec", value=0.02, measured_at=hours_ago(0.2), id="e2"),
        Note(kind="reading", item="ec", value=0.0, measured_at=MORNING, id="e3"),
    ]
    found = correct(RAIN, records, "r", read(ec_ms_cm=0.0), MORNING)
    assert "ec-dead" in codes(found)
    assert amount(found, "concentrate_a") == amount(found, "concentrate_b") == 0.0


def test_the_vessel_says_how_far_it_is_filled_and_none_is_named_that_cannot_measure():
    assert str(vessel_for(9.0, (1000.0,))) == "10 mL syringe, none of yours fits, to its 9 mL mark"
    assert str(vessel_for(25.0, RAIN.limits.vessels_ml)) == "50 mL cylinder, to its 25 mL mark"
    assert "109" not in str(vessel_for(545.0, (5.0,)))
    assert str(vessel_for(1450.0, (1000.0,))) == "1000 mL jug: 1 x full, then to 450 mL"


def change_out(records, **other) -> Correction:
    found = correct(HARD, records, "r", read(ph=7.4, ec_ms_cm=9.0, **other), MORNING)
    assert "change_out" in [step.action for step in found.steps]
    return found


def test_a_change_out_does_not_go_round_the_gates():
    chlorine = Note(kind="check", item="chlorine", value=True, measured_at=hours_ago(5), id="c")
    shut = change_out([buffer_dip(), chlorine])
    assert amount(shut, "acid") == 0.0 and "chlorine" in codes(shut)
    idle = [Note(kind="reading", item="ph", value=7.4, measured_at=hours_ago(7), id="p0")]
    for h in (6.0, 4.0, 2.0):
        idle += [
            Note(kind="dose", item="acid", value=30.0, unit="mL", measured_at=hours_ago(h), data={"action": "acid"},
                 id=f"d{h}"),
            Note(kind="reading", item="ph", value=7.4, measured_at=hours_ago(h - 1.0), id=f"p{h}"),
        ]  # fmt: skip
    doubtful = change_out([buffer_dip(), *TRIED, *idle])
    assert amount(doubtful, "acid") == 0.0 and "likely-nothing-arrives" in codes(doubtful)
    assert amount(doubtful, "concentrate_b") == 0.0


def test_a_bottle_that_nobody_tried_fills_nothing_before_a_jar_of_the_new_water_was_read():
    """What is poured even so is safe if it is ten times as strong: well water of 4.6 meq/L still has bicarbonate."""
    found = change_out([buffer_dip()])
    first = found.steps[0]
    assert (first.action, first.product, first.of_water) == ("jar_test", "acid", "well")
    assert 10.0 * amount(found, "acid") * 1.3 / 320.0 < 4.6
    assert amount(found, "concentrate_a") == amount(found, "concentrate_b") == 0.0 and "feed-waits" in codes(found)
    (asked,) = found.questions
    assert (asked.code, asked.of_water) == ("jar", "well")


def test_no_jar_is_read_with_a_probe_that_failed_its_buffer():
    """It would show whatever the probe is off by, and make a good bottle look wrong."""
    failed = change_out([buffer_dip(shown=6.3)])
    assert "jar_test" not in [step.action for step in failed.steps] and "buffer-off" in codes(failed)
    assert amount(failed, "acid") == amount(change_out([buffer_dip()]), "acid")


def test_a_fill_asks_for_the_buffer_dip_and_hangs_nothing_on_a_probe_that_failed_it():
    acids = {"none": [*TRIED], "failed": [buffer_dip(shown=6.3), *TRIED], "good": [buffer_dip(), *TRIED]}
    found = {name: change_out(records) for name, records in acids.items()}
    actions = {name: [step.action for step in one.steps] for name, one in found.items()}
    assert "buffer_dip" in actions["none"] and "buffer_dip" not in actions["good"]
    assert actions["good"].count("acid") == 2 and actions["failed"].count("acid") == 1
    assert "buffer-off" in codes(found["failed"])


def test_what_was_poured_from_a_bottle_that_is_off_the_shelf_still_counts():
    records = [
        buffer_dip(),
        Note(kind="reading", item="ph", value=6.9, measured_at=hours_ago(0.2), id="p"),
        Note(kind="dose", item="finished", value=80.0, unit="mL", measured_at=hours_ago(0.03),
             data={"action": "acid"}, id="d"),
    ]  # fmt: skip
    soon = correct(RAIN, records, "r", read(ph=6.9), MORNING)
    assert "still-mixing" in codes(soon) and amount(soon, "acid") == 0.0
    later = MORNING + timedelta(hours=3)
    low = correct(RAIN, records, "r", read(later, ph=5.1, volume_l=350.0), later)
    assert acid_poured_today(gathered(RAIN, records, "r", read(later, ph=5.1), later))
    assert "finished" in next(f.text for f in low.findings if f.code == "unknown-poured")


def test_water_poured_since_the_dip_is_not_poured_again():
    records = [
        Note(kind="reading", item="dip", value=25.0, measured_at=hours_ago(4), id="dip"),
        Note(kind="dose", item="rain", value=150.0, unit="L", measured_at=hours_ago(3.5),
             data={"action": "top_up"}, id="w"),
    ]  # fmt: skip
    for order in (records, records[::-1]):
        found = correct(RAIN, [buffer_dip(), *order], "r", read(volume_l=None), MORNING)
        assert amount(found, "top_up") == 0.0
        assert found.assumed.volume_l == pytest.approx(300.0 + 20.0, abs=1.0)
        assert "volume-assumed" in codes(found)


def test_top_ups_are_not_counted_as_corrections():
    from rounds.advice.words import answer_in_words

    records = [
        Note(kind="dose", item="rain", value=300.0, unit="L", measured_at=hours_ago(24 * 10),
             data={"action": "change_out"}, id="c"),
    ]  # fmt: skip
    for day in range(9, 0, -1):
        records += [
            Note(kind="reading", item="ph", value=5.9, measured_at=hours_ago(24 * day), id=f"p{day}"),
            Note(kind="dose", item="rain", value=10.0, unit="L", measured_at=hours_ago(24 * day - 1),
                 data={"action": "top_up"}, id=f"w{day}"),
        ]  # fmt: skip
    assert "0 corrections so far" in answer_in_words(RAIN, records, "r", MORNING)
    fresh = correct(RAIN, [*records, buffer_dip()], "r", read(ph=6.9), MORNING)
    assert "jar_test" in [step.action for step in fresh.steps], "the acid was never tried"


def test_a_small_limit_of_the_day_is_not_used_up_before_anything_was_poured():
    farm = a_farm(waters=(rain_water(),), limits=Limits(day_ph=0.07))
    found = correct(farm, [buffer_dip()], "r", read(ph=7.4), MORNING)
    assert "day-limit" not in codes(found) and amount(found, "acid") > 0.0


def test_past_trims_of_a_millilitre_do_not_starve_a_large_correction():
    found = correct(RAIN, small_trims(), "r", read(ph=7.0), MORNING)
    (acid,) = [step for step in found.steps if step.action == "acid"]
    assert "three-times-usual" in codes(found) and acid.amount > 3.0
    assert acid.after.ph.value < 6.95


def test_no_history_ends_in_a_traceback():
    nothing_outside = replace(a_farm(waters=(rain_water(),), pipes_l=0.0))
    nothing_outside = replace(nothing_outside, stations={"r": nothing_outside.reservoir("r")})
    drained = [
        Note(kind="dose", item="rain", value=300.0, unit="L", measured_at=hours_ago(5), data={"action": "drain_off"},
             id="o"),
        Note(kind="dose", item="acid", value=10.0, unit="mL", measured_at=hours_ago(4), data={"action": "acid"},
             id="a"),
    ]  # fmt: skip
    assert correct(nothing_outside, [buffer_dip(), *drained], "r", read(ph=6.5), MORNING).steps is not None
    empty = Note(kind="correction", measured_at=hours_ago(3), id="k", data={"prediction": None})
    assert correct(RAIN, [buffer_dip(), empty], "r", read(ph=6.9), MORNING).steps


def test_a_dose_in_litres_counts_as_much_as_in_millilitres():
    def next_acid(value: float, unit: str) -> float:
        records = [
            buffer_dip(),
            Note(kind="reading", item="ph", value=7.0, measured_at=hours_ago(3), id="p"),
            Note(kind="dose", item="acid", value=value, unit=unit, measured_at=hours_ago(2.9),
                 data={"action": "acid"}, id="a"),
        ]  # fmt: skip
        return amount(correct(RAIN, records, "r", read(ph=6.8), MORNING), "acid")

    assert next_acid(0.04, "L") == next_acid(40.0, "mL") > 0.5


def test_a_buffer_dip_of_today_is_one_of_today_in_another_zone_too():
    zone = ZoneInfo("Pacific/Auckland")
    at = MORNING.replace(hour=18).astimezone(zone)
    dip = buffer_dip(MORNING.replace(hour=17, minute=40))
    found = correct(RAIN, [dip], "r", read(at, ph=6.9), at)
    assert "buffer_dip" not in [step.action for step in found.steps]


def test_what_is_poured_only_under_a_condition_says_so_in_the_json_too():
    steps = form_of(change_out([buffer_dip(), *TRIED]))["steps"]
    second = [step for step in steps if step["action"] == "acid"][1]
    assert "Only if the pH now shows" in second["text"] and second["why"]


def test_chlorine_at_a_channel_shuts_the_acid_of_its_reservoir():
    used = Note(kind="check", station="c", item="chlorine", value=True, measured_at=hours_ago(5), id="c")
    found = correct(RAIN, [buffer_dip(), used], "r", read(ph=6.9), MORNING)
    assert "chlorine" in codes(found) and amount(found, "acid") == 0.0


def test_a_doubted_reading_says_that_the_feed_waits_for_the_second_and_tries_the_probe_first():
    records = [
        Note(kind="reading", item="ph", value=6.0, measured_at=hours_ago(24), id="p"),
        Note(kind="reading", item="ec", value=1.9, measured_at=hours_ago(24), id="e"),
    ]
    found = correct(RAIN, records, "r", read(ph=7.1, ec_ms_cm=1.1, volume_l=260.0), MORNING)
    actions = [step.action for step in found.steps if step.action != "look"]
    assert actions.index("buffer_dip") < actions.index("read_again") < actions.index("top_up")
    assert actions.count("buffer_dip") == 1
    (again,) = [step for step in found.steps if step.action == "read_again" and "A and B wait" in step.text]
    assert "concentrate_a" not in actions and "correct again" in again.text


def leaking(*more: Note) -> Correction:
    records = [
        buffer_dip(),
        Note(kind="reading", item="volume", value=300.0, measured_at=hours_ago(24), id="v"),
        Note(kind="dose", item="rain", value=20.0, unit="L", measured_at=hours_ago(23), data={"action": "top_up"},
             id="w"),
        *more,
    ]  # fmt: skip
    return correct(RAIN, records, "r", read(volume_l=190.0), MORNING)


def test_a_fall_of_the_level_names_what_was_poured_in_between_and_is_looked_for_once():
    found = leaking()
    assert found.steps[0].action == "look"
    assert "130 L are gone" in (text := next(f.text for f in found.findings if f.code == "level-fell"))
    assert "the 20 L poured in between counted" in text
    looked = Note(kind="step", item="look", measured_at=hours_ago(0.1), data={"action": "look"}, id="l")
    again = leaking(looked)
    assert "look" not in [step.action for step in again.steps]
    assert "level-fell" in codes(again)


def test_the_recheck_falls_due_when_the_correction_said_it_would():
    from rounds.advice.rechecks import recheck_due

    found = correct(RAIN, [buffer_dip()], "r", read(ph=6.9, volume_l=240.0), MORNING)
    said = next(step for step in found.steps if step.action == "recheck")
    acid = next(step for step in found.steps if step.action == "acid")
    records = [
        buffer_dip(),
        Note(kind="correction", measured_at=MORNING, id="k", data={"prediction": found.prediction, **form_of(found)}),
        Note(kind="dose", item="acid", value=acid.amount, unit="mL", measured_at=MORNING,
             data={"action": "acid", "correction": "k"}, id="d"),
    ]  # fmt: skip
    due = {each.stage: each.due_at for each in recheck_due(RAIN, records, "r", MORNING)}
    assert f"in {(due['mixed'] - MORNING) / timedelta(minutes=1):.0f} minutes" in said.text


def small_trims() -> list[Note]:
    """Three past trims of a millilitre, which make that the usual."""
    records = [buffer_dip()]
    for day in (9, 8, 7):
        records += [
            Note(kind="reading", item="ph", value=6.15, measured_at=hours_ago(24 * day), id=f"p{day}"),
            Note(kind="dose", item="acid", value=1.0, unit="mL", measured_at=hours_ago(24 * day - 0.1),
                 data={"action": "acid"}, id=f"d{day}"),
            Note(kind="reading", item="ph", value=6.1, measured_at=hours_ago(24 * day - 2), id=f"q{day}"),
        ]  # fmt: skip
    return records


@pytest.mark.parametrize("left_ml", [6.0, 8.0, 12.0])
def test_no_more_is_advised_than_is_left_whatever_is_usual(left_ml):
    counted = Note(kind="stock", station="", item="acid", value=left_ml / 1000.0, unit="L", measured_at=hours_ago(1))
    found = correct(RAIN, [*small_trims(), counted], "r", read(ph=7.0), MORNING)
    assert 0.0 < amount(found, "acid") <= left_ml
    assert ("short-stock" in codes(found)) is (amount(found, "acid") == left_ml)


def after_a_change_out(*, old_ph: float, ph_now: float, volume_l: float = 300.0) -> Correction:
    """This morning's change-out with its two acid pours, A and B, then the first reading of the new feed."""
    poured = (
        (4.0, "well", 320.0, "L", "change_out"), (3.5, "acid", 600.0, "mL", "acid"), (3.0, "acid", 100.0, "mL", "acid"),
        (2.6, "a", 2500.0, "mL", "concentrate_a"), (2.2, "b", 2500.0, "mL", "concentrate_b"),
    )  # fmt: skip
    records = [
        Note(kind="reading", item="ph", value=old_ph, measured_at=hours_ago(5), id="old"), buffer_dip(),
        *(
            Note(kind="dose", item=item, value=value, unit=unit, measured_at=hours_ago(h), data={"action": action},
                 id=f"{item}{h}")
            for h, item, value, unit, action in poured
        ),
        Note(kind="reading", item="ph", value=ph_now, measured_at=MORNING, id="new"),
    ]  # fmt: skip
    return correct(HARD, records, "r", read(ph=ph_now, volume_l=volume_l), MORNING)


@pytest.mark.parametrize("old_ph", [5.8, 7.8])
def test_the_acid_of_a_fill_is_not_held_against_the_new_feed(old_ph):
    found = after_a_change_out(old_ph=old_ph, ph_now=6.7)
    assert not codes(found) & {"no-effect", "day-limit"}
    assert amount(found, "acid") > 0.0


def test_acid_that_went_into_the_fill_still_keeps_base_away():
    full = after_a_change_out(old_ph=5.8, ph_now=5.1, volume_l=360.0)
    assert "base-after-acid" in codes(full) and amount(full, "base") == 0.0


def test_hard_water_is_not_fed_where_its_acid_is_shut():
    chlorine = Note(kind="check", item="chlorine", value=True, measured_at=hours_ago(5), id="c")
    shut = change_out([buffer_dip(), chlorine])
    assert amount(shut, "concentrate_a") == amount(shut, "concentrate_b") == 0.0
    assert "feed-waits" in codes(shut)
    assert amount(change_out([buffer_dip(), *TRIED]), "concentrate_b") > 0.0


def test_concentrates_of_drums_that_are_gone_count_for_the_day_too():
    def fed(a: str, b: str) -> float:
        records = [
            buffer_dip(),
            Note(kind="reading", item="ec", value=0.9, measured_at=hours_ago(3.5), id="e"),
            *(
                Note(kind="dose", item=item, value=600.0, unit="mL", measured_at=hours_ago(3),
                     data={"action": f"concentrate_{part}"}, id=item)
                for item, part in ((a, "a"), (b, "b"))
            ),
            Note(kind="reading", item="ec", value=1.35, measured_at=MORNING, id="f"),
        ]  # fmt: skip
        return amount(correct(RAIN, records, "r", read(ec_ms_cm=1.35), MORNING), "concentrate_a")

    assert fed("old_a", "old_b") <= 1.5 * fed("a", "b") + 10.0


def test_a_new_fill_of_plain_water_is_no_dead_cell():
    records = [
        buffer_dip(),
        Note(kind="reading", item="ec", value=1.8, measured_at=hours_ago(24), id="e"),
        Note(kind="dose", item="rain", value=316.0, unit="L", measured_at=hours_ago(3), data={"action": "change_out"},
             id="c"),
        Note(kind="reading", item="ec", value=0.02, measured_at=hours_ago(1), id="f"),
    ]  # fmt: skip
    found = correct(RAIN, records, "r", read(ec_ms_cm=0.02), MORNING)
    assert "ec-dead" not in codes(found)


def test_what_was_unknown_is_gone_with_the_feed_it_went_into():
    records = [
        buffer_dip(),
        Note(kind="dose", item="finished", value=80.0, unit="mL", measured_at=hours_ago(48), data={"action": "acid"},
             id="d"),
        Note(kind="dose", item="rain", value=316.0, unit="L", measured_at=hours_ago(30), data={"action": "change_out"},
             id="c"),
    ]  # fmt: skip
    assert "unknown-poured" not in codes(correct(RAIN, records, "r", read(), MORNING))


def test_top_ups_without_a_dip_do_not_pile_up():
    records = [Note(kind="reading", item="dip", value=50.0, measured_at=hours_ago(24 * 10), id="dip"), buffer_dip()]
    records += [
        Note(kind="dose", item="rain", value=20.0, unit="L", measured_at=hours_ago(24 * day), data={"action": "top_up"},
             id=f"w{day}")
        for day in range(9, 0, -1)
    ]  # fmt: skip
    found = correct(RAIN, records, "r", read(volume_l=None), MORNING)
    assert found.assumed.volume_l == pytest.approx(320.0, abs=1.0)


def test_nothing_is_drained_off_for_what_the_meter_cannot_tell():
    full = {"waters": (rain_water(),), "full_volume_l": 301.0}
    hair, clear = (
        correct(a_farm(**full), [buffer_dip()], "r", read(ec_ms_cm=ec), MORNING) for ec in (2.21, 2.4)
    )  # fmt: skip
    assert amount(hair, "drain_off") == 0.0 and "water-too-little" in codes(hair)
    assert amount(clear, "drain_off") > 0.0


@pytest.mark.parametrize(("value", "unit"), [(60.0, "L"), (60_000.0, "mL")])
def test_water_in_millilitres_counts_as_much_as_in_litres(value, unit):
    records = [
        buffer_dip(),
        Note(kind="reading", item="dip", value=30.0, measured_at=hours_ago(4), id="dip"),
        Note(kind="dose", item="rain", value=value, unit=unit, measured_at=hours_ago(3), data={"action": "top_up"},
             id="w"),
    ]  # fmt: skip
    found = correct(RAIN, records, "r", read(volume_l=None), MORNING)
    assert found.assumed.volume_l == pytest.approx(180.0 + 60.0 + 20.0, abs=1.0)
