"""What is carried over, how rounds begin and end, the signs of today, the shelf: by the clock."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from rounds.history.record import Draft
from rounds.walk.carried import Carried, carried_over
from rounds.walk.left_open import close_left_open
from rounds.walk.round import close_round, closed_today, current_round, left_open, open_round, start_round
from rounds.walk.safekeeping import backup_text
from rounds.walk.session import Session
from rounds.walk.station_signs import signs_today, standing_alarms
from rounds.walk.stock import count_product, read_amount, shelf_lines, strength_text
from rounds.walk.stops import round_start, stop_at
from rounds.walk.summary import summarise
from rounds.walk.wording import when
from tests.walk.written import SECOND, put


@pytest.mark.parametrize(("ago_h", "there"), [(7 * 24.0, True), (7 * 24.0 + SECOND, False), (1.0, True)])
def test_what_was_left_open_is_carried_over_for_a_week(session: Session, ago_h: float, there: bool) -> None:
    since = session.now() - timedelta(seconds=round(ago_h * 3600.0))
    put(session, "put-off", ago_h, note="guests")
    put(session, "skip", ago_h, station="hens", note="asleep")
    found = [
        Carried(station_id="res-1", what="correction put off (guests)", brief="put off (guests)", since=since),
        Carried(station_id="hens", what="left out: asleep", since=since),
    ]
    assert sorted(carried_over(session), key=lambda c: c.what) == (found if there else [])


@pytest.mark.parametrize(("kind", "item"), [("dose", "x"), ("correction", ""), ("reading", "ph"), ("reading", "ec")])
def test_a_correction_that_was_put_off_is_done_by_what_came_after_it(session: Session, kind: str, item: str) -> None:
    put(session, kind, 5.0, item=item, value=1.0 if item else None)
    put(session, "put-off", 4.0)
    assert [each.what for each in carried_over(session)] == ["correction put off"]
    put(session, kind, 3.0, item=item, value=1.0 if item else None)
    assert carried_over(session) == []


def test_a_station_that_was_left_out_is_carried_until_it_is_looked_at(session: Session) -> None:
    put(session, "skip", 4.0, station="hens")
    put(session, "skip", 4.0, station="ch-1", item="flow", note="no jug")
    put(session, "note", 3.0, station="hens", note="x")
    assert [(each.station_id, each.what) for each in carried_over(session)] == [("hens", "left out: no reason")]
    put(session, "check", 2.0, station="hens", item="eggs", value=3)
    assert carried_over(session) == []


def test_stations_that_the_last_round_did_not_reach_are_carried_oldest_first(session: Session) -> None:
    put(session, "round", 20.0, station="", item="dusk", value="closed", data={"open": ["hens", "ch-1", "gone"]})
    put(session, "check", 10.0, station="ch-1", item="roots", value=True)
    put(session, "put-off", 30.0)
    assert [(each.station_id, each.what, each.brief) for each in carried_over(session)] == [
        ("res-1", "correction put off", "put off"), ("hens", "not reached on the last round", ""),
    ]  # fmt: skip
    put(session, "round", 1.0, station="", item="morning", value="started")
    assert [each.station_id for each in carried_over(session)] == ["res-1"]


def test_a_round_is_written_down_whole_at_both_ends(session: Session, clock: Any) -> None:
    walk = start_round(session, "morning")
    assert (walk.id, walk.name, walk.started_at, walk.person, walk.day) == (
        "2026-11-25-morning", "morning", clock(), "ada", date(2026, 11, 25),
    )  # fmt: skip
    assert start_round(session, "morning") == walk == open_round(session, "morning")
    assert (current_round(session), closed_today(session, "morning")) == ("morning", False)
    clock.go_on(hours=1)
    closed = close_round(session, walk, {"open": ["hens"]})
    begun, _ = session.history.records(kind="round")
    for record, at, value, data in (
        (begun, walk.started_at, "started", {}),
        (closed, clock(), "closed", {"open": ["hens"]}),
    ):
        assert (record.kind, record.station, record.item, record.value) == ("round", "", "morning", value)
        assert (record.measured_at, record.person, record.round_id, record.data) == (at, "ada", walk.id, data)
    assert open_round(session, "morning") is None and closed_today(session, "morning")
    assert start_round(session, "morning").id == "2026-11-25-morning-2"
    assert start_round(session, "dusk").id == "2026-11-25-dusk"


@pytest.mark.parametrize(("hour", "minute", "name"), [
    (0, 0, "morning"), (10, 59, "morning"), (11, 0, "midday"), (14, 59, "midday"), (15, 0, "dusk"), (23, 59, "dusk"),
])  # fmt: skip
def test_the_round_of_a_time_of_day(session: Session, hour: int, minute: int, name: str) -> None:
    assert session.round_name(datetime(2026, 11, 25, hour, minute, tzinfo=UTC)) == name


def test_a_round_counts_from_its_hour_on_its_own_day(session: Session) -> None:
    assert round_start(session, "midday") == datetime(2026, 11, 25, 11, tzinfo=UTC)
    assert round_start(session, "dusk", date(2026, 11, 3)) == datetime(2026, 11, 3, 15, tzinfo=UTC)


def test_rounds_of_earlier_days_are_closed_oldest_first_with_what_they_did_not_reach(
    session: Session, clock: Any
) -> None:
    start_round(session, "dusk")
    clock.go_on(days=1)
    start_round(session, "morning")
    clock.go_on(days=1)
    start_round(session, "midday")
    assert [(walk.name, walk.day.day) for walk in left_open(session)] == [("dusk", 25), ("morning", 26)]
    told = close_left_open(session)
    assert [each.split(" was left")[0] for each in told] == [
        "The dusk round of 25 November", "The morning round of 26 November",
    ]  # fmt: skip
    assert all("stations were not reached" in each for each in told)
    assert left_open(session) == [] and close_left_open(session) == []
    last = session.history.latest("", "dusk")
    assert last is not None and last.data["left_open"] is True and "hens" in last.data["open"]


def test_a_summary_counts_what_one_round_came_to(session: Session, clock: Any) -> None:
    put(session, "reading", 0.0, item="ph", value=6.0, round_id="before")
    walk = start_round(session, "morning")
    clock.go_on(minutes=1)
    for fields in (
        {"kind": "reading", "item": "ph", "value": 7.0}, {"kind": "reading", "item": "ph", "value": 6.5},
        {"kind": "reading", "item": "ec", "value": 1.7},
        {"kind": "check", "item": "all-well", "value": True, "data": {"covers": ["look", "pump"]}},
        {"kind": "check", "item": "strainer", "value": False},
        {"kind": "dose", "item": "nitric-8", "value": 30.0, "unit": "mL", "data": {"action": "acid"}},
        {"kind": "dose", "item": "gone", "value": 2.0, "unit": "L", "data": {"action": "top_up"}},
        {"kind": "dose", "item": "gone", "data": {}}, {"kind": "note", "note": "a drip"},
        {"kind": "skip", "station": "hens", "note": "asleep"},
    ):  # fmt: skip
        clock.go_on(seconds=1)
        session.save(Draft(**{"measured_at": clock(), "station": "res-1", "round_id": walk.id, **fields}))
    found = summarise(session, walk)
    assert (found.readings, found.checks) == (3, 3)
    assert found.doses == (
        "Reservoir one: Working nitric acid 30 mL",
        "Reservoir one: top up 2 L",
        "Reservoir one: gone",
    )
    assert found.notes == ("Reservoir one: a drip",) and found.skipped == ("Hen house: asleep",)
    assert len(found.off) == 2 and "pH ▲ 0.30 above" in found.off[0], found.off
    assert "“" in found.off[1] and found.slow == ()
    assert found.stations_done + len(set(found.stations_open) & {"res-1"}) == 1
    assert found.to_data() == {
        "open": list(found.stations_open), "done": found.stations_done, "readings": 3, "checks": 3,
        "off": list(found.off),
    }  # fmt: skip


def test_a_sign_says_how_each_station_was_found_today(session: Session) -> None:
    assert signs_today(session) == {}
    put(session, "check", 6.0, station="hens", item="eggs", value=3)
    put(session, "check", 6.0 + SECOND, station="ch-2", item="roots", value=True)
    put(session, "reading", 1.0, item="ph", value=5.9)
    put(session, "skip", 1.0, station="ch-1", note="x")
    assert signs_today(session) == {"hens": "✓", "res-1": "✓", "ch-1": "–"}
    put(session, "reading", 0.5, item="ec", value=3.0)
    put(session, "check", 0.5, station="", item="roots", value=False)
    assert signs_today(session) == {"hens": "✓", "res-1": "!", "ch-1": "–"}


def test_an_alarm_stands_until_it_is_answered_or_the_day_is_over(session: Session, clock: Any) -> None:
    assert standing_alarms(session) == []
    alive = session.checklists.of("alive")
    assert alive is not None
    item = next(each for each in alive.items if each.type != "reading")
    put(session, "check", 1.0, station="", item=item.id, value=False)
    assert standing_alarms(session) == [f"{item.label}: NO. {item.off}"]
    put(session, "check", 1.0, station="hens", item="eggs", value=False)
    assert len(standing_alarms(session)) == 1
    clock.go_on(days=1)
    assert standing_alarms(session) == []
    put(session, "check", 1.0, station="", item=item.id, value=False)
    put(session, "check", 0.5, station="", item=item.id, value=True)
    assert standing_alarms(session) == []


@pytest.mark.parametrize(("moment", "words"), [
    (datetime(2026, 11, 25, 5, 30, tzinfo=UTC), "05:30"), (datetime(2026, 11, 25, 0, 0, tzinfo=UTC), "00:00"),
    (datetime(2026, 11, 24, 23, 59, tzinfo=UTC), "yest. 23:59"), 
    (datetime(2026, 11, 23, 7, 0, tzinfo=UTC), "Mon 07:00"),
    (datetime(2026, 11, 19, 7, 0, tzinfo=UTC), "Thu 07:00"), (datetime(2026, 11, 18, 7, 0, tzinfo=UTC), "18 Nov"),
    (datetime(2025, 12, 31, 7, 0, tzinfo=UTC), "31 Dec 2025"), (datetime(2026, 1, 1, 7, 0, tzinfo=UTC), "1 Jan"),
    (datetime(2026, 11, 26, 7, 0, tzinfo=UTC), "26 Nov"),
])  # fmt: skip
def test_a_time_is_said_as_people_say_it(moment: datetime, words: str) -> None:
    assert when(moment, datetime(2026, 11, 25, 6, 0, tzinfo=UTC), UTC) == words


def test_days_are_those_of_the_farm() -> None:
    there = ZoneInfo("Pacific/Auckland")
    assert when(datetime(2026, 11, 24, 23, tzinfo=UTC), datetime(2026, 11, 25, 6, tzinfo=UTC), there) == "12:00"


@pytest.mark.parametrize(("hours", "words"), [
    (0, "today"), (23.9, "today"), (24, "yesterday"), (47.9, "yesterday"), (48, "2 days ago"), (24 * 30, "30 days ago"),
])  # fmt: skip
def test_how_long_ago_a_backup_was_made(session: Session, hours: float, words: str) -> None:
    at = (session.now() - timedelta(hours=hours)).isoformat()
    own = session.farm.folder / "history" / "bench"
    own.mkdir(parents=True)
    (own / "last-backup").write_text(f'{{"at":"{at}","to":"/stick","files":1}}')
    assert backup_text(session) == f"The last good backup was made {words}."


def test_a_count_is_written_down_whole(session: Session, clock: Any) -> None:
    product = session.farm.shelf["leaf-a"]
    record = count_product(session, product, "7,5")
    assert (record.kind, record.station, record.item, record.value, record.unit) == ("stock", "", "leaf-a", 7.5, "L")
    assert (record.typed, record.person, record.data, record.measured_at) == ("7,5", "ada", {"why": "counted"}, clock())
    assert read_amount(session, product, "500 mL") == 0.5
    assert read_amount(session, product, "1000000") == 1_000_000 and read_amount(session, product, "0") == 0
    for text in ("1000001", "-1"):
        with pytest.raises(Exception, match="cannot be on the shelf"):
            read_amount(session, product, text)


def with_shelf(folder: Path, clock: Any, old: str, new: str) -> Session:
    shelf = folder / "shelf.toml"
    text = shelf.read_text(encoding="utf-8")
    assert old in text
    shelf.write_text(text.replace(old, new, 1), encoding="utf-8")
    return Session.open(folder, clock=clock)


@pytest.mark.parametrize(("new", "concern"), [
    ("amount = 2\nreorder_at = 2\n", ""), ("amount = 1.9\nreorder_at = 2\n", "below 2 L: reorder"),
    ("amount = 0\nreorder_at = 2\n", "none left"), ("amount = 2\nuse_by = 2026-11-25\n", ""),
    ("amount = 0\nuse_by = 2026-11-24\n", "past its date, 2026-11-24"),
])  # fmt: skip
def test_what_wants_attention_comes_first(farm_folder: Path, clock: Any, new: str, concern: str) -> None:
    session = with_shelf(farm_folder, clock, "amount = 2\n", new)
    lines = shelf_lines(session)
    (acid,) = [line for line in lines if line.product.id == "nitric-8"]
    assert acid.concern == concern
    assert lines[0].product.id == ("nitric-8" if concern else "leaf-a")
    assert acid.per_week == 0.0


def test_how_strong_a_product_is_said_to_be(farm_folder: Path, clock: Any) -> None:
    shelf = Session.open(farm_folder, clock=clock).farm.shelf
    assert [strength_text(shelf[each]) for each in ("leaf-a", "nitric-8")] == ["part A", "8 % working"]
    bare = with_shelf(farm_folder, clock, "percent = 8\ndensity_kg_l = 1.043\nworking = true\n", "working = true\n")
    assert strength_text(bare.farm.shelf["nitric-8"]) == "strength unknown"
    (line,) = [each for each in shelf_lines(bare) if each.concern]
    assert line.concern == "strength unknown: it is never dosed"
    molar = with_shelf(farm_folder, clock, "working = true\n", "molarity_mol_l = 1.3\n")
    assert strength_text(molar.farm.shelf["nitric-8"]) == "1.3 mol/L"


def test_what_all_well_covered_is_answered_by_it_until_it_is_answered_by_itself(session: Session, clock: Any) -> None:
    begun = session.now()
    session.save(Draft(kind="check", station="res-1", item="strainer", value=True, measured_at=begun))
    clock.go_on(minutes=1)
    covers = ["strainer", "drums"]
    session.save(Draft(kind="check", station="res-1", item="all-well", value=True, measured_at=session.now(),
                       data={"covers": covers}))  # fmt: skip
    clock.go_on(minutes=1)
    session.save(Draft(kind="check", station="res-1", item="drums", value=False, measured_at=session.now()))
    lines = {line.item.id: line for line in stop_at(session, "morning", "res-1").lines}
    last = {item: lines[item].last for item in covers}
    assert {item: record.item for item, record in last.items() if record} == {"strainer": "all-well", "drums": "drums"}
    assert all(lines[item].answered for item in covers)
