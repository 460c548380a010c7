"""What is due: every rule of a checklist, seen through the farm. 23 November 2026 is a Monday."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from itertools import count
from pathlib import Path
from typing import Any

import pytest

from rounds.book.day import zone_of
from rounds.checklist.due import DueItem, StationDue, due_items, walk_order
from rounds.checklist.load import Checklists
from rounds.checklist.model import Checklist, Due, Item
from rounds.errors import BadInput
from rounds.farm.farm import Farm
from rounds.farm.model import Place
from rounds.farm.stations import Channel, StationBase
from rounds.farm.stations.air import Air
from rounds.farm.stations.bed import Bed
from rounds.farm.stations.hens import Flock
from rounds.farm.stations.store import Store
from rounds.history import Record

_NUMBERS = count(1)


def farm_of(*stations: StationBase, latitude: float = 48.0, timezone: str = "UTC", **more: Any) -> Farm:
    place = Place(latitude=latitude, longitude=10.0, timezone=timezone)
    by_id: Mapping[str, Any] = {station.id: station for station in stations}
    return Farm(folder=Path("nowhere"), name="Nowhere", place=place, stations=by_id, **more)


def lists_of(*items: Item, kind: str = "bed", rank: int = 60) -> Checklists:
    return Checklists(by_kind={kind: Checklist(format=1, kind=kind, title=kind, rank=rank, items=items)})


def check(item_id: str = "leaf", **more: Any) -> Item:
    return Item(**{"id": item_id, "type": "yes_no", "label": item_id, "well": True, **more})


def record(station: str, item: str, when: datetime, **more: Any) -> Record:
    number = next(_NUMBERS)
    fields = {"kind": "check", "value": True, **more}
    return Record(
        id=f"{number:08d}", format=1, device="d-000000000001", seq=number, lamport=number, station=station, item=item,
        measured_at=when, entered_at=when, **fields,
    )  # fmt: skip


def latest_of(*records: Record) -> dict[tuple[str, str], Record]:
    return {(each.station, each.item): each for each in records}


def utc(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


MONDAY = utc("2026-11-23T07:00")
DAY = timedelta(days=1)
BED = Bed(id="bed", name="Bed", crop="leeks")
DISTANCE = Item(id="gap", type="reading", label="Gap", names=("gap",), unit="cm", limits=(0, 99), band=(10, 20))


def due_of(
    *items: Item, now: datetime = MONDAY, before: tuple[Record, ...] = (), name: str = "morning", **more: Any
) -> dict[str, DueItem]:
    found = due_items(farm_of(BED, **more), lists_of(*items), latest_of(*before), now, name)
    return {due.item.id: due for stop in found for due in stop.items}


def test_an_item_of_every_round_is_due_until_it_is_answered_on_this_round() -> None:
    answered_yesterday, answered_today = record("bed", "leaf", MONDAY - DAY), record("bed", "leaf", MONDAY)
    assert "leaf" in due_of(check())
    assert "leaf" in due_of(check(), before=(answered_yesterday,))
    assert "leaf" not in due_of(check(), before=(answered_today,))


def test_a_day_that_was_missed_makes_nothing_of_every_round_overdue() -> None:
    assert due_of(check(), before=(record("bed", "leaf", MONDAY - 5 * DAY),))["leaf"].overdue_days == 0


def test_items_belong_to_their_rounds() -> None:
    item = check(rounds=("dusk",))
    assert "leaf" not in due_of(item)
    assert "leaf" in due_of(item, now=utc("2026-11-23T17:00"), name="dusk")


def test_an_item_of_two_rounds_is_asked_on_both() -> None:
    item = check(rounds=("morning", "midday"))
    morning = record("bed", "leaf", utc("2026-11-23T07:00"))
    noon = record("bed", "leaf", utc("2026-11-23T12:40"))
    assert "leaf" in due_of(item, now=utc("2026-11-23T12:30"), name="midday", before=(morning,))
    assert "leaf" not in due_of(item, now=utc("2026-11-23T13:00"), name="midday", before=(noon,))


def test_a_weekly_item_missed_on_monday_is_due_on_tuesday_and_says_so() -> None:
    item = check(due=(Due(weekdays=("monday",)),))
    last_week = record("bed", "leaf", MONDAY - 7 * DAY)
    assert due_of(item, now=MONDAY, before=(last_week,))["leaf"].overdue_days == 0
    tuesday = due_of(item, now=MONDAY + DAY, before=(last_week,))["leaf"]
    assert (tuesday.since, tuesday.overdue_days) == (MONDAY.date(), 1)
    assert tuesday.last == last_week


def test_what_was_answered_on_its_day_is_not_due_the_day_after() -> None:
    item = check(due=(Due(weekdays=("monday",)),))
    assert "leaf" not in due_of(item, now=MONDAY + DAY, before=(record("bed", "leaf", MONDAY),))


def test_an_interval_counts_the_days_it_is_over() -> None:
    item = check(due=(Due(every_days=7),))
    before = (record("bed", "leaf", MONDAY - 10 * DAY),)
    assert due_of(item, before=before)["leaf"].overdue_days == 3


def test_any_of_several_rules_makes_an_item_due() -> None:
    item = check(due=(Due(every_days=3, months=(6, 7)), Due(every_days=7)))
    before = (record("bed", "leaf", MONDAY - 4 * DAY),)
    assert "leaf" not in due_of(item, before=before)
    july = utc("2026-07-15T07:00")
    assert "leaf" in due_of(item, now=july, before=(record("bed", "leaf", july - 4 * DAY),))


def test_seasons_come_six_months_later_in_the_south() -> None:
    item = check(due=(Due(months=(5, 6, 7)),))
    assert "leaf" not in due_of(item, latitude=48)
    assert "leaf" in due_of(item, latitude=-34)


def test_the_day_begins_at_midnight_where_the_farm_lies() -> None:
    item = check(due=(Due(weekdays=("tuesday",)),))
    monday_evening_utc = utc("2026-11-23T22:30")
    before = (record("bed", "leaf", utc("2026-11-18T07:00")),)
    assert "leaf" not in due_of(item, now=monday_evening_utc, before=before)
    assert "leaf" in due_of(item, now=monday_evening_utc, before=before, timezone="Etc/GMT-2")


def test_an_answer_from_before_local_midnight_is_yesterdays() -> None:
    ten_to_midnight = record("bed", "leaf", utc("2026-11-22T23:50"))
    assert "leaf" in due_of(check(), before=(ten_to_midnight,))
    assert "leaf" not in due_of(check(), before=(ten_to_midnight,), timezone="Etc/GMT-1")


def test_a_zone_nobody_knows_is_taken_as_utc() -> None:
    assert zone_of("Nowhere/Atall").utcoffset(MONDAY) == timedelta(0)


def test_an_answer_from_the_future_answers_nothing() -> None:
    item = check(due=(Due(every_days=7),))
    assert "leaf" in due_of(item, before=(record("bed", "leaf", MONDAY + 300 * DAY),))


def test_a_record_that_is_no_answer_answers_nothing() -> None:
    assert "leaf" in due_of(check(), before=(record("bed", "leaf", MONDAY, kind="dose"),))


def test_all_well_answers_what_it_covers_and_nothing_else() -> None:
    well = record("bed", "all-well", MONDAY, data={"covers": ["leaf"]})
    assert set(due_of(check("leaf"), check("slugs"), before=(well,))) == {"slugs"}


def test_all_well_counts_for_long_intervals_too() -> None:
    item = check(due=(Due(every_days=7),))
    well = record("bed", "all-well", MONDAY - 2 * DAY, data={"covers": ["leaf"]})
    assert "leaf" not in due_of(item, before=(well,))


def test_what_follows_is_asked_only_where_the_other_was_off() -> None:
    items = (check("leaf"), check("cut-back", follows="leaf"))
    off = record("bed", "leaf", MONDAY, value=False)
    well = record("bed", "leaf", MONDAY, value=True)
    assert "cut-back" not in due_of(*items)
    assert "cut-back" not in due_of(*items, before=(well,))
    assert due_of(*items, before=(off,))["cut-back"].asked_outright


def test_what_follows_is_not_asked_again_once_answered() -> None:
    items = (check("leaf"), check("cut-back", follows="leaf"))
    off = record("bed", "leaf", MONDAY - DAY, value=False)
    done = record("bed", "cut-back", MONDAY - DAY + timedelta(minutes=5))
    assert "cut-back" not in due_of(*items, before=(off, done))


def test_a_reading_out_of_its_band_is_followed() -> None:
    items = (DISTANCE, check("again", follows="gap"))
    in_band = record("bed", "gap", MONDAY, kind="reading", value=15.0)
    outside = record("bed", "gap", MONDAY, kind="reading", value=25.0)
    assert "again" not in due_of(*items, before=(in_band,))
    assert "again" in due_of(*items, before=(outside,))


def test_all_well_is_never_followed() -> None:
    items = (check("leaf", well=False), check("again", follows="leaf"))
    well = record("bed", "all-well", MONDAY, data={"covers": ["leaf"]})
    assert "again" not in due_of(*items, before=(well,))


def test_an_event_makes_an_item_due() -> None:
    item = check(due=(Due(after="storm", until_days=3),))
    farm, lists = farm_of(BED), lists_of(item)
    last = latest_of(record("bed", "leaf", MONDAY - 9 * DAY))
    for events, expected in (({}, 0), ({("", "storm"): MONDAY - DAY}, 1), ({("other", "storm"): MONDAY - DAY}, 0)):
        assert len(due_items(farm, lists, last, MONDAY, "morning", events)) == expected


def test_the_planting_date_of_the_station_is_an_event() -> None:
    item = check(due=(Due(after="planted", from_days=28),))
    fields: dict[str, Any] = {"reservoir": "r", "crop": "lettuce", "sites": 10, "flow_l_min": 1.0}
    young = Channel(id="young", name="Young", planted_on=(MONDAY - 27 * DAY).date(), **fields)
    ripe = Channel(id="ripe", name="Ripe", planted_on=(MONDAY - 28 * DAY).date(), **fields)
    empty = Channel(id="empty", name="Empty", **fields)
    found = due_items(farm_of(young, ripe, empty), lists_of(item, kind="channel"), {}, MONDAY, "morning")
    assert [stop.station_id for stop in found] == ["ripe"]


def test_what_is_left_out_at_a_station_is_gone() -> None:
    picky = Bed(id="bed", name="Bed", crop="leeks", leave_out=("slugs",))
    (stop,) = due_items(farm_of(picky), lists_of(check("leaf"), check("slugs")), {}, MONDAY, "morning")
    assert [due.item.id for due in stop.items] == ["leaf"]


def test_a_skipped_item_is_not_asked_again_on_this_round_and_overdue_on_the_next() -> None:
    item = check(due=(Due(every_days=7),))
    skip = record("bed", "leaf", MONDAY, kind="skip", value=None)
    assert "leaf" not in due_of(item, before=(skip,))
    tomorrow = due_of(item, now=MONDAY + DAY, before=(skip,))["leaf"]
    assert (tomorrow.since, tomorrow.overdue_days) == (MONDAY.date(), 1)


def test_a_skipped_station_is_off_this_round_and_back_on_the_next() -> None:
    skip = record("bed", "", MONDAY, kind="skip", value=None)
    assert due_of(check(), before=(skip,)) == {}
    assert "leaf" in due_of(check(), now=MONDAY + DAY, before=(skip,))


def test_a_note_written_after_a_skip_does_not_bring_the_station_back() -> None:
    note = record("bed", "", MONDAY + timedelta(minutes=1), kind="note", value=None)
    now = MONDAY + timedelta(minutes=2)
    found = due_items(farm_of(BED), lists_of(check()), latest_of(note), now, "morning", {("bed", "skipped"): MONDAY})
    assert found == []


def test_one_answer_serves_all_stations_of_the_kind_that_day() -> None:
    beds = [Bed(id=f"bed-{n}", name=f"Bed {n}", crop="leeks") for n in (1, 2, 3)]
    lists = lists_of(check("probe", share="farm"), check("leaf"))
    asked = due_items(farm_of(*beds), lists, {}, MONDAY, "morning")
    assert [[due.item.id for due in stop.items] for stop in asked] == [["probe", "leaf"], ["leaf"], ["leaf"]]
    answered = latest_of(record("bed-2", "probe", MONDAY))
    later = due_items(farm_of(*beds), lists, answered, MONDAY, "morning")
    assert all(due.item.id == "leaf" for stop in later for due in stop.items)


def test_a_shared_answer_may_be_written_down_for_the_farm_as_a_whole() -> None:
    lists = lists_of(check("buffer", share="meter", due=(Due(every_days=3),)))
    answered = latest_of(record("", "buffer", MONDAY - DAY))
    assert due_items(farm_of(BED), lists, answered, MONDAY, "morning") == []


def test_readings_and_what_is_always_asked_are_not_answered_by_all_well() -> None:
    items = (DISTANCE, check("leaf"), check("lock", ask="always"))
    (stop,) = due_items(farm_of(BED), lists_of(*items), {}, MONDAY, "morning")
    assert [due.item.id for due in stop.asked] == ["gap", "lock"]
    assert [due.item.id for due in stop.covered] == ["leaf"]


def test_the_walk_goes_by_rank_and_the_sick_come_last() -> None:
    stations = (
        Flock(id="hens", name="Hens", birds=5),
        Bed(id="sick", name="Sick bed", crop="leeks", sick=True),
        Bed(id="bed", name="Bed", crop="leeks"),
        Store(id="first", name="Store", rank=1),
        Air(id="air", name="Air"),
    )
    ranks = {"hens": 110, "bed": 60, "store": 90, "air": 10}
    lists = Checklists(
        by_kind={
            kind: Checklist(format=1, kind=kind, title=kind, rank=rank, items=(check(),))
            for kind, rank in ranks.items()
        }
    )
    order = ["first", "air", "bed", "hens", "sick"]
    assert walk_order(farm_of(*stations), lists) == order
    assert [stop.station_id for stop in due_items(farm_of(*stations), lists, {}, MONDAY, "morning")] == order


def test_stations_of_one_rank_keep_the_order_of_the_farm_file() -> None:
    beds = [Bed(id=name, name=name, crop="leeks") for name in ("zeta", "alpha", "mid")]
    assert walk_order(farm_of(*beds), lists_of(check())) == ["zeta", "alpha", "mid"]


def test_a_station_with_nothing_due_is_no_stop() -> None:
    assert due_items(farm_of(BED), lists_of(check(rounds=("dusk",))), {}, MONDAY, "morning") == []


def test_a_station_without_a_checklist_is_no_stop() -> None:
    assert due_items(farm_of(BED), lists_of(check(), kind="hens"), {}, MONDAY, "morning") == []


def rotating() -> tuple[list[Bed], Checklists]:
    beds = [Bed(id=f"bed-{n}", name=f"Bed {n}", crop="leeks") for n in range(4)]
    return beds, lists_of(*(check(f"item-{n}", ask="rotate") for n in range(3)), check("calm"))


def asked_on(day: datetime) -> set[tuple[str, str]]:
    beds, lists = rotating()
    found: list[StationDue] = due_items(farm_of(*beds), lists, {}, day, "morning")
    return {(stop.station_id, due.item.id) for stop in found for due in stop.asked}


def test_two_checks_a_day_are_asked_outright_and_the_same_two_all_day() -> None:
    assert len(asked_on(MONDAY)) == 2
    assert asked_on(MONDAY) == asked_on(MONDAY + timedelta(hours=3))
    assert asked_on(MONDAY) != asked_on(MONDAY + DAY)


def test_every_rotating_check_has_its_turn() -> None:
    beds, _ = rotating()
    asked = set().union(*(asked_on(MONDAY + n * DAY) for n in range(6)))
    assert asked == {(bed.id, f"item-{n}") for bed in beds for n in range(3)}


def test_a_rotating_check_that_is_not_due_hands_its_turn_on() -> None:
    beds, lists = rotating()
    taken = asked_on(MONDAY)
    answered = latest_of(*(record(station, item, MONDAY) for station, item in taken))
    found = due_items(farm_of(*beds), lists, answered, MONDAY, "morning")
    asked = {(stop.station_id, due.item.id) for stop in found for due in stop.asked}
    assert len(asked) == 2
    assert not asked & taken


def test_a_round_nobody_knows_and_a_time_without_zone_are_refused() -> None:
    with pytest.raises(BadInput, match="midnight"):
        due_of(check(), name="midnight")
    with pytest.raises(BadInput, match="zone"):
        due_of(check(), now=datetime(2026, 11, 23, 7))
