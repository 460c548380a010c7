"""When a slow change is told, where it leads and in which words, against sums by hand."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import msgspec
import pytest

from rounds.checklist.load import load_checklists
from rounds.checklist.model import Item
from rounds.walk.session import Session
from rounds.walk.slow_change.finding import finding_of
from rounds.walk.slow_change.plot import shown_points
from rounds.walk.slow_change.point import Point
from rounds.walk.slow_change.series import Series
from rounds.walk.slow_change.watch import Watch, choose, was_seen
from rounds.walk.slow_change.words import (
    about,
    at_station,
    first_screen,
    how_sure,
    label_within,
    number,
    row_text,
    sentence,
    short_label,
    time_text,
    where_it_leads,
)

NOW = datetime(2026, 11, 25, 6, 0, tzinfo=UTC)


FLOW = load_checklists(None).item("channel", "flow")


SECOND = timedelta(seconds=1)


def flow() -> Item:
    assert FLOW is not None and FLOW.slow is not None
    return FLOW


def series(values: list[float], *, every_days: float = 7.0, ago: timedelta = timedelta(), **more: Any) -> Series:
    points = [
        Point(at=NOW - ago - timedelta(days=every_days * (len(values) - 1 - n)), value=value)
        for n, value in enumerate(values)
    ]
    usual = {"station_id": "c", "place": "Channel", "item": flow(), "figure": "value", "label": "Flow by jug",
             "unit": "L/min", "decimals": 2, "band": (0.85, 1.15), "tolerance": 0.0, "points": tuple(points),
             "as_of": NOW}  # fmt: skip
    return Series(**{**usual, **more})


def falling(start: float, by: float, count: int = 7) -> list[float]:
    """Evenly, so that the line goes through all of them."""
    return [start - by * n / (count - 1) for n in range(count)]


def both_ways(**more: Any) -> Item:
    slow = msgspec.structs.replace(flow().slow, falling="look down", rising="look up", **more)  # type: ignore[type-var]
    return msgspec.structs.replace(flow(), slow=slow)


def told(of: Series) -> bool:
    return finding_of(of) is not None


@pytest.mark.parametrize(("count", "is_told"), [(4, False), (5, False), (6, True), (12, True)])
def test_chance_must_do_it_less_often_than_once_in_a_hundred(count: int, is_told: bool) -> None:
    """All of 5 in order, up or down: 2 of 120 ways, of 6: 2 of 720."""
    assert told(series(falling(1.1, 0.2, count))) is is_told


def test_what_is_read_daily_takes_two_weeks_and_what_is_read_seldom_three_of_its_gaps() -> None:
    assert told(series(falling(1.1, 0.2, 15), every_days=1.0))
    assert not told(series(falling(1.1, 0.2, 14), every_days=1.0))
    found = finding_of(series(falling(1.1, 0.2, 6), every_days=4.0))
    assert found is not None and found.p == pytest.approx(2.0 / 720.0, rel=0.05)


@pytest.mark.parametrize(("start", "by", "is_told"), [
    (1.0, 0.059, False), (1.0, 0.061, True), (1.16, 0.15, False), (1.16, 0.19, True),
])  # fmt: skip
def test_towards_its_edge_a_fifth_of_the_band_matters_and_away_from_it_15_percent(
    start: float, by: float, is_told: bool
) -> None:
    """0.85 to 1.15: a fifth is 0.06; from 1.16 to the middle it is 15 % of 1.16, 0.174."""
    assert told(series(falling(start, by))) is is_told


@pytest.mark.parametrize(("by", "more", "is_told"), [
    (1.4, {}, False), (1.6, {}, True), (1.6, {"tolerance": 1.5}, True), (1.6, {"tolerance": 1.7}, False),
    (1.6, {"item": None}, False), (0.6, {"decimals": 0, "item": "least"}, False),
    (2.1, {"decimals": 0, "item": "least"}, True), (0.45, {"item": "least"}, False), (0.55, {"item": "least"}, True),
])  # fmt: skip
def test_without_a_band_15_percent_matter_and_never_less_than_the_meter_tells(
    by: float, more: dict[str, Any], is_told: bool
) -> None:
    """10 and less; `least` of the checklist stands for the share; two of the last place are the least of all."""
    items = {"least": both_ways(least=0.5), None: msgspec.structs.replace(flow(), slow=None)}
    if "item" in more:
        more = more | {"item": items[more["item"]]}
    assert told(series(falling(10.0, by), band=None, **more)) is is_told


@pytest.mark.parametrize(("by", "is_told"), [(0.19, False), (0.21, True)])
def test_two_of_the_last_place_are_the_least_also_where_a_fifth_of_the_band_is_less(by: float, is_told: bool) -> None:
    """A fifth of 0.85 to 1.15 is 0.06; read to 0.1, what is no more than 0.2 may be rounding."""
    assert told(series(falling(1.1, by), decimals=1)) is is_told


def test_only_the_ways_that_the_checklist_names_are_told() -> None:
    up = [1.0 + 0.02 * n for n in range(7)]
    assert not told(series(up))
    found = finding_of(series(up, item=both_ways()))
    assert found is not None and (found.direction, found.look_at, found.edge) == ("rising", "look up", 1.15)
    assert not told(series(falling(1.1, 0.2), figure="drift"))


@pytest.mark.parametrize(("ago", "is_told"), [
    (timedelta(days=17.5), True), (timedelta(days=17.5) + SECOND, False),
])  # fmt: skip
def test_what_was_not_read_for_two_and_a_half_of_its_intervals_is_out_of_date(ago: timedelta, is_told: bool) -> None:
    assert told(series(falling(1.1, 0.2), ago=ago)) is is_told
    daily = series(falling(1.1, 0.2, 15), every_days=1.0, ago=timedelta(days=7))
    assert daily.is_fresh
    assert not series(falling(1.1, 0.2, 15), every_days=1.0, ago=timedelta(days=7) + SECOND).is_fresh
    assert not series([]).is_fresh


@pytest.mark.parametrize(("every_days", "rhythm", "look_back"), [
    (0.25, 1.0, 28.0), (1.0, 1.0, 28.0), (2.0, 2.0, 28.0), (3.0, 3.0, 36.0), (7.0, 7.0, 84.0), (20.0, 20.0, 200.0),
])  # fmt: skip
def test_twelve_intervals_are_looked_back_four_weeks_at_least(
    every_days: float, rhythm: float, look_back: float
) -> None:
    of = series(falling(1.1, 0.2, 40), every_days=every_days)
    assert (of.rhythm, of.look_back) == (timedelta(days=rhythm), timedelta(days=look_back))
    compared = of.compared
    assert compared[0].at >= of.points[-1].at - of.look_back > of.points[0].at or len(compared) == 40
    assert shown_points(of)[0].at >= of.points[-1].at - 2 * of.look_back
    assert of.before(of.points[-1].at).points == of.points[:-1]


def test_the_last_three_readings_must_bear_it_out() -> None:
    back = [*falling(1.1, 0.2, 10), 1.09, 1.1]
    assert not told(series(back))
    assert told(series([*falling(1.1, 0.2, 10), 1.09]))


def test_when_it_will_be_at_its_edge_is_worked_out_from_its_pace() -> None:
    """From 1.14 by 0.03 a week: 0.96 after six weeks, read today; 0.11 are left: 25.7 days."""
    found = finding_of(series(falling(1.14, 0.18)))
    assert found is not None
    assert (found.start, found.end, found.changed) == pytest.approx((1.14, 0.96, -0.18))
    assert (found.direction, found.edge, found.readings, found.goes_on) == ("falling", 0.85, 7, True)
    assert found.days_left == pytest.approx(0.11 / (0.03 / 7.0))
    assert found.days_left_range == pytest.approx((found.days_left, found.days_left))
    assert (found.since, found.until) == (NOW - timedelta(days=42), NOW)
    older = finding_of(series(falling(1.14, 0.18), ago=timedelta(days=10)))
    assert older is not None and older.days_left == pytest.approx(0.11 / (0.03 / 7.0) - 10.0)


@pytest.mark.parametrize(("start", "by", "left", "words"), [
    (1.04, 0.19, 0.0, "below 0.85 already"), (1.04, 0.2, 0.0, "below 0.85 already"),
    (1.04, 0.185, 1.1, "below 0.85 in a day"), (1.0, 0.07, 48.0, "below 0.85 in about 7 weeks"),
    (1.14, 0.09, None, "in its band for months yet"),
])  # fmt: skip
def test_where_it_leads_is_said(start: float, by: float, left: float | None, words: str) -> None:
    item = both_ways(least=0.05)
    found = finding_of(series(falling(start, by), item=item))
    assert found is not None
    assert found.days_left == (None if left is None else pytest.approx(left, abs=0.1))
    assert where_it_leads(found) == words


def test_what_came_to_rest_is_told_without_a_date() -> None:
    rest = [1.14, 1.10, 1.06, 1.02, 0.98, 0.94, 0.92, 0.92, 0.92, 0.92, 0.92, 0.92]
    found = finding_of(series(rest))
    assert found is not None and (found.goes_on, found.days_left) == (False, None)
    assert where_it_leads(found) == "and holds there now"
    bare = finding_of(series(rest, band=None))
    assert bare is not None and (bare.edge, where_it_leads(bare)) == (None, "and holds there now")
    on = finding_of(series(falling(1.1, 0.2), band=None))
    assert on is not None and where_it_leads(on) == ""


def test_the_words_of_a_finding() -> None:
    found = finding_of(series(falling(1.14, 0.18)))
    assert found is not None
    assert sentence(found, UTC) == (
        "Channel: flow by jug slowly down, 1.14 to 0.96 L/min since 14 Oct; below 0.85 in about 4 weeks."
    )
    assert at_station(found, UTC) == "↘ slowly: flow by jug 1.14 to 0.96 since 14 Oct; below 0.85 in about 4 weeks"
    assert first_screen(found, UTC).startswith("↘ Channel: flow by jug 1.14")
    assert how_sure(found) == "7 readings; chance alone does this less than once in 2,520 times."
    long = finding_of(series(falling(1.14, 0.18), label="Flow by timed jug"))
    assert long is not None and short_label(long.series) == "flow" and "flow 1.14" in at_station(long, UTC)
    assert [label_within(each) for each in ("EC of it", "pH", "Dip", "")] == ["EC of it", "pH", "dip", ""]
    assert number(found.series, 1.234) == "1.23"
    rows = row_text(found.series, found, NOW, UTC), row_text(series([1.0]), None, NOW, UTC)
    assert rows[0].startswith("↘ Channel: flow by jug") and "1.14 to 0.96" in rows[0] and "about 4 weeks" in rows[0]
    assert rows[1].startswith("  Channel: flow by jug") and rows[1].split()[-4:] == ["1.00", "L/min", "25", "Nov"]
    seen = finding_of(series(falling(1.14, 0.18), seen_at=NOW - timedelta(days=3)))
    assert seen is not None and "seen 22 Nov" in row_text(seen.series, seen, NOW, UTC)


@pytest.mark.parametrize(("days", "text"), [
    (0.4, "a day"), (1.49, "a day"), (1.5, "about 2 days"), (9.9, "about 10 days"), (10.0, "about 10 days"),
    (10.4, "about 10 days"), (10.5, "about 2 weeks"), (24.0, "about 3 weeks"), (88.0, "about 13 weeks"),
])  # fmt: skip
def test_a_time_to_come(days: float, text: str) -> None:
    assert time_text(days) == text


@pytest.mark.parametrize(("ago", "seen"), [
    (timedelta(), True), (timedelta(days=14) - SECOND, True), (timedelta(days=14), False), (None, False),
])  # fmt: skip
def test_what_was_seen_is_not_told_again_for_two_weeks(ago: timedelta | None, seen: bool) -> None:
    found = finding_of(series(falling(1.14, 0.18), seen_at=None if ago is None else NOW - ago))
    assert found is not None and was_seen(found, NOW) is seen
    watch = Watch(series=(found.series,), findings=(found,))
    assert watch.to_tell(NOW) == ([] if seen else [found])
    assert watch.finding(found.series) is found
    assert list(choose(watch, None)) == list(choose(watch, "flow")) == [found.series]
    assert list(choose(watch, found.series.item.names[0])) == [found.series] and list(choose(watch, "other")) == []


def test_what_is_known_of_a_quiet_series_is_said(farm_folder: Path, clock: Any) -> None:
    session = Session.open(farm_folder, clock=clock)
    quiet, none = series([1.0] * 3), series([])
    assert about(quiet, [], session) == "Channel: flow by jug. No slow change that matters in 3 readings."
    assert about(none, [], session) == "Channel: flow by jug."
    drawn = series([1.0], item=msgspec.structs.replace(flow(), slow=None))
    assert about(drawn, [], session).endswith(
        "Only drawn: the checklist names nothing that a slow change of it would mean."
    )
    drift = series([6.0], item=load_checklists(None).item("reservoir", "ph"))
    assert about(drift, [], session).endswith("Each dose moves it, so its drift between doses is watched instead.")
    found = finding_of(series(falling(1.14, 0.18)))
    assert found is not None
    text = about(found.series, [found], session)
    assert text.startswith(sentence(found, UTC)) and found.look_at in text and text.endswith(f"({how_sure(found)})")
