"""What doing a correction writes down, field by field, and what a typed line means at a step."""

from __future__ import annotations

import dataclasses
from typing import Any

import msgspec
import pytest

from rounds.book.offered import Offer
from rounds.errors import BadInput, Refused
from rounds.walk.carrying_out import after_the_wrong_amount, dip_in_buffer, far_more, put_off, record_step
from rounds.walk.open_corrections import OpenCorrection, open_correction_of
from rounds.walk.session import Session
from rounds.walk.step_line import (
    Command,
    ForStation,
    Poured,
    Shown,
    Unclear,
    meant,
    names_something,
    to_confirm,
    wanted,
)
from tests.walk.written import fields_of, put

STEPS = [
    {"action": "buffer_dip"},
    {"action": "acid", "product": "nitric-8", "amount": 30.0, "unit": "mL", "wait_min": 25.0},
    {"action": "circulate", "wait_min": 40.0}, {"action": "look"},
    {"action": "top_up", "product": "well", "amount": 20.0, "unit": "L"}, {"action": "recheck"},
]  # fmt: skip


def offered(session: Session, steps: list[dict[str, Any]] = STEPS) -> OpenCorrection:
    put(session, "correction", data={"steps": steps})
    found = open_correction_of(session, "res-1")
    assert found is not None
    return found


def test_a_dose_is_written_down_field_by_field_and_the_pump_runs_by_itself(session: Session, clock: Any) -> None:
    correction = offered(session, STEPS[1:])
    clock.go_on(minutes=3)
    after = record_step(session, correction, correction.steps[0], 28.0, "r1")
    dose, pump = session.history.records(since=clock())
    data = {"action": "acid", "correction": correction.id, "step": 1, "advised": 30.0}
    common = {"measured_at": clock(), "station": "res-1", "person": "ada", "round_id": "r1"}
    assert fields_of(dose) == common | {"kind": "dose", "item": "nitric-8", "value": 28.0, "unit": "mL", "data": data}
    assert fields_of(pump) == common | {
        "kind": "step", "item": "circulate",
        "data": {"action": "circulate", "correction": correction.id, "step": 2, "advised": None},
    }  # fmt: skip
    assert {number: each.id for number, each in after.done.items()} == {1: dose.id, 2: pump.id}
    assert after.next_step is not None and after.next_step.action == "look"
    clock.go_on(minutes=50)
    looked = record_step(session, after, after.next_step, None, None)
    assert session.history.records(since=clock())[0].item == "looked"
    water = record_step(session, looked, looked.steps[3], None, None)
    assert water.next_step is None and open_correction_of(session, "res-1") is None
    poured, recheck = session.history.records(since=clock())[1:]
    assert (poured.value, poured.unit, poured.data["advised"], recheck.item) == (20.0, "L", 20.0, "recheck")


@pytest.mark.parametrize(("amount", "mark"), [
    (30.0, ()), (31.5, ()), (31.6, ("more than advised: 31.6 of 30 mL",)), (20.0, ()), (None, ()),
])  # fmt: skip
def test_more_than_a_twentieth_above_the_advice_is_marked(
    session: Session, amount: float | None, mark: tuple[str, ...]
) -> None:
    correction = offered(session, STEPS[1:])
    record_step(session, correction, correction.steps[0], amount, None)
    assert session.history.records(kind="dose")[0].marks == mark


@pytest.mark.parametrize("amount", [-0.1, 1_000_001.0])
def test_an_amount_that_cannot_have_been_added_is_refused(session: Session, amount: float) -> None:
    correction = offered(session, STEPS[1:])
    with pytest.raises(BadInput, match="cannot have been added"):
        record_step(session, correction, correction.steps[0], amount, None)
    assert session.history.records(kind="dose") == []


def test_a_step_is_not_written_down_twice_nor_of_a_correction_that_is_gone(session: Session) -> None:
    correction = offered(session, STEPS[1:])
    record_step(session, correction, correction.steps[0], None, None)
    with pytest.raises(Refused, match="written down already"):
        record_step(session, correction, correction.steps[0], None, None)
    put_off(session, correction, "guests", None)
    with pytest.raises(Refused, match="no longer holds"):
        record_step(session, correction, correction.steps[2], None, None)


@pytest.mark.parametrize(("number", "amount", "far", "after"), [
    (2, 45.0, "", ""), (2, 46.0, "46 mL is 1.5 times the advice of 30 mL", "TOO MUCH ACID"),
    (2, 90.0, "90 mL is 3 times the advice of 30 mL", "TOO MUCH ACID"), (2, 14.0, "", "The other steps no longer hold"),
    (2, 15.0, "", ""), (5, 60.0, "60 L is 3 times the advice of 20 L", "The other steps no longer hold"),
    (4, 9.0, "", ""),
])  # fmt: skip
def test_far_from_the_advice_is_asked_about_and_said(
    session: Session, number: int, amount: float, far: str, after: str
) -> None:
    step = offered(session).steps[number - 1]
    assert far_more(step, amount) == far
    assert after_the_wrong_amount(step, amount).startswith(after) and bool(
        after_the_wrong_amount(step, amount)
    ) is bool(after)


def test_what_was_put_off_is_written_down_whole(session: Session, clock: Any) -> None:
    correction = offered(session)
    record = put_off(session, correction, "guests", "r1")
    assert fields_of(record) == {
        "kind": "put-off", "measured_at": clock(), "station": "res-1", "person": "ada", "note": "guests",
        "round_id": "r1", "data": {"correction": correction.id},
    }  # fmt: skip


@pytest.mark.parametrize(("text", "off"), [
    ("7.0", ""), ("7,12", ""), ("7.3", "0.28 too high"), ("0", "7.02 too low"), ("14", "6.98 too high"),
])  # fmt: skip
def test_a_dip_in_buffer_is_written_down_whole_and_judged(session: Session, clock: Any, text: str, off: str) -> None:
    """A buffer of 7 has 7.02 at 20 °C; 0.1 passes."""
    put(session, "reading", 1.0, item="t", value=20.0)
    concern = dip_in_buffer(session, offered(session), text, "r1")
    assert off in concern and bool(concern) is bool(off)
    (record,) = session.history.records(item="buffer")
    assert fields_of(record) | {"value": record.value} == {
        "kind": "reading", "measured_at": clock(), "station": "res-1", "item": "buffer", "person": "ada",
        "value": float(text.replace(",", ".")), "typed": text, "meter": "pen-1", "round_id": "r1",
        "data": {"buffer": 7.0, "temperature_c": 20.0},
    }  # fmt: skip
    assert session.history.records(kind="step") == [], "nothing was poured: the correction is worked out anew"


def test_a_dip_without_a_temperature_is_judged_at_twenty_degrees_and_an_impossible_one_refused(
    session: Session,
) -> None:
    correction = offered(session)
    assert "0.28 too high" in dip_in_buffer(session, correction, "7.3", None)
    assert session.history.records(item="buffer")[0].data == {"buffer": 7.0}
    for text in ("14.1", "-0.1"):
        with pytest.raises(BadInput, match="cannot show"):
            dip_in_buffer(session, correction, text, None)


@pytest.mark.parametrize(("number", "text", "expected"), [
    (2, "p", Command("p")), (2, "P", Command("p")), (2, "30", Poured(30.0)), (2, "0.5 L", Poured(500.0)),
    (5, "19,5", Poured(19.5)), (5, "500 mL", Poured(0.5)), (1, "7.02", Shown("7.02")),
    (2, "ph 6.1", ForStation("ph 6.1")), (2, "ph6.1", ForStation("ph6.1")), (2, "ec=1.7", ForStation("ec=1.7")),
    (4, "PH: 6.1", ForStation("PH: 6.1")), (1, "ph 6.1", ForStation("ph 6.1")),
    (2, "6.1 ph", ForStation("6.1 ph")), (4, "30", None), (2, "nonsense", None), (1, "7 parsecs", None), (2, "x", None),
])  # fmt: skip
def test_what_a_line_means_at_a_step(session: Session, number: int, text: str, expected: object) -> None:
    correction = offered(session)
    done = {n: Offer(put(session, "note")) for n in range(1, number)}
    at_step = OpenCorrection(**{name: getattr(correction, name) for name in OpenCorrection.__dataclass_fields__} | {
        "done": done,
    })  # fmt: skip
    found = meant(session, at_step, text)
    if expected is None:
        assert isinstance(found, Unclear) and ("Type" in found.sentence or "written" in found.sentence)
    else:
        assert found == expected


def test_what_was_poured_of_a_thinned_bottle_is_typed_as_poured_and_booked_as_of_the_bottle(session: Session) -> None:
    """20 mL of one in a hundred are 0.2 mL of the bottle itself."""
    correction = offered(session)
    step = msgspec.structs.replace(correction.steps[1], amount=0.2, thinned=100.0)
    steps = (correction.steps[0], step, *correction.steps[2:])
    done = {1: Offer(put(session, "note"))}
    at_step = dataclasses.replace(correction, steps=steps, done=done)
    assert meant(session, at_step, "20") == Poured(0.2)


def test_what_may_be_typed_at_a_step_is_said(session: Session) -> None:
    dip, acid, pump, look, water, _ = offered(session).steps
    reading = "or a reading by its name, such as ph 6.1."
    assert wanted(None) == "Type a reading by its name, such as ph 6.1."
    assert wanted(dip) == f"Type what the meter shows, {reading}"
    assert wanted(acid) == f"Type the amount in mL, {reading}" and wanted(water) == f"Type the amount in L, {reading}"
    assert wanted(look) == wanted(pump) == f"Type a letter of the key line, {reading}"
    assert to_confirm(acid) == "Type the mL you poured, such as 30, then Enter"
    assert [to_confirm(step) for step in (dip, pump, look, water)] == [""] * 4
    thinned = msgspec.structs.replace(acid, amount=0.2, thinned=100.0)
    assert to_confirm(thinned) == "Type the mL of the thinned bottle you poured, such as 20, then Enter"
    assert names_something(session, "res-1", "it has ph") and not names_something(session, "res-1", "it has none")
