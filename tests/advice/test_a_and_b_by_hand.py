"""How much of A and B is poured, and what holds it down, against sums by hand."""

from __future__ import annotations

import msgspec
import pytest
from light_cases import RAIN, case_of, ec, poured, read, told, told_why, with_shelf
from light_farm import Note, a_farm, rain_water

from rounds.advice.planning_feed import planned as feed_planned
from rounds.advice.projection import as_read
from rounds.farm.farm import Farm


def fed(records: list[Note] = (), farm: Farm = RAIN, **readings: object):  # type: ignore[assignment]
    case = case_of(records, read(**readings), farm)
    return feed_planned(case, as_read(case))


@pytest.mark.parametrize(("value", "aim", "by"), [
    (1.39, 1.69, "step"), (1.2, 1.5, "step"), (1.0, 1.3, "step"), (1.4, None, ""), (1.8, None, ""),
])  # fmt: skip
def test_feeding_aims_at_six_tenths_of_the_band_and_goes_a_step_at_most(
    value: float, aim: float | None, by: str
) -> None:
    """1.4 to 2.2: the aim is 1.4 + 0.6 * 0.8 = 1.88; a step is 0.3 mS/cm."""
    found = fed(ec_ms_cm=value)
    assert bool(found.pours) is (aim is not None)
    if aim is not None:
        assert found.aim_ec == pytest.approx(aim)
        assert found.limited_by == by
        assert f"EC would be {value:.2f} mS/cm, below the band of 1.4 to 2.2." == told_why(found)


def test_a_narrow_band_is_fed_to_its_aim() -> None:
    """1.4 to 1.6: 1.52, within a step of 1.35."""
    found = fed(farm=a_farm(waters=(rain_water(),), ec=(1.4, 1.6)), ec_ms_cm=1.35)
    assert found.aim_ec == pytest.approx(1.52) and found.limited_by == ""


def test_a_and_b_are_worked_out_by_the_litre() -> None:
    """Both by 10 mL/L at full strength; 320 L."""
    found = fed(ec_ms_cm=1.2)
    assert found.pours and found.pours[0] == found.pours[1] and found.pours[0].unit == "mL"
    strength = found.pours[0].amount / (10.0 * 320.0)
    case = case_of(readings=read(ec_ms_cm=1.2))
    full_ec = as_read(case_of(readings=read(ec_ms_cm=None))).ec_book
    assert strength == pytest.approx(0.3 / full_ec, rel=0.2)
    assert feed_planned(case, as_read(case)) == found


@pytest.mark.parametrize(("young", "aim"), [(False, 1.3), (True, 1.15)])
def test_young_plants_get_half_the_step_of_ec(young: bool, aim: float) -> None:
    assert fed(farm=a_farm(waters=(rain_water(),), young=young), ec_ms_cm=1.0).aim_ec == pytest.approx(aim)


@pytest.mark.parametrize(("before", "aim"), [(0.9, 1.3), (0.8, 1.3), (0.7, 1.2), (0.6, 1.1), (0.5, None), (0.49, None)])
def test_what_was_raised_today_counts_against_the_day(before: float, aim: float | None) -> None:
    """1.0 now; 0.5 mS/cm is the most of a day, 0.3 of a step."""
    found = fed([ec(before, 5.0), poured("a", 90.0, 4.0, "concentrate_a")], ec_ms_cm=1.0)
    if aim is None:
        assert not found.pours and [refusal.code for refusal in found.refusals] == ["day-limit-ec"]
    else:
        assert found.aim_ec == pytest.approx(aim)


def test_the_day_is_that_of_the_feed_and_half_for_young_plants() -> None:
    """Raised by 0.2 already: 0.3 of 0.5 are left, or 0.05 of 0.25 for young plants."""
    day = [ec(0.8, 5.0), poured("a", 90.0, 4.0, "concentrate_a")]
    young = a_farm(waters=(rain_water(),), young=True)
    assert fed(day, ec_ms_cm=1.0).aim_ec == pytest.approx(1.3)
    assert fed(day, young, ec_ms_cm=1.0).aim_ec == pytest.approx(1.05)
    unknown = [poured("a", 90.0, 4.0, "concentrate_a")]
    assert fed(unknown, ec_ms_cm=1.0).aim_ec == pytest.approx(1.3)


@pytest.mark.parametrize("short", ["a", "b"])
def test_a_and_b_go_as_far_as_the_shorter_of_both(short: str) -> None:
    farm = with_shelf(**{short: {"amount": 200.0, "unit": "mL"}})
    found = fed(farm=farm, ec_ms_cm=1.2)
    assert found.pours
    assert (*(pour.amount for pour in found.pours), found.limited_by) == (200.0, 200.0, "stock")
    assert [finding.code for finding in found.findings] == ["short-stock"]
    empty = fed(farm=with_shelf(**{short: {"amount": 0.0}}), ec_ms_cm=1.2)
    assert not empty.pours and empty.findings == ()
    (refusal,) = empty.refusals
    assert refusal.code == "out-of-stock" and f"too little of Concentrate {short.upper()}." in told(refusal)


@pytest.mark.parametrize(("left", "named"), [(4.9, "Concentrate A"), (5.0, "A and B"), (5.1, "A and B")])
def test_less_than_five_millilitres_are_no_stock(left: float, named: str) -> None:
    """For 0.05 mL/L in 320 L: what would be poured is too little to be measured."""
    farm = with_shelf(a={"amount": left, "unit": "mL"})
    feed = msgspec.structs.replace(farm.feeds["feed"], b_ml_per_l=0.5, a_ml_per_l=100.0)
    farm.feeds["feed"] = feed  # type: ignore[index]
    found = fed(farm=farm, ec_ms_cm=1.2)
    (refusal,) = found.refusals
    assert refusal.code == "out-of-stock" and f"too little of {named}." in told(refusal)


FALLING = [ec(value, 24.0 * (4 - n)) for n, value in enumerate((1.86, 1.76, 1.66, 1.56))]
"""By 0.1 mS/cm a day."""


@pytest.mark.parametrize(("value", "feeds"), [(1.46, True), (1.47, True), (1.49, False), (1.6, False)])
def test_a_feed_that_will_be_too_thin_at_the_next_round_is_fed_now(value: float, feeds: bool) -> None:
    """The band begins at 1.4; the stick is good to 0.02: less than 1.38 is foreseen of what has less than 1.48."""
    found = fed(FALLING, ec_ms_cm=value)
    assert bool(found.pours) is feeds
    assert not fed(ec_ms_cm=value).pours


def test_feeding_ahead_of_time_for_less_than_0_1_is_left() -> None:
    """1.4 to 1.56: the aim is 1.496, so that from 1.40 on less than 0.1 is wanted."""
    narrow = a_farm(waters=(rain_water(),), ec=(1.4, 1.56))
    assert not fed(FALLING, narrow, ec_ms_cm=1.41).pours
    wider = a_farm(waters=(rain_water(),), ec=(1.4, 1.6))
    assert fed(FALLING, wider, ec_ms_cm=1.41).pours
