"""What is due on each day away, worked out by date, and dates that cannot be."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from rounds.errors import BadInput, NotFound, OutOfRange
from rounds.history.record import Draft
from rounds.relief.days import days_between, due_by_day
from rounds.relief.sheet import relief_for
from rounds.walk.session import Session

AT = datetime(2026, 11, 25, 6, 0, tzinfo=UTC)
Open = Callable[..., Session]


def days(first: int, count: int) -> tuple[date, ...]:
    return days_between(date(2026, 11, first), date(2026, 11, first) + timedelta(days=count - 1))


def due_days(session: Session, station: str, item: str, week: tuple[date, ...], name: str = "morning") -> set[date]:
    found = [d for d in due_by_day(session, week) if (d.station_id, d.item.id, d.round_name) == (station, item, name)]
    return set().union(*(d.days for d in found)) if found else set()


def test_a_reading_of_every_round_is_due_every_day(farm_folder: Path, opened: Open) -> None:
    week = days(26, 7)
    assert due_days(opened(farm_folder), "res-1", "ph", week) == set(week)
    assert due_days(opened(farm_folder), "res-1", "ph", week, "dusk") == set()


def test_a_weekly_item_answered_today_is_due_again_in_a_week(farm_folder: Path, opened: Open) -> None:
    session = opened(farm_folder)
    session.save(Draft(kind="check", station="res-1", item="strainer", value=True, measured_at=AT))
    # strainer: every 7 days; answered on the 25th, so on the 2nd of December.
    assert due_days(session, "res-1", "strainer", days(26, 7)) == {date(2026, 12, 2)}


def test_what_is_overdue_is_due_on_the_first_day_and_then_in_its_rhythm(farm_folder: Path, opened: Open) -> None:
    session = opened(farm_folder)
    session.save(Draft(kind="check", station="res-1", item="strainer", value=True, measured_at=AT - timedelta(days=12)))
    assert due_days(session, "res-1", "strainer", days(25, 8)) == {date(2026, 11, 25), date(2026, 12, 2)}


def test_what_falls_due_before_leaving_counts_as_done_by_then(farm_folder: Path, opened: Open) -> None:
    session = opened(farm_folder)
    session.save(Draft(kind="check", station="res-1", item="strainer", value=True, measured_at=AT - timedelta(days=5)))
    # Due on the 27th at home, and so on the 4th of December while away.
    assert due_days(session, "res-1", "strainer", days(29, 7)) == {date(2026, 12, 4)}


@pytest.mark.parametrize(
    ("hour", "expected"),
    # Six in the morning: the round is still to come and will clean it. Two in the afternoon: that round is over.
    [(6, {date(2026, 12, 2)}), (7, {date(2026, 12, 2)}), (14, {date(2026, 11, 26)})],
)
def test_what_this_mornings_round_left_undone_is_not_taken_for_done_on_the_sheet(
    farm_folder: Path, opened: Open, hour: int, expected: set[date]
) -> None:
    session = opened(farm_folder, at=AT.replace(hour=hour))
    session.save(Draft(kind="check", station="res-1", item="strainer", value=True, measured_at=AT - timedelta(days=12)))
    assert due_days(session, "res-1", "strainer", days(26, 7)) == expected


@pytest.mark.parametrize(
    ("round_name", "hour", "minute", "done"),
    [("midday", 12, 30, True), ("midday", 12, 31, False), ("dusk", 17, 0, True), ("dusk", 17, 1, False)],
)
def test_a_round_at_noon_or_dusk_that_is_still_to_come_today_will_have_been_walked(
    farm_folder: Path, opened: Open, round_name: str, hour: int, minute: int, done: bool
) -> None:
    (farm_folder / "checklists").mkdir()
    (farm_folder / "checklists" / "hens.toml").write_text(
        'format = 1\nkind = "hens"\ntitle = "Hens"\nrank = 90\n'
        '[[items]]\nid = "grit"\ntype = "yes_no"\nlabel = "Grit"\n'
        f'well = true\ndue = [{{ every_days = 7 }}]\nrounds = ["{round_name}"]\n',
        encoding="utf-8",
    )
    session = opened(farm_folder, at=AT.replace(hour=hour, minute=minute))
    assert session.mistakes == ()
    expected = date(2026, 12, 2) if done else date(2026, 11, 26)
    assert due_days(session, "hens", "grit", days(26, 7), round_name) == {expected}


def test_a_sheet_that_begins_today_has_this_mornings_round_though_it_is_afternoon(
    farm_folder: Path, opened: Open
) -> None:
    session = opened(farm_folder, at=AT.replace(hour=14))
    session.save(Draft(kind="check", station="res-1", item="strainer", value=True, measured_at=AT - timedelta(days=12)))
    assert due_days(session, "res-1", "strainer", days(25, 8)) == {date(2026, 11, 25), date(2026, 12, 2)}


def test_the_hens_are_counted_and_shut_in_at_dusk_every_day(farm_folder: Path, opened: Open) -> None:
    week = days(26, 3)
    assert due_days(opened(farm_folder), "hens", "perch", week, "dusk") == set(week)
    assert due_days(opened(farm_folder), "hens", "shut", week, "dusk") == set(week)


def test_the_walk_keeps_its_order_with_the_sick_last(farm_folder: Path, opened: Open) -> None:
    found = [d.station_id for d in due_by_day(opened(farm_folder), days(26, 2)) if d.round_name == "morning"]
    order = list(dict.fromkeys(found))
    assert order.index("res-1") < order.index("ch-1") < order.index("hens")
    assert order[-1] == "ch-2"


def test_nothing_is_written_down_by_looking_ahead(farm_folder: Path, opened: Open) -> None:
    session = opened(farm_folder)
    due_by_day(session, days(26, 7))
    assert session.history.records() == []


def test_dates_the_wrong_way_round_are_refused_with_both(farm_folder: Path, opened: Open) -> None:
    with pytest.raises(BadInput, match="2026-11-26 comes after 2026-11-02"):
        relief_for(opened(farm_folder), "ben", date(2026, 11, 26), date(2026, 11, 2))


def test_a_sheet_for_half_a_year_is_refused(farm_folder: Path, opened: Open) -> None:
    with pytest.raises(OutOfRange, match="too long"):
        relief_for(opened(farm_folder), "ben", date(2026, 1, 1), date(2026, 7, 1))


def test_an_unknown_person_is_refused_with_those_there_are(farm_folder: Path, opened: Open) -> None:
    with pytest.raises(NotFound, match="ada, ben"):
        relief_for(opened(farm_folder), "zoe\x1b[31m", date(2026, 11, 26), date(2026, 11, 27))
