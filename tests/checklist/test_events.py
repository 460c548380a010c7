"""Events that items can be due after, found in the records."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

from rounds.checklist.events import event_at, events_of
from rounds.checklist.load import Checklists
from rounds.checklist.model import Checklist, Item
from rounds.farm.farm import Farm
from rounds.farm.model import Place
from rounds.farm.stations import Channel
from rounds.farm.stations.bed import Bed
from rounds.farm.stations.ferment import Ferment
from rounds.farm.stations.hens import Flock
from rounds.history import Record

STORM = Item(id="storm", type="yes_no", label="No storm", well=True, tells="storm")
LEAF = Item(id="leaf", type="yes_no", label="Leaf", well=True)
LISTS = Checklists(
    by_kind={
        "alive": Checklist(format=1, kind="alive", title="Alive", rank=0, items=(STORM,)),
        "bed": Checklist(format=1, kind="bed", title="Bed", rank=60, items=(LEAF,)),
    }
)
FARM = Farm(
    folder=Path("nowhere"), name="Nowhere", place=Place(latitude=0, longitude=0),
    stations={"bed": Bed(id="bed", name="Bed", crop="leeks")},
)  # fmt: skip


def record(kind: str, station: str, item: str, day: int, **more: Any) -> Record:
    when = datetime(2026, 11, day, 7, tzinfo=UTC)
    return Record(
        id=f"{day}-{kind}-{item}", format=1, device="d", seq=day, lamport=day, kind=kind, station=station, item=item,
        measured_at=when, entered_at=when, **more,
    )  # fmt: skip


def days(*records: Record) -> dict[tuple[str, str], int]:
    return {key: when.day for key, when in events_of(FARM, LISTS, records).items()}


def test_a_change_out_is_found_though_a_top_up_with_the_same_water_came_later() -> None:
    change_out = record("dose", "res", "well", 3, value=190.0, data={"action": "change_out"})
    top_up = record("dose", "res", "well", 9, value=20.0, data={"action": "top_up"})
    assert days(change_out, top_up) == {("res", "change-out"): 3}


def test_the_last_of_several_counts_in_whatever_order_they_come() -> None:
    records = [record("dose", "res", "well", day, data={"action": "change_out"}) for day in (3, 17, 9)]
    assert days(*records) == {("res", "change-out"): 17}


def test_an_answer_that_is_off_tells_of_an_event_for_the_whole_farm() -> None:
    assert days(record("check", "", "storm", 5, value=False)) == {("", "storm"): 5}
    assert days(record("check", "", "storm", 5, value=True)) == {}
    assert days(record("check", "bed", "leaf", 5, value=False)) == {}


def test_an_event_may_be_written_down_as_such() -> None:
    assert days(record("event", "bed", "flood", 5)) == {("bed", "flood"): 5}


def test_what_a_correction_refuses_is_an_event_by_its_code() -> None:
    told = [{"code": "likely-meter-high", "text": "Odd."}, {"code": "too-small", "text": "Little."}]
    offer = record("correction", "res", "", 5, data={"refusals": told})
    assert days(offer) == {("res", "likely-meter-high"): 5, ("res", "too-small"): 5}


def test_only_the_skip_of_a_whole_station_is_an_event() -> None:
    assert days(record("skip", "bed", "", 5), record("skip", "bed", "leaf", 6)) == {("bed", "skipped"): 5}


def test_an_event_of_the_farm_touches_every_station_and_the_latest_counts() -> None:
    bed, early, late = FARM.stations["bed"], datetime(2026, 11, 3, tzinfo=UTC), datetime(2026, 11, 7, tzinfo=UTC)
    assert event_at(bed, "storm", {("", "storm"): early}, UTC) == early
    assert event_at(bed, "storm", {("", "storm"): early, ("bed", "storm"): late}, UTC) == late
    assert event_at(bed, "storm", {("other", "storm"): late}, UTC) is None


def test_the_dates_in_the_farms_files_are_events() -> None:
    day = date(2026, 10, 1)
    channel = Channel(id="c", name="C", reservoir="r", crop="x", sites=1, flow_l_min=1.0, planted_on=day)
    cask = Ferment(id="f", name="F", what="cider", volume_l=60, started_on=day)
    hens = Flock(id="h", name="H", birds=3, hatched_on=day)
    for station, event in ((channel, "planted"), (cask, "started"), (hens, "hatched")):
        assert event_at(station, event, {}, UTC) == datetime(2026, 10, 1, tzinfo=UTC)
        assert event_at(station, "storm", {}, UTC) is None
