"""Where the guide leads: what is alive first, then what was read, what calls back, the next station, the summary."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from rounds.history.record import Draft, Record
from rounds.walk.guide import Guide, TheSummary, TheWalk
from rounds.walk.open_corrections import OpenCorrection
from rounds.walk.session import Session
from rounds.walk.stops import Stop, alive_stop, stop_at
from rounds.walk.visit import Visit

STEPS = [
    {"action": "acid", "product": "nitric-8", "amount": 30.0, "unit": "mL", "wait_min": 25.0}, {"action": "circulate",
    "wait_min": 25.0}, {"action": "acid", "product": "nitric-8", "amount": 10.0, "unit": "mL"},
]  # fmt: skip


def put(session: Session, kind: str, ago_min: float = 0.0, **fields: Any) -> Record:
    at = session.now() - timedelta(minutes=ago_min)
    return session.save(Draft(**{"kind": kind, "measured_at": at, "station": "res-1", **fields}))[0]


READ = {"ph": 5.9, "ec": 1.7, "t": 20.0, "dip": 36.0}


def answered(session: Session, stop: Stop, **readings: float) -> None:
    """All is well at a stop, its readings are in band, and the rest is left out."""
    visit = Visit(session=session, stop=stop)
    visit.all_well()
    for item, value in (READ | readings).items():
        if any(line.item.id == item for line in stop.lines) and stop.station_id == "res-1":
            put(session, "reading", item=item, value=value)
    for line in stop.asked:
        if line.item.id not in READ:
            put(session, "skip", station=stop.station_id, item=line.item.id, note="dark")


def alive(session: Session) -> None:
    answered(session, alive_stop(session, "morning"))


def read(session: Session, value: float = 6.9) -> None:
    answered(session, stop_at(session, "morning", "res-1"), ph=value)


def test_a_round_begins_with_what_is_alive_then_goes_by_the_order_of_the_walk(session: Session) -> None:
    guide = Guide(session, None)
    assert (guide.round_name, guide.round_id) == ("morning", None)
    first = guide.start("morning")
    assert isinstance(first, Stop) and first.station_id == "" and guide.round_id == "2026-11-25-morning"
    alive(session)
    order = session.walk_order()
    seen = []
    here: Any = guide.start("morning")
    while isinstance(here, Stop):
        seen.append(here.station_id)
        answered(session, here)
        here = guide.go_on(here.station_id)
    assert seen == order
    assert here == TheSummary(guide.round)  # type: ignore[arg-type]
    assert guide.go_on(None) == here


def test_without_a_round_one_comes_back_to_the_walk(session: Session) -> None:
    for station in session.walk_order():
        answered(session, stop_at(session, "morning", station))
    guide = Guide(session, None)
    assert guide.go_on(None) == TheWalk()
    assert guide.go_to("hens").station_id == "hens"
    guide.shown = "dusk"
    assert guide.round_name == "dusk"


def test_a_reservoir_that_was_read_gets_its_correction_before_the_next_station(session: Session) -> None:
    guide = Guide(session, None)
    guide.start("morning")
    read(session)
    assert isinstance(guide.walk_on("res-1", read=False), Stop)
    found = guide.walk_on("res-1", read=True)
    assert isinstance(found, OpenCorrection) and found.station_id == "res-1"
    (record,) = session.history.records(kind="correction")
    assert (record.id, record.round_id, record.person) == (found.id, guide.round_id, "ada")
    again = guide.walk_on("res-1", read=True)
    assert isinstance(again, OpenCorrection) and again.id == found.id
    assert len(session.history.records(kind="correction")) == 1
    assert isinstance(guide.walk_on("hens", read=True), Stop)


def test_what_was_read_and_not_corrected_is_taken_up_at_the_start(session: Session) -> None:
    alive(session)
    read(session)
    found = Guide(session, None).start("morning")
    assert isinstance(found, OpenCorrection) and found.station_id == "res-1"
    taken_up = Guide(session, None).start("morning")
    assert isinstance(taken_up, OpenCorrection) and taken_up.id == found.id


def test_a_half_read_reservoir_is_asked_the_rest_first(session: Session) -> None:
    alive(session)
    put(session, "reading", item="ph", value=6.9)
    found = Guide(session, None).start("morning")
    assert isinstance(found, Stop) and found.station_id == "res-1"


def begun(session: Session, minutes: float) -> Record:
    offer = put(session, "correction", minutes + 5.0, data={"steps": STEPS})
    data = {"action": "acid", "correction": offer.id, "step": 1}
    put(session, "dose", minutes, item="nitric-8", value=30.0, unit="mL", data=data)
    pump = {"action": "circulate", "correction": offer.id, "step": 2}
    put(session, "step", minutes, item="circulate", data=pump)
    return offer


@pytest.mark.parametrize(("minutes", "called"), [(24.0, False), (26.0, True)])
def test_a_reservoir_that_has_mixed_calls_back_once_with_its_next_step(
    session: Session, minutes: float, called: bool
) -> None:
    guide = Guide(session, None)
    guide.start("morning")
    alive(session)
    offer = begun(session, minutes)
    found = guide.go_on("hens")
    assert (isinstance(found, OpenCorrection) and found.id == offer.id) is called
    assert isinstance(guide.go_on("hens"), Stop), "each call once"


def test_one_that_only_wants_to_be_read_is_gone_to(session: Session) -> None:
    guide = Guide(session, None)
    guide.start("morning")
    alive(session)
    offer = put(session, "correction", 100.0, data={"steps": [STEPS[0], {"action": "read_again"}]})
    data = {"action": "acid", "correction": offer.id, "step": 1}
    put(session, "dose", 90.0, item="nitric-8", value=30.0, unit="mL", data=data)
    found = guide.go_on("hens")
    assert isinstance(found, Stop) and found.station_id == "res-1"


def test_what_went_in_alone_comes_before_all_else_and_not_while_it_mixes(session: Session, clock: Any) -> None:
    put(session, "dose", 100.0, item="leaf-a", value=300.0, unit="mL", data={"action": "concentrate_a"})
    guide = Guide(session, None)
    found = guide.start("morning")
    assert isinstance(found, OpenCorrection) and "concentrate_b" in {step.action for step in found.steps}
    same = Guide(session, None).start("morning")
    assert isinstance(same, OpenCorrection) and same.id == found.id
    first = guide.go_on("res-1")
    assert isinstance(first, Stop) and first.station_id == "", "then the round begins"


def test_a_correction_is_worked_out_again_where_something_is_known_now(session: Session) -> None:
    guide = Guide(session, None)
    guide.start("morning")
    read(session)
    first = guide.walk_on("res-1", read=True)
    anew = guide.work_out_again("res-1")
    assert isinstance(first, OpenCorrection) and isinstance(anew, OpenCorrection) and anew.id != first.id
    assert len(session.history.records(kind="correction")) == 2


def test_a_farm_with_mistaken_files_is_walked_on_and_it_is_said_why(farm_folder: Path, clock: Any) -> None:
    feeds = farm_folder / "feeds.toml"
    feeds.write_text(feeds.read_text(encoding="utf-8").replace("a_ml_per_l = 5", 'a_ml_per_l = "x"'), encoding="utf-8")
    session = Session.open(farm_folder, clock=clock)
    guide = Guide(session, None)
    guide.start("morning")
    for item, number in (("ph", 6.9), ("ec", 1.7)):
        put(session, "reading", item=item, value=number)
    found = guide.walk_on("res-1", read=True)
    assert not isinstance(found, OpenCorrection)
    assert all(each.startswith("Reservoir one: ") for each in guide.said)
