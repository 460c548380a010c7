"""What there is to tell comes from one registry; a provider that fails costs a line, not the screen."""

from __future__ import annotations

from typing import Any

import pytest

from rounds.cli.due import what_is_due
from rounds.history.record import Draft
from rounds.walk.matters import REGISTRY, Ahead, Figure, Matter
from rounds.walk.overview import to_sort_lines
from rounds.walk.session import Session
from rounds.walk.stock import count_product
from rounds.walk.telling import FAILED, matters, told


def broken(session: Session) -> list[Matter]:
    raise ValueError("no such\nthing")


def put_off(session: Session) -> None:
    session.save(Draft(kind="put-off", station="res-1", note="no acid", measured_at=session.now()))


def test_one_that_fails_costs_one_line_and_the_others_are_told(
    session: Session, monkeypatch: pytest.MonkeyPatch
) -> None:
    put_off(session)
    (sound,) = matters(session, "to sort")
    monkeypatch.setitem(REGISTRY, "to sort", [broken, *REGISTRY["to sort"]])
    failed, still = matters(session, "to sort")
    assert (failed.code, still) == (FAILED, sound)
    assert failed.text == "The broken can't be told: ValueError: no such thing"
    first, *lines = to_sort_lines(session, width=80, most=3)
    assert first == "Still to sort" and lines[0] == f"! {failed.text}"
    assert lines[1].split("  ")[0] == "↪ Reservoir one: Correct what was put off: no acid"
    assert lines[1].endswith("today 6:00")


def test_one_that_fails_halfway_does_not_stop_what_is_due(session: Session, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(REGISTRY, "first", [broken])
    form = what_is_due(session)
    assert form["half_pairs"] == []
    assert any("can't be told" in sentence for sentence in form["missing"])
    assert form["stations"]


def test_another_room_can_tell_something_too(session: Session, monkeypatch: pytest.MonkeyPatch) -> None:
    mine = Matter(code="frost", text="Frost tonight", severity="warning")
    monkeypatch.setitem(REGISTRY, "to sort", [*REGISTRY["to sort"], lambda _: [mine]])
    assert to_sort_lines(session, width=80, most=3) == ["Still to sort", "! Frost tonight"]


def test_the_shelf_is_told_in_figures_and_what_wants_attention_in_matters(session: Session) -> None:
    count_product(session, session.farm.shelf["nitric-8"], "0 L")
    found = told(session, "shelf")
    assert Figure(code="stock.leaf-a", label="Leaf A", value=8.0, unit="L") in found
    assert [each.text for each in found if isinstance(each, Matter)] == ["Working nitric acid: none left"]


def test_what_mixes_falls_due_later(session: Session, clock: Any) -> None:
    assert told(session, "ahead") == []
    steps = [{"action": "top_up", "product": "well", "amount": 20.0, "unit": "L", "wait_min": 10, "text": "Add."},
             {"action": "acid", "product": "nitric-8", "amount": 30.0, "unit": "mL", "text": "Pour."}]  # fmt: skip
    (offer,) = session.save(Draft(kind="correction", measured_at=session.now(), station="res-1", data={"steps": steps}))
    data = {"action": "top_up", "correction": offer.id, "step": 1, "advised": 20.0}
    dose = Draft(kind="dose", station="res-1", item="well", value=20.0, unit="L", measured_at=session.now(), data=data)
    session.save(dose)
    (ahead,) = told(session, "ahead")
    assert isinstance(ahead, Ahead)
    assert (ahead.station_id, ahead.seconds_left(session.now())) == ("res-1", 600)
