"""What a correction refused until something is looked at: its checks are asked then, and on no plain morning."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from rounds.book.offered import Offer
from rounds.checklist.quick_line import parse_line
from rounds.history.record import Draft
from rounds.walk.session import Session

SECOND = """
[[stations]]
kind = "reservoir"
id = "res-2"
name = "Reservoir two"
full_volume_l = 100
working_volume_l = 80
dip_table = [[0, 0], [40, 100]]
feed = "leaf"
stage = "grown"
waters = ["well"]
pump_l_min = 20
"""
ASKED = {"bottles", "jar", "strip", "buffer-4", "calibrated", "filled-how"}


@pytest.fixture
def session(farm_folder: Path, clock: Any) -> Session:
    path = farm_folder / "farm.toml"
    path.write_text(path.read_text(encoding="utf-8") + SECOND, encoding="utf-8")
    return Session.open(farm_folder, clock=clock)


def refuse(session: Session, code: str, station: str = "res-2") -> None:
    refusals = [{"code": code, "text": "Not now."}]
    data = {"steps": [], "refusals": refusals}
    session.save(Draft(kind="correction", station=station, measured_at=session.now(), data=data))


def due(session: Session, name: str = "morning") -> set[tuple[str, str]]:
    found = {(stop.station_id, each.item.id): each for stop in session.due(name) for each in stop.items}
    asked = {key: each for key, each in found.items() if key[1] in ASKED}
    assert all(each.asked_outright for each in asked.values()), "all well must not open the way to a dose"
    return set(asked)


@pytest.mark.parametrize("name", ["morning", "midday", "dusk"])
def test_none_of_it_is_asked_on_a_plain_day(session: Session, name: str) -> None:
    assert due(session, name) == set()
    refuse(session, "still-mixing")
    refuse(session, "too-small", "res-1")
    assert due(session, name) == set()


@pytest.mark.parametrize("name", ["morning", "midday", "dusk"])
@pytest.mark.parametrize(("code", "asked"), [
    ("bottle-doubtful", {("res-2", "bottles")}), ("likely-bottle-ten-times", {("res-2", "bottles")}),
    ("likely-bottle-three-times", {("res-2", "bottles")}), ("likely-bottles-swapped", {("res-2", "bottles")}),
    ("likely-half-circulates", {("res-2", "bottles")}), ("likely-bottle-tenth", {("res-2", "bottles")}),
    ("likely-nothing-arrives", {("res-2", "bottles")}), ("likely-meter-high", {("res-2", "strip")}),
    ("likely-meter-very-high", {("res-2", "strip")}), ("likely-meter-low", {("res-2", "strip")}),
    ("likely-meter-stuck", {("res-1", "buffer-4"), ("res-1", "calibrated")}),
])  # fmt: skip
def test_a_named_fault_has_its_checks_asked_those_of_the_meter_at_the_first_reservoir(
    session: Session, name: str, code: str, asked: set[tuple[str, str]]
) -> None:
    refuse(session, code)
    assert due(session, name) == asked


def test_an_answer_ends_it_and_another_refusal_asks_again(session: Session, clock: Any) -> None:
    refuse(session, "likely-bottle-ten-times")
    clock.go_on(minutes=9)
    session.save(Draft(kind="check", station="res-2", item="bottles", value=True, measured_at=clock()))
    assert due(session) == set()
    clock.go_on(minutes=9)
    refuse(session, "likely-bottle-ten-times")
    assert due(session) == {("res-2", "bottles")}


def test_a_correction_that_no_longer_refuses_it_ends_it_too(session: Session, clock: Any) -> None:
    refuse(session, "likely-meter-high")
    clock.go_on(hours=1)
    refuse(session, "too-small")
    assert due(session) == set()


@pytest.mark.parametrize("refusals", [["likely-meter-high"], [{"code": 5}], [{"code": ["x"]}], [{}], 5, None])
def test_odd_refusals_on_record_are_no_event(refusals: Any) -> None:
    assert Offer(SimpleNamespace(kind="correction", data={"refusals": refusals})).refusal_codes == ()


@pytest.mark.parametrize(("line", "item", "value"), [
    ("jar 5.8", "jar", 5.8), ("strip 6.0", "strip", 6.0), ("buffer-4 4.05", "buffer-4", 4.05),
    ("BUFFER-4 4,05", "buffer-4", 4.05), ("buffer 7.02", "buffer", 7.02), ("buffer7.02", "buffer", 7.02),
])  # fmt: skip
def test_they_are_typed_by_name(session: Session, line: str, item: str, value: float) -> None:
    items = [each for each in session.items(session.farm.station("res-1")) if each.is_number]
    (entry,) = parse_line(line, items)
    assert (entry.item_id, entry.value) == (item, value)
