"""How much water is topped up, thins or renews, against sums by hand."""

from __future__ import annotations

import dataclasses
from typing import Any

import msgspec
import pytest
from light_cases import RAIN, case_of, ec, poured, read, told_why
from light_farm import Note, a_farm, blend_water, hard_water, rain_water

from rounds.advice.planning_water import aimed_down, best_water, candidates, planned, room_l
from rounds.advice.projection import as_read, with_water
from rounds.advice.water_plan import least_l
from rounds.book.composition import KnownWater
from rounds.farm.farm import Farm
from rounds.farm.stations import Box

FULL = a_farm(full_volume_l=301.0, waters=(rain_water(),))
"""No room for water."""


def water(records: list[Note] = (), farm: Farm = RAIN, believe_ec: bool = True, **readings: object):  # type: ignore[assignment]
    case = case_of(records, read(**readings), farm)
    return planned(case, as_read(case), believe_ec=believe_ec)


@pytest.mark.parametrize(("dip_cm", "litres"), [
    (50.0, 0.0), (49.1, 0.0), (49.0, 0.0), (48.9, 6.6), (45.0, 30.0), (30.0, 120.0), (51.0, 0.0),
])  # fmt: skip
def test_what_is_missing_to_the_working_level_is_topped_up_from_2_percent_on(dip_cm: float, litres: float) -> None:
    """6 L/cm below 50 cm; 2 % of 300 L are 6 L, more than the 3 L of the stick."""
    found = water(volume_l=None, dip_cm=dip_cm)
    assert found.top_up_l == pytest.approx(litres)
    assert (found.water is not None) is (litres > 0.0)
    assert found.drain_l == 0.0 and not found.change_out and not found.as_base


def test_what_the_stick_cannot_tell_is_not_topped_up() -> None:
    """A stick read to 2 cm tells 12 L."""
    rough = a_farm(waters=(rain_water(),), dip_error_cm=2.0)
    assert water(farm=rough, volume_l=None, dip_cm=48.1).top_up_l == 0.0
    assert water(farm=rough, volume_l=None, dip_cm=47.9).top_up_l == pytest.approx(12.6)


def test_without_a_dip_of_this_round_nothing_is_topped_up_nor_is_there_room() -> None:
    assert water(volume_l=None).top_up_l == 0.0
    assert room_l(case_of(readings=read(volume_l=None))) == 0.0


@pytest.mark.parametrize(("inside_l", "room"), [(300.0, 44.0), (250.0, 94.0), (340.0, 4.0), (344.0, 0.0), (350.0, 0.0)])
def test_room_is_what_is_free_once_pipes_and_channels_have_run_back(inside_l: float, room: float) -> None:
    """360 L when full, less 6 L of pipes and 10 L that the channel holds."""
    assert room_l(case_of(readings=read(volume_l=inside_l))) == pytest.approx(room)


def test_up_to_the_working_level_there_is_always_room() -> None:
    assert room_l(case_of(readings=read(volume_l=290.0), farm=FULL)) == pytest.approx(10.0)


@pytest.mark.parametrize(("reservoir", "least"), [
    ({}, 3.0),
    ({"dip_error_cm": 2.0}, 6.0),
    ({"full_volume_l": 60.0, "working_volume_l": 50.0, "shape": Box(length_cm=30.0, width_cm=30.0)}, 1.0),
])  # fmt: skip
def test_the_least_water_that_is_poured(reservoir: dict[str, object], least: float) -> None:
    """One litre, half of what the stick is off, or 1 % of the working volume: the most of them."""
    farm = a_farm(waters=(rain_water(),), **reservoir)
    inside = farm.reservoir("r").working_volume_l
    assert least_l(case_of(readings=read(volume_l=inside), farm=farm)) == pytest.approx(least)


def test_waters_are_offered_alone_and_by_quarters() -> None:
    case = case_of(farm=a_farm(waters=(rain_water(), hard_water(), blend_water())))
    found = list(candidates(case))
    assert [each.id for each in found[:3]] == ["rain", "well", "blend"]
    assert [each.shares for each in found[3:]] == [
        {"rain": share, "well": pytest.approx(1.0 - share)} for share in (0.25, 0.5, 0.75)
    ]
    assert found[3].name == "25% Rain water and 75% Well water"


def test_a_blend_of_which_a_part_is_less_than_a_litre_is_not_mixed() -> None:
    farm = a_farm(waters=(rain_water(), hard_water()))
    case = case_of([], read(ph=5.55), farm)
    small = best_water(case, as_read(case), 1.9)
    assert small.shares is None
    for litres in (1.9, 3.9, 4.1, 40.0):
        shares = best_water(case, as_read(case), litres).shares
        assert shares is None or min(shares.values()) * litres >= 1.0


def test_the_usual_water_stays_where_nothing_speaks_against_it() -> None:
    first_rain, first_well = (a_farm(waters=pair) for pair in (
        (rain_water(), hard_water()), (hard_water(), rain_water()),
    ))  # fmt: skip
    for farm, usual in ((first_rain, "rain"), (first_well, "well")):
        case = case_of([], read(ph=5.8, volume_l=297.0), farm)
        found = best_water(case, as_read(case), 3.0)
        assert (found.id, found.shares) == (usual, None)


def thinned_to(case, litres: float, known: KnownWater) -> float:
    return with_water(as_read(case), known, litres).ec_ms_cm


@pytest.mark.parametrize(("value", "ripening", "target"), [
    (2.3, False, 1.8), (2.9, False, 1.8), (1.9, False, 1.8), (2.3, True, 1.8), (2.9, True, 1.9), (3.4, True, 2.4),
])  # fmt: skip
def test_the_conductivity_comes_down_in_one_go_and_by_1_a_day_where_fruit_ripens(
    value: float, ripening: bool, target: float
) -> None:
    """1.4 to 2.2: the middle is 1.8. Ripening fruit splits where its feed is thinned by more in a day."""
    case = case_of(readings=read(ec_ms_cm=value), farm=with_stage(ripening=ripening))
    assert aimed_down(case, as_read(case)) == pytest.approx(target)


def test_what_was_thinned_today_is_taken_off_the_day_of_ripening_fruit() -> None:
    """From 2.9 to 2.5 this morning: 0.6 is left of the 1.0."""
    records = [ec(2.9, 3.0), poured("rain", 40.0, 2.0, "top_up")]
    case = case_of(records, read(ec_ms_cm=2.5), with_stage(ripening=True))
    assert aimed_down(case, as_read(case)) == pytest.approx(1.9)
    assert aimed_down(case_of(records, read(ec_ms_cm=2.5)), as_read(case)) == pytest.approx(1.8)


def with_stage(**changes: Any) -> Farm:
    farm = a_farm(waters=(rain_water(),))
    feed = farm.feeds["feed"]
    stages = tuple(msgspec.structs.replace(stage, **changes) for stage in feed.stages)
    return dataclasses.replace(farm, feeds={"feed": msgspec.structs.replace(feed, stages=stages)})


def test_there_is_room_to_thin_so_water_comes_and_nothing_is_drained() -> None:
    """From 2.3 to 1.8 mS/cm in 250 + 20 L with water of 0.02: some 270 * 0.5 / 1.78 = 76 L; there is room for 94."""
    case = case_of(readings=read(ec_ms_cm=2.3, volume_l=250.0))
    found = planned(case, as_read(case))
    assert found.top_up_l == pytest.approx(76.0, rel=0.12)
    assert found.water is not None
    assert thinned_to(case, found.top_up_l, found.water) == pytest.approx(1.8, abs=0.03)
    assert (found.drain_l, found.change_out, found.as_base, found.too_little) == (0.0, False, False, False)


def test_no_feed_is_thrown_away_where_the_room_there_is_brings_it_into_its_band() -> None:
    """The middle would take some 310 * 0.55 / 1.78 = 96 L; the 54 L of room make 2.35 * 310 / 364 = 2.0 of it."""
    found = water(ec_ms_cm=2.35, volume_l=290.0)
    assert (found.drain_l, found.top_up_l) == (0.0, pytest.approx(54.0))
    assert "room" in told_why(found) and "It is full" not in told_why(found)
    too_strong = water(ec_ms_cm=2.8, volume_l=290.0)
    assert too_strong.drain_l > 0.0, "54 L would only bring it to 2.4"


def test_what_is_missing_comes_too_where_the_feed_stays_strong_enough() -> None:
    """90 L are missing, more than thins: with them it has 2.25 * 230 / 320 = 1.62 mS/cm, in band."""
    found = water(ec_ms_cm=2.25, volume_l=210.0)
    assert found.top_up_l == pytest.approx(90.0)
    narrow = a_farm(waters=(rain_water(),), ec=(1.9, 2.2))
    less = water(farm=narrow, ec_ms_cm=2.25, volume_l=240.0)
    assert 0.0 < less.top_up_l < 45.0


@pytest.mark.parametrize(("value", "drains"), [(2.219, False), (2.24, True)])
def test_nothing_is_drained_for_what_lies_within_the_error_of_the_meter(value: float, drains: bool) -> None:
    """2.2 is the end of the band; the stick is good to 0.02 as a standard deviation."""
    found = water(farm=FULL, ec_ms_cm=value)
    assert (found.drain_l > 0.0) is drains
    assert found.too_little is not drains
    assert (found.top_up_l > 0.0) is drains


def test_what_is_drained_is_refilled_and_brings_the_conductivity_to_its_aim() -> None:
    """In 320 L from 2.5 to 1.8 with water of 0.02: 320 * 0.7 / (2.5 - 0.02) = 90.3 L out and in."""
    found = water(farm=FULL, ec_ms_cm=2.5)
    assert found.drain_l == pytest.approx(90.3, abs=0.1)
    assert found.top_up_l == pytest.approx(found.drain_l)


def test_what_is_missing_is_refilled_with_what_was_drained() -> None:
    """290 L in it: 310 L at 2.8, 320 L at 1.8 with water of 0.02: (2.8 - 0.02) * d = 2.8*310 + 0.02*10 - 1.8*320."""
    found = water(farm=FULL, ec_ms_cm=2.8, volume_l=290.0)
    assert found.drain_l == pytest.approx((2.8 * 310.0 + 0.02 * 10.0 - 1.8 * 320.0) / 2.78, rel=0.01)
    assert found.top_up_l == pytest.approx(found.drain_l + 10.0)


@pytest.mark.parametrize(("value", "out"), [(4.4, False), (4.6, True)])
def test_more_than_six_tenths_to_drain_is_a_change_out(value: float, out: bool) -> None:
    """Full: to the middle, 1.8, go (c - 1.8) / (c - 0.02) of it: 0.594 of 4.4, 0.611 of 4.6."""
    found = water(farm=FULL, ec_ms_cm=value)
    assert found.change_out is out
    assert (found.drain_l > 0.0) is not out
    assert found.water is not None and found.water.id == "rain"


def test_only_water_weaker_than_the_aim_thins() -> None:
    """The middle of the band is 1.8: water of 1.76 is within 0.05 of it, water of 1.7 is not."""
    for value, thins in ((1.76, False), (1.70, True)):
        salty = msgspec.structs.replace(rain_water(), ec_ms_cm=value)
        found = water(farm=a_farm(waters=(salty,)), ec_ms_cm=2.4, volume_l=290.0)
        assert (found.water is not None) is thins
        assert ("No water at hand is weak enough" in told_why(found)) is not thins


def test_a_conductivity_that_is_not_believed_thins_nothing() -> None:
    for belief in (True, False):
        found = water(believe_ec=belief, ec_ms_cm=2.5, volume_l=240.0)
        assert ("above the band" in told_why(found)) is belief
    assert water(believe_ec=False, ec_ms_cm=2.5).top_up_l == 0.0
    assert water(ec_ms_cm=2.2).top_up_l == 0.0


@pytest.mark.parametrize(("value", "litres", "comes"), [(5.4, 300.0, True), (5.6, 300.0, False), (5.2, 343.0, False)])
def test_hard_water_is_the_base_below_the_band_while_there_is_room(value: float, litres: float, comes: bool) -> None:
    """The band begins at 5.5. At 343 L there is room for 1 L: less than a fiftieth."""
    found = water(farm=a_farm(waters=(rain_water(), hard_water())), ph=value, volume_l=litres)
    assert found.as_base is comes
    if comes:
        assert found.water is not None and found.water.alkalinity_meq_l >= 0.5
        assert 3.0 <= found.top_up_l <= 44.0


def test_soft_water_is_no_base_and_an_unread_ph_asks_for_none() -> None:
    assert not water(ph=5.2).as_base
    assert not water(farm=a_farm(waters=(rain_water(), hard_water())), ph=None).as_base


def test_why_it_is_topped_up_says_litres_and_that_a_strong_feed_takes_plain_water() -> None:
    assert told_why(water(volume_l=270.0, ec_ms_cm=1.7)) == "30 L are missing to the working level."
    assert told_why(water(volume_l=270.0, ec_ms_cm=1.9)) == (
        "30 L are missing to the working level, and the feed is on the strong side: plain water."
    )
