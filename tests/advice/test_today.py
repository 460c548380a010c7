"""What was poured late counts after midnight: pH and EC have one day's limit for one night, whatever the date is."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from light_farm import Note, a_farm

from rounds.advice.bottle_effect import doses_today
from rounds.advice.case import Case, gathered
from rounds.advice.gates import _dipped_today, _roots_seen, acid_poured_today
from rounds.advice.planning_feed import _raised_today, fed_today
from rounds.advice.step_limits import left_today, moved_today
from rounds.book.offer import Readings

FARM = a_farm()
"""Its zone is UTC."""


def at(day: int, clock: str) -> datetime:
    return datetime.fromisoformat(f"2026-06-{day:02d} {clock}").replace(tzinfo=UTC)


def ph(moment: datetime, value: float) -> Note:
    return Note(kind="reading", item="ph", value=value, measured_at=moment)


def ec(moment: datetime, value: float) -> Note:
    return Note(kind="reading", item="ec", value=value, measured_at=moment, meter="stick")


def acid(moment: datetime, ml: float = 30.0) -> Note:
    return Note(kind="dose", item="acid", value=ml, unit="mL", measured_at=moment, data={"action": "acid"})


def fed(moment: datetime) -> list[Note]:
    return [
        Note(kind="dose", item=item, value=200.0, unit="mL", measured_at=moment, data={"action": action})
        for item, action in (("a", "concentrate_a"), ("b", "concentrate_b"))
    ]


def morning_round(moment: datetime) -> Note:
    return Note(kind="round", station="", item="morning", value="started", measured_at=moment)


def case(records: list[Note], now: datetime, ph_read: float = 6.0, ec_read: float = 1.6) -> Case:
    readings = Readings(at=now, ph=ph_read, ec_ms_cm=ec_read, temperature_c=20.0, volume_l=300.0)
    return gathered(FARM, sorted(records, key=lambda r: r.measured_at), "r", readings, now)


LATE = [ph(at(9, "21:50"), 7.2), acid(at(9, "22:00")), ph(at(9, "22:40"), 6.7), acid(at(10, "00:30")),
        ph(at(10, "01:10"), 6.2), morning_round(at(10, "05:55"))]  # fmt: skip


@pytest.mark.parametrize(("now", "poured"), [
    ((10, "01:20"), 2), ((10, "06:00"), 2), ((10, "13:00"), 2), ((10, "14:30"), 1), ((10, "23:00"), 1),
    ((11, "04:30"), 0),
])  # fmt: skip
def test_ten_in_the_evening_half_past_midnight_and_six_have_one_limit(now: tuple[int, str], poured: int) -> None:
    """What was poured in the night counts for the day that it ends, and for the one that it begins."""
    found = case(LATE, at(*now), ph_read=6.2)
    assert len(doses_today(found)) == poured
    if poured == 2:
        assert moved_today(found) == pytest.approx(1.0, abs=0.1)
        assert left_today(found, 1.0, "acid") == 0.0


@pytest.mark.parametrize(("now", "counts"), [
    ((9, "23:50"), True), ((10, "00:10"), True), ((10, "03:50"), True), ((10, "04:10"), False),
])  # fmt: skip
def test_what_was_poured_in_the_morning_counts_until_its_night_is_over(now: tuple[int, str], counts: bool) -> None:
    records = [ph(at(9, "06:00"), 7.0), acid(at(9, "06:10")), ph(at(9, "07:00"), 6.1)]
    found = case(records, at(*now), ph_read=6.0)
    assert bool(doses_today(found)) is counts is acid_poured_today(found)


def test_a_morning_round_right_after_midnight_makes_no_fresh_limit_for_the_evening() -> None:
    records = [ph(at(9, "23:40"), 7.0), acid(at(9, "23:50")), morning_round(at(10, "00:05"))]
    assert doses_today(case(records, at(10, "00:10")))


def test_what_drifted_back_between_two_doses_hides_neither() -> None:
    """Moved from 6.6, drifted up to 7.2, moved again: the second dose has used the day up, whatever the first did."""
    records = [ph(at(9, "06:00"), 6.6), acid(at(9, "06:10"), 10.0), ph(at(9, "07:00"), 6.4), ph(at(9, "20:00"), 7.2),
               acid(at(9, "20:10"))]  # fmt: skip
    assert moved_today(case(records, at(9, "22:30"), ph_read=6.3)) > 0.7


@pytest.mark.parametrize(("now", "counts"), [
    ((9, "23:30"), 2), ((10, "00:30"), 2), ((10, "06:00"), 0), ((9, "12:00"), 2),
])  # fmt: skip
def test_a_and_b_count_until_their_night_is_over(now: tuple[int, str], counts: int) -> None:
    records = [ec(at(9, "06:50"), 1.2), *fed(at(9, "07:00")), ec(at(9, "08:00"), 1.6)]
    found = case(records, at(*now), ec_read=1.6)
    assert len(fed_today(found)) == counts
    assert _raised_today(found) == pytest.approx(0.4 if counts else 0.0)


def test_a_feed_that_was_drunk_down_between_counts_from_its_lowest() -> None:
    records = [ec(at(9, "06:50"), 1.4), *fed(at(9, "07:00")), ec(at(9, "08:00"), 1.6), ec(at(9, "19:50"), 1.2),
               *fed(at(9, "20:00"))]  # fmt: skip
    assert _raised_today(case(records, at(9, "22:00"), ec_read=1.5)) == pytest.approx(0.3)


@pytest.mark.parametrize(("now", "holds"), [
    ((9, "22:10"), True), ((10, "00:30"), True), ((10, "03:59"), True), ((10, "04:01"), False), ((10, "06:00"), False),
])  # fmt: skip
def test_a_buffer_dip_and_a_look_at_the_roots_hold_for_their_day(now: tuple[int, str], holds: bool) -> None:
    dip = Note(kind="reading", station="", item="buffer", value=7.0, measured_at=at(9, "20:00"), data={"buffer": 7.0})
    roots = Note(kind="check", station="c", item="roots", value=True, measured_at=at(9, "20:00"))
    found = case([dip, roots], at(*now))
    assert _dipped_today(found) is _roots_seen(found) is holds


def test_a_helper_who_reads_another_clock_has_the_farms_day() -> None:
    tokyo = ZoneInfo("Asia/Tokyo")
    dip = Note(kind="reading", station="", item="buffer", value=7.0, measured_at=at(9, "05:00"), data={"buffer": 7.0})
    now = at(9, "16:00")  # one in the morning of the 10th there
    there = gathered(FARM, [dip], "r", Readings(at=now.astimezone(tokyo), ph=6.0), now.astimezone(tokyo))
    assert _dipped_today(there) and _dipped_today(case([dip], now))
    assert not _dipped_today(case([dip], now + timedelta(hours=12, minutes=1)))
