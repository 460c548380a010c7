"""A reading hard to believe is read again before anything is poured; a level that fell too far is looked into."""

from __future__ import annotations

from datetime import timedelta

import pytest
from light_farm import MORNING, TRIED, Note, a_farm, buffer_dip, hard_water, rain_water

from rounds.advice.correction import POURED, Readings, correct
from rounds.farm.stations import Box

RAIN = {"waters": (rain_water(),)}


def read(**other):
    return Readings(**{"at": MORNING, "ph": 5.8, "ec_ms_cm": 1.8, "temperature_c": 20.0, "dip_cm": 50.0, **other})


def reading(item, value, hours_ago):
    at = MORNING - timedelta(hours=hours_ago)
    return Note(kind="reading", item=item, value=value, measured_at=at, id=f"{item}{hours_ago}")


def poured(item, amount, unit, hours_ago, action):
    at = MORNING - timedelta(hours=hours_ago)
    return Note(kind="dose", item=item, value=amount, unit=unit, measured_at=at, data={"action": action},
                id=f"d{hours_ago}")  # fmt: skip


def actions(found):
    return [step.action for step in found.steps]


def codes(found):
    return {f.code for f in found.findings}


YESTERDAY = [
    buffer_dip(),
    *TRIED,
    reading("ec", 1.84, 24.0),
    reading("ph", 5.8, 24.0),
    reading("dip", 50.0, 24.0),
]


@pytest.mark.parametrize("ec", [1.2, 2.6])
def test_a_conductivity_hard_to_believe_is_read_again_before_any_water_is_poured(ec):
    found = correct(a_farm(**RAIN), YESTERDAY, "r", read(ec_ms_cm=ec, dip_cm=47.0), MORNING)
    assert actions(found)[:2] == ["read_again", "top_up"]
    assert "EC" in found.steps[0].text and f"{ec:.2f}" in found.steps[0].why
    assert "Only if the second reading agrees" in found.steps[1].text
    assert "ec-jump" in codes(found) and not {"concentrate_a", "drain_off", "change_out"} & set(actions(found))


def test_only_what_is_missing_is_topped_up_on_a_conductivity_that_is_not_believed():
    """18 L are missing at a dip of 47 cm in a box of 100 x 60 cm; thinning 2.6 to the band would take far more."""
    found = correct(a_farm(**RAIN), YESTERDAY, "r", read(ec_ms_cm=2.6, dip_cm=47.0), MORNING)
    assert sum(s.amount for s in found.steps if s.action == "top_up") == pytest.approx(18.0, abs=0.5)


@pytest.mark.parametrize(("ec", "then"), [(1.2, "concentrate_a"), (2.7, "top_up")])
def test_read_twice_it_is_believed_and_put_right(ec, then):
    again = [*YESTERDAY, reading("ec", ec + 0.02, 0.1)]
    found = correct(a_farm(**RAIN), again, "r", read(ec_ms_cm=ec), MORNING)
    assert "ec-jump" not in codes(found) and actions(found)[0] != "read_again" and then in actions(found)


def test_nothing_can_be_poured_before_the_second_reading_and_it_is_never_silent():
    for ec in (0.2, 0.9, 1.2, 2.5, 3.4, 6.0):
        for dip in (30.0, 47.0, 50.0, 58.0):
            found = correct(a_farm(), YESTERDAY, "r", read(ec_ms_cm=ec, dip_cm=dip), MORNING)
            acts = [a for a in actions(found) if a != "look"]
            assert acts[0] == "read_again", (ec, dip, acts)


def test_a_ph_hard_to_believe_is_read_again_before_the_water_that_is_chosen_by_it():
    records = [buffer_dip(), *TRIED, *(reading("ph", 5.8, h) for h in (72.0, 48.0, 24.0))]
    found = correct(a_farm(), records, "r", read(ph=7.4, dip_cm=46.0), MORNING)
    acts = actions(found)
    assert acts[0] == "read_again" and "pH" in found.steps[0].text
    assert set(acts) & POURED and "reading-jump" in codes(found)
    (acid,) = [s for s in found.steps if s.action == "acid"]
    assert "Only if the second reading agrees" in acid.text


def test_with_the_ph_in_band_a_top_up_chosen_by_a_doubtful_ph_waits_for_a_second_reading_too():
    records = [buffer_dip(), *TRIED, *(reading("ph", 6.6, h) for h in (72.0, 48.0, 24.0))]
    found = correct(a_farm(), records, "r", read(ph=5.7, dip_cm=46.0), MORNING)
    assert actions(found)[0] == "read_again" and "reading-jump" in codes(found)
    again = correct(a_farm(), [*records, reading("ph", 5.72, 0.1)], "r", read(ph=5.7, dip_cm=46.0), MORNING)
    assert "read_again" not in actions(again) and "top_up" in actions(again)


def test_after_a_dose_that_surprised_the_water_waits_for_the_second_reading():
    records = [buffer_dip(), *TRIED, reading("ph", 6.6, 3.0), poured("acid", 60.0, "mL", 2.8, "acid")]
    found = correct(a_farm(**RAIN), records, "r", read(ph=7.3, dip_cm=46.0), MORNING)
    assert actions(found)[0] == "read_again"
    assert "acid" not in actions(found) and "surprise" in {r.code for r in found.refusals}


def test_readings_that_are_believed_ask_for_no_second_one():
    found = correct(a_farm(**RAIN), YESTERDAY, "r", read(ec_ms_cm=1.7, dip_cm=46.5), MORNING)
    assert actions(found)[0] == "top_up" and "Only if" not in found.steps[0].text


# ------------------------------------------------------------------------------------------------------ the level


def a_week(litres_a_day, topped=True):
    """Every morning a dip, and the day's drink made good; the box holds 6 L to the centimetre."""
    records = [buffer_dip(), *TRIED]
    for day in range(8, 0, -1):
        records.append(reading("dip", 50.0 - (litres_a_day / 6.0 if topped else 0.0), 24.0 * day))
        if topped:
            records.append(poured("rain", litres_a_day, "L", 24.0 * day - 0.1, "top_up"))
    return records


def test_a_level_that_fell_far_more_than_is_drunk_sends_one_to_look_before_topping_up():
    """9 L a day are drunk, and 66 L are gone overnight."""
    found = correct(a_farm(**RAIN), a_week(9.0), "r", read(dip_cm=39.0), MORNING)
    assert actions(found)[:2] == ["look", "top_up"]
    (said,) = [f for f in found.findings if f.code == "level-fell"]
    assert said.severity == "act" and "66 L are gone in 24 hours" in said.text and "about 9 L a day" in said.text
    for word in ("leak", "valve", "hose", "before you top up"):
        assert word in said.text
    assert "sockets" in " ".join(found.steps[0].cautions)
    assert not {"thirsty", "hungry"} & codes(found)


@pytest.mark.parametrize("fallen_l", [0.0, 9.0, 20.0])
def test_what_a_hot_day_drinks_is_no_leak(fallen_l):
    found = correct(a_farm(**RAIN), a_week(9.0), "r", read(dip_cm=50.0 - fallen_l / 6.0), MORNING)
    assert "level-fell" not in codes(found) and "look" not in actions(found)


def test_plants_that_always_drink_much_are_believed():
    """60 L of 300 a day, every day: more than a sixth, and yet usual here."""
    found = correct(a_farm(**RAIN), a_week(60.0), "r", read(dip_cm=40.0), MORNING)
    assert "level-fell" not in codes(found)


@pytest.mark.parametrize(("dip_cm", "leaks"), [(30.0, True), (31.0, True), (38.5, False)])
def test_without_history_more_than_fifteen_per_cent_a_day_is_looked_into(dip_cm, leaks):
    """From 42.5 cm in a box of 4 L to the centimetre and 180 L: 50, 46 and 16 L; 15 % of 180 L are 27 L."""
    small = {"working_volume_l": 180.0, "full_volume_l": 200.0, "shape": Box(length_cm=80.0, width_cm=50.0)}
    records = [buffer_dip(), *TRIED, reading("dip", 42.5, 24.0)]
    found = correct(a_farm(**RAIN, **small), records, "r", read(dip_cm=dip_cm), MORNING)
    assert ("level-fell" in codes(found)) is leaks
    assert "top_up" in actions(found)


def test_what_was_drained_off_or_renewed_did_not_leak():
    drained = [*a_week(9.0), poured("", 66.0, "L", 12.0, "drain_off")]
    renewed = [*a_week(9.0), poured("rain", 254.0, "L", 12.0, "change_out")]
    for records in (drained, renewed):
        assert "level-fell" not in codes(correct(a_farm(**RAIN), records, "r", read(dip_cm=39.0), MORNING))


def test_what_was_poured_and_is_gone_again_counts_as_gone():
    """The level is that of yesterday, but 60 L were topped up in between."""
    records = [*a_week(9.0), poured("rain", 60.0, "L", 12.0, "top_up")]
    assert "level-fell" in codes(correct(a_farm(**RAIN), records, "r", read(dip_cm=48.5), MORNING))


def test_once_topped_up_and_steady_it_is_not_said_again_and_while_it_runs_out_it_is():
    records = [*a_week(9.0), reading("dip", 39.0, 1.2), poured("rain", 66.0, "L", 1.1, "top_up")]
    assert "level-fell" not in codes(correct(a_farm(**RAIN), records, "r", read(dip_cm=50.0), MORNING))
    assert "level-fell" in codes(correct(a_farm(**RAIN), records, "r", read(dip_cm=45.0), MORNING))


def test_dipped_twice_it_is_still_said():
    records = [*a_week(9.0), reading("dip", 39.0, 0.2)]
    assert "level-fell" in codes(correct(a_farm(**RAIN), records, "r", read(dip_cm=39.0), MORNING))


# ---------------------------------------------------------------------------------------------- too little to pour


@pytest.mark.parametrize("waters", [(rain_water(),), (rain_water(), hard_water())])
@pytest.mark.parametrize("ec", [2.022, 2.025, 2.035, 2.3])
@pytest.mark.parametrize("dip", [46.0, 48.0, 49.2, 50.0, 50.2, 59.5])
def test_no_water_is_added_that_can_and_stick_cannot_tell(waters, ec, dip):
    """One litre is the mark of a can; half a dip error of 0.5 cm are 1.5 L here, 1 % of the working volume 3 L."""
    farm = a_farm(waters=waters, ec=(2.0, 2.02))
    found = correct(farm, [buffer_dip(), *TRIED], "r", read(ec_ms_cm=ec, ph=6.0, dip_cm=dip), MORNING)
    added = [s.amount for s in found.steps if s.action == "top_up"]
    assert all(litres >= 1.0 for litres in added)
    assert not added or sum(added) >= 3.0


def test_a_hair_above_the_band_is_said_where_too_little_water_would_thin_it():
    band = {"ec": (2.0, 2.02)}
    found = correct(a_farm(**RAIN, **band), [buffer_dip(), *TRIED], "r", read(ec_ms_cm=2.025, ph=5.8), MORNING)
    assert "top_up" not in actions(found) and "water-too-little" in codes(found)


def test_a_small_reservoir_gets_no_half_litres_of_two_waters():
    """60 L in a box of 1.5 L to the centimetre, 2 L missing: a quarter of it would be half a litre."""
    small = {"working_volume_l": 60.0, "full_volume_l": 72.0, "shape": Box(length_cm=50.0, width_cm=30.0)}
    for ph in (5.3, 5.5, 5.8, 6.0, 6.2):
        farm = a_farm(waters=(hard_water(), rain_water()), **small)
        found = correct(farm, [buffer_dip(), *TRIED], "r", read(dip_cm=38.6, ph=ph), MORNING)
        assert all(s.amount >= 1.0 for s in found.steps if s.action == "top_up")


@pytest.mark.parametrize("ec", [2.029, 2.031, 2.035])
def test_the_dip_to_fill_up_to_is_told_so_finely_that_it_moves(ec):
    """6 L to the centimetre: the few litres that thin a hair's breadth move the stick by millimetres."""
    found = correct(a_farm(**RAIN, ec=(2.0, 2.02)), [buffer_dip(), *TRIED], "r", read(ec_ms_cm=ec), MORNING)
    (water,) = [s for s in found.steps if s.action == "top_up"]
    told = float(water.text.split("to a dip of ")[1].split(" cm")[0])
    assert told == pytest.approx(50.0 + water.amount / 6.0, abs=0.051)
