"""When a rule makes an item due. All dates can be counted on any calendar: 23 November 2026 is a Monday."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rounds.checklist.calendar import DueMoment, due_since, in_season, season_start
from rounds.checklist.model import Due

MONDAY = date(2026, 11, 23)
TUESDAY = MONDAY + timedelta(days=1)
DAY = timedelta(days=1)
DATES = st.dates(min_value=date(2020, 1, 1), max_value=date(2035, 12, 31))


def at(day: date, hour: int = 8) -> datetime:
    return datetime.combine(day, time(hour), UTC)


def test_the_calendar_agrees_that_the_23rd_is_a_monday() -> None:
    assert MONDAY.strftime("%A") == "Monday"


def test_a_rule_that_says_nothing_is_due_today() -> None:
    assert due_since(Due(), DueMoment(today=MONDAY)) == MONDAY


def test_every_n_days_counts_from_the_last_answer() -> None:
    rule = Due(every_days=3)
    moments = [DueMoment(today=MONDAY + n * DAY, last=at(MONDAY)) for n in range(6)]
    assert [due_since(rule, each) for each in moments] == [None, None, None] + [MONDAY + 3 * DAY] * 3


def test_a_weekday_that_was_missed_stays_due_the_day_after() -> None:
    rule = Due(weekdays=("monday",))
    answered_last_week = at(MONDAY - 7 * DAY)
    assert due_since(rule, DueMoment(today=MONDAY - DAY, last=answered_last_week)) is None
    assert due_since(rule, DueMoment(today=MONDAY, last=answered_last_week)) == MONDAY
    assert due_since(rule, DueMoment(today=TUESDAY, last=answered_last_week)) == MONDAY


def test_a_weekday_answered_late_is_due_again_on_its_own_day() -> None:
    rule = Due(weekdays=("monday",))
    answered = at(TUESDAY)
    assert due_since(rule, DueMoment(today=TUESDAY + DAY, last=answered)) is None
    assert due_since(rule, DueMoment(today=MONDAY + 7 * DAY, last=answered)) == MONDAY + 7 * DAY


def test_of_two_weekdays_the_next_one_counts() -> None:
    rule = Due(weekdays=("monday", "thursday"))
    assert due_since(rule, DueMoment(today=MONDAY + 3 * DAY, last=at(MONDAY))) == MONDAY + 3 * DAY
    assert due_since(rule, DueMoment(today=MONDAY + 2 * DAY, last=at(MONDAY))) is None


def test_what_was_never_answered_is_due_now_and_not_overdue() -> None:
    for rule in (Due(every_days=30), Due(weekdays=("friday",)), Due()):
        assert due_since(rule, DueMoment(today=MONDAY)) == MONDAY


def test_a_season_is_the_months_given_in_the_north() -> None:
    rule = Due(months=(6, 7, 8))
    assert due_since(rule, DueMoment(today=date(2026, 7, 15))) == date(2026, 7, 15)
    assert due_since(rule, DueMoment(today=date(2026, 1, 15))) is None


def test_a_season_comes_six_months_later_in_the_south() -> None:
    rule = Due(months=(6, 7, 8))
    assert due_since(rule, DueMoment(today=date(2026, 1, 15), south=True)) == date(2026, 1, 15)
    assert due_since(rule, DueMoment(today=date(2026, 7, 15), south=True)) is None


@given(day=DATES, months=st.sets(st.integers(1, 12), min_size=1))
def test_a_day_is_in_season_in_the_south_exactly_where_half_a_year_later_is_in_the_north(
    day: date, months: set[int]
) -> None:
    shifted = date(day.year, (day.month + 5) % 12 + 1, 1)
    assert in_season(day, months, south=True) == in_season(shifted, months, south=False)


def test_no_months_mean_the_whole_year() -> None:
    assert all(in_season(date(2026, month, 1), (), south=False) for month in range(1, 13))


@pytest.mark.parametrize(
    ("day", "months", "start"),
    [
        (date(2026, 7, 15), (6, 7, 8), date(2026, 6, 1)),
        (date(2026, 1, 15), (11, 12, 1, 2), date(2025, 11, 1)),
        (date(2026, 5, 1), (5,), date(2026, 5, 1)),
        (date(2026, 5, 1), tuple(range(1, 13)), date.min),
    ],
)
def test_a_season_starts_on_the_first_of_its_first_month(day: date, months: tuple[int, ...], start: date) -> None:
    assert season_start(day, months, south=False) == start


def test_nothing_grows_overdue_outside_its_season() -> None:
    rule = Due(every_days=7, months=(5, 6, 7, 8, 9))
    last_autumn = at(date(2025, 9, 25))
    assert due_since(rule, DueMoment(today=date(2026, 4, 30), last=last_autumn)) is None
    assert due_since(rule, DueMoment(today=date(2026, 5, 2), last=last_autumn)) == date(2026, 5, 1)


def test_weekdays_and_seasons_hold_together() -> None:
    rule = Due(weekdays=("wednesday",), months=(7,))
    first_wednesday = date(2026, 7, 1)
    assert first_wednesday.strftime("%A") == "Wednesday"
    assert due_since(rule, DueMoment(today=date(2026, 7, 3), last=at(date(2026, 6, 2)))) == first_wednesday
    assert due_since(rule, DueMoment(today=date(2026, 6, 24), last=at(date(2026, 6, 2)))) is None


def test_without_its_event_a_rule_is_silent() -> None:
    assert due_since(Due(after="storm"), DueMoment(today=MONDAY)) is None


def test_after_an_event_an_item_is_due_once() -> None:
    rule = Due(after="storm")
    storm = at(MONDAY, 3)
    assert due_since(rule, DueMoment(today=MONDAY, event=storm)) == MONDAY
    assert due_since(rule, DueMoment(today=TUESDAY, event=storm, last=at(MONDAY - DAY))) == MONDAY
    assert due_since(rule, DueMoment(today=TUESDAY, event=storm, last=at(MONDAY))) is None


def test_an_answer_given_before_the_event_on_the_same_day_does_not_count() -> None:
    rule = Due(after="storm")
    assert due_since(rule, DueMoment(today=MONDAY, event=at(MONDAY, 14), last=at(MONDAY, 8))) == MONDAY


def test_days_after_an_event_are_waited_for() -> None:
    rule = Due(after="change-out", from_days=1, until_days=4)
    event = at(MONDAY, 10)
    due = [due_since(rule, DueMoment(today=MONDAY + n * DAY, event=event)) for n in range(5)]
    assert due == [None, TUESDAY, TUESDAY, TUESDAY, None]


def test_after_an_event_an_item_can_come_again() -> None:
    rule = Due(after="planted", from_days=28, every_days=7)
    planted = at(MONDAY, 0)
    first = MONDAY + 28 * DAY
    assert due_since(rule, DueMoment(today=first - DAY, event=planted)) is None
    assert due_since(rule, DueMoment(today=first, event=planted)) == first
    assert due_since(rule, DueMoment(today=first + 6 * DAY, event=planted, last=at(first))) is None
    assert due_since(rule, DueMoment(today=first + 8 * DAY, event=planted, last=at(first))) == first + 7 * DAY


@given(today=DATES, gap=st.integers(0, 400), every=st.integers(1, 60))
def test_an_interval_is_never_due_before_it_has_passed_and_never_forgotten_after(
    today: date, gap: int, every: int
) -> None:
    since = due_since(Due(every_days=every), DueMoment(today=today, last=at(today - gap * DAY)))
    assert (since is not None) == (gap >= every)
    if since is not None:
        assert (today - since).days == gap - every


@given(today=DATES, gap=st.integers(1, 60), weekday=st.integers(0, 6))
def test_a_weekly_item_is_due_exactly_where_its_weekday_has_come_since_the_last_answer(
    today: date, gap: int, weekday: int
) -> None:
    names = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
    last = today - gap * DAY
    came = [last + n * DAY for n in range(1, gap + 1) if (last + n * DAY).weekday() == weekday]
    since = due_since(Due(weekdays=(names[weekday],)), DueMoment(today=today, last=at(last)))  # type: ignore[arg-type]
    assert since == (came[0] if came else None)
