"""Today has one meaning: a day of the farm's zone whose night belongs to the day before; limits look 16 hours back."""

from __future__ import annotations

from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rounds.book.day import NIGHT_ENDS, REST, begin_of_day, limits_since

ZURICH, TOKYO = ZoneInfo("Europe/Zurich"), ZoneInfo("Asia/Tokyo")


def at(text: str, zone: ZoneInfo = ZURICH, fold: int = 0) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=zone, fold=fold)


@pytest.mark.parametrize(
    ("now", "day"),
    [
        ("2026-11-24 23:59", 24), ("2026-11-25 00:00", 24), ("2026-11-25 00:30", 24), ("2026-11-25 03:59", 24),
        ("2026-11-25 04:00", 25), ("2026-11-25 12:00", 25),
    ],
)  # fmt: skip
def test_the_night_belongs_to_the_day_before(now: str, day: int) -> None:
    assert begin_of_day(at(now), ZURICH) == at(f"2026-11-{day} 00:00")


@pytest.mark.parametrize(
    ("started", "day"),
    [("2026-11-25 00:10", 25), ("2026-11-25 00:30", 25), ("2026-11-24 23:50", 24), ("2026-11-25 00:31", 24)],
)
def test_a_morning_round_begun_in_the_night_begins_the_day(started: str, day: int) -> None:
    """Not one that was begun before midnight and is walked past it, nor one that is to come."""
    assert begin_of_day(at("2026-11-25 00:30"), ZURICH, [at(started)]) == at(f"2026-11-{day} 00:00")


@pytest.mark.parametrize(
    ("day", "hours"), [("2026-03-29", 23), ("2026-10-25", 25), ("2026-06-10", 24)], ids=["spring", "autumn", "summer"]
)
def test_a_day_of_summer_time_change_begins_at_its_own_midnight(day: str, hours: int) -> None:
    begin = begin_of_day(at(f"{day} 12:00"), ZURICH)
    following = begin_of_day(at(f"{day} 12:00") + timedelta(days=1), ZURICH)
    assert begin.astimezone(ZURICH).time() == time() and begin.astimezone(ZURICH).date().isoformat() == day
    assert following - begin == timedelta(hours=hours)


@pytest.mark.parametrize("now", ["2026-03-29 06:00", "2026-10-25 06:00", "2026-10-26 06:00"])
def test_sixteen_hours_are_sixteen_hours_whatever_the_clocks_do(now: str) -> None:
    moment = at(now)
    assert moment.astimezone(UTC) - limits_since(moment, ZURICH) == REST


@pytest.mark.parametrize("fold", [0, 1])
def test_the_hour_that_comes_twice_is_night_both_times(fold: int) -> None:
    assert begin_of_day(at("2026-10-25 02:30", fold=fold), ZURICH) == at("2026-10-24 00:00")


def test_the_farms_day_is_the_same_wherever_the_helper_reads_the_clock() -> None:
    there = at("2026-11-25 07:00", TOKYO)  # eleven in the evening of the 24th on the farm
    assert begin_of_day(there, ZURICH) == at("2026-11-24 00:00") == begin_of_day(there.astimezone(UTC), ZURICH)
    assert limits_since(there, ZURICH) == at("2026-11-24 00:00")


MOMENTS = st.datetimes(datetime(2026, 1, 1), datetime(2027, 12, 31)).map(lambda each: each.replace(tzinfo=UTC))


@given(MOMENTS, st.lists(st.integers(-1800, 1800), max_size=3), st.sampled_from([ZURICH, TOKYO, UTC]))
def test_a_limit_never_looks_back_less_than_before(now: datetime, minutes: list[int], zone: ZoneInfo) -> None:
    """Never less than 16 hours, nor less than the calendar day: the two meanings that there were before."""
    rounds = [now + timedelta(minutes=each) for each in minutes]
    since = limits_since(now, zone, rounds)
    local = now.astimezone(zone)
    assert since <= now - REST
    assert since <= datetime.combine(local.date(), time(), zone).astimezone(UTC)
    begin = begin_of_day(now, zone, rounds)
    assert begin <= now and begin.astimezone(zone).time() == time()
    assert begin.astimezone(zone).date() == local.date() or local.time() < NIGHT_ENDS


@given(MOMENTS, st.integers(1, 60 * 24))
def test_a_day_never_goes_back(now: datetime, minutes: int) -> None:
    assert begin_of_day(now, ZURICH) <= begin_of_day(now + timedelta(minutes=minutes), ZURICH)


@given(MOMENTS, st.integers(0, 60 * 16))
def test_two_doses_of_one_night_never_both_have_a_fresh_limit(now: datetime, minutes: int) -> None:
    later = now + timedelta(minutes=minutes)
    assert limits_since(later, ZURICH, [later]) <= now
