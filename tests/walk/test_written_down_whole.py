"""What a visit, a correction and the daybook write and say, field by field, and what a typed line means at a step."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from rounds.book.offered import Offer
from rounds.errors import BadInput, NotFound, Refused
from rounds.history.record import Draft, Record
from rounds.walk.answering import note_draft, skip_draft, take_back
from rounds.walk.bare_numbers import orders
from rounds.walk.carrying_out import after_the_wrong_amount, dip_in_buffer, far_more, put_off, record_step
from rounds.walk.conversation import Conversation
from rounds.walk.daybook import record_text
from rounds.walk.helper import beyond_limit, helpers_view, poured_today_ml
from rounds.walk.helpers_sheets import refuse_a_change_out, refuse_beyond_limits, refuse_to_make
from rounds.walk.missing import missing_lines
from rounds.walk.open_corrections import OpenCorrection, open_correction_of
from rounds.walk.session import Session
from rounds.walk.step_line import (
    BufferReading,
    Command,
    ForStation,
    Poured,
    Unclear,
    meant,
    names_something,
    to_confirm,
    wanted,
)
from rounds.walk.stops import alive_stop, next_station, stop_at
from rounds.walk.visit import Visit
from rounds.walk.walker import default_person, person_form, walking_file, walking_line
from rounds.walk.wording import answer_text, as_many_as_fit, minutes_text

STEPS = [
    {"action": "buffer_dip"},
    {"action": "acid", "product": "nitric-8", "amount": 30.0, "unit": "mL", "wait_min": 25.0},
    {"action": "circulate", "wait_min": 40.0}, {"action": "look"},
    {"action": "top_up", "product": "well", "amount": 20.0, "unit": "L"}, {"action": "recheck"},
]  # fmt: skip


@pytest.fixture
def session(farm_folder: Path, clock: Any) -> Session:
    return Session.open(farm_folder, clock=clock)


def put(session: Session, kind: str, ago_h: float = 0.0, station: str = "res-1", **fields: Any) -> Record:
    at = session.now() - timedelta(seconds=round(ago_h * 3600.0))
    return session.save(Draft(kind=kind, measured_at=at, station=station, **fields))[0]


def offered(session: Session, steps: list[dict[str, Any]] = STEPS) -> OpenCorrection:
    put(session, "correction", data={"steps": steps})
    found = open_correction_of(session, "res-1")
    assert found is not None
    return found


def fields_of(record: Record) -> dict[str, Any]:
    """What was drafted of a record, without what is empty."""
    drafted = {name: getattr(record, name) for name in Draft.__struct_fields__}
    return {name: value for name, value in drafted.items() if value not in (None, "", (), {}, False)}


def visit(session: Session, station: str = "res-1", **more: Any) -> Visit:
    return Visit(session=session, stop=stop_at(session, "morning", station), round_id="r1", **more)


# ------------------------------------------------------------------------------------------------------ at a station


def test_a_reading_is_written_down_field_by_field(session: Session, clock: Any) -> None:
    (saved,) = visit(session).take_line("ph 6,05").saved
    assert fields_of(saved[0]) == {
        "kind": "reading", "measured_at": clock(), "station": "res-1", "item": "ph", "person": "ada", "meter": "pen-1",
        "typed": "ph 6,05", "value": 6.05, "round_id": "r1",
    }  # fmt: skip
    (ec,) = visit(session).take_line("ec 1700 uS/cm").saved
    assert (ec[0].value, ec[0].unit, ec[0].meter, ec[0].typed) == (
        pytest.approx(1.7),
        "mS/cm",
        "pen-1",
        "ec 1700 uS/cm",
    )
    (flow,) = visit(session, "ch-1").take_line("flow 1.2").saved
    assert (flow[0].station, flow[0].meter, flow[0].unit) == ("ch-1", None, "L/min")


def test_one_time_holds_for_a_whole_card(session: Session, clock: Any) -> None:
    at = clock() - timedelta(hours=2)
    card = visit(session, at=at)
    taken = card.take_line("ph 6.05 ec 1.7")
    records = [record for record, _ in taken.saved]
    records += [*card.all_well(), card.note("a drip"), card.skip("dark")]
    assert {record.measured_at for record in records} == {at}
    assert card.orders == [[line.item.id for line in card.stop.lines if line.item.quick]]


def test_all_well_a_skip_and_a_note_are_written_down_field_by_field(session: Session, clock: Any) -> None:
    here = visit(session)
    (well,) = here.all_well()
    covered = [line.item.id for line in here.stop.covered]
    common = {"measured_at": clock(), "station": "res-1", "person": "ada", "round_id": "r1"}
    assert covered
    assert fields_of(well) == common | {
        "kind": "check", "item": "all-well", "value": True, "data": {"covers": covered},
    }  # fmt: skip
    assert here.all_well() == ()
    assert fields_of(here.skip("too dark")) == common | {"kind": "skip", "note": "too dark"}
    assert fields_of(here.note("a drip")) == common | {"kind": "note", "note": "a drip"}
    at = clock() - timedelta(hours=1)
    drafts = [skip_draft(session, "hens", "asleep", at=at, round_id=None, item="eggs"),
              note_draft(session, "", "frost", at=at, round_id=None)]  # fmt: skip
    one, two = session.save(*drafts)
    assert fields_of(one) == {
        "kind": "skip", "measured_at": at, "station": "hens", "item": "eggs", "person": "ada", "note": "asleep",
    }  # fmt: skip
    assert fields_of(two) == {"kind": "note", "measured_at": at, "person": "ada", "note": "frost"}


def test_typing_an_item_again_replaces_it_and_undo_brings_the_first_one_back(session: Session) -> None:
    here = visit(session)
    (first,) = here.take_line("ph 6.0").saved
    (second,) = here.take_line("ph 6.1").saved
    assert second[0].replaces == first[0].id and here.answers["ph"] == second[0]
    assert here.undo() == (second[0],)
    again = here.answers["ph"]
    assert fields_of(again) == fields_of(first[0]) | {"marks": ("counts again",)}
    assert session.history.latest("res-1", "ph") == again
    assert here.undo() == (first[0],)
    assert here.undo() == ()


def test_what_is_taken_back_says_so(session: Session) -> None:
    record = put(session, "reading", item="ph", value=6.0)
    assert take_back(session, record) == ()
    void = session.history.records(replaced=True)[-1]
    assert (void.void, void.person, void.note, void.replaces) == (True, "ada", "taken back", record.id)
    assert record_text(session, void) == "Reservoir one: ph taken back"


def test_what_was_probably_meant_is_written_down_and_what_cannot_be_is_not(session: Session) -> None:
    here = visit(session)
    (doubted,) = here.take_line("ph 60").doubtful
    assert here.answers == {}
    assert here.keep(doubted).problems == (f"{doubted.judgement.text}.",) and here.answers == {}
    (saved,) = here.take_likely(doubted).saved
    assert (saved[0].value, saved[0].typed, saved[0].marks) == (6.0, "ph 60", ())
    (jump,) = here.take_line("ph 7.5").doubtful or visit(session).take_line("ph 7.5").doubtful
    assert here.take_likely(jump).problems == ("Enter alone takes nothing here.",)
    (kept,) = here.keep(jump).saved
    assert (kept[0].value, kept[0].marks) == (7.5, ("hard to believe, kept",))


def test_bare_numbers_are_for_what_is_open_then_due_then_shown(session: Session, clock: Any) -> None:
    stop = stop_at(session, "morning", "res-1")
    quick = [line.item.id for line in stop.lines if line.item.quick]
    assert quick[:4] == ["ph", "ec", "t", "dip"]
    assert orders(session, stop, ()) == [quick, quick, quick]
    assert orders(session, stop, ("ph",)) == [quick[1:], quick, quick]
    assert orders(session, stop, quick) == [quick, quick]
    visit(session).take_line("ph 6.0 ec 1.7 t 20 dip 36")
    again = stop_at(session, "morning", "res-1")
    shown = [line.item.id for line in again.lines if line.item.quick]
    assert orders(session, again, ()) == [shown]
    clock.go_on(minutes=5)
    put(session, "dose", item="well", value=5.0, unit="L", data={"action": "top_up"})
    assert orders(session, again, ()) == [["ph", "ec"], ["ph", "ec"], shown]
    assert orders(session, again, ("ph",)) == [["ec"], ["ph", "ec"], shown]


def test_stations_come_in_their_order_and_begin_again_at_the_front(session: Session) -> None:
    order = session.walk_order()
    assert set(order) == {"res-1", "ch-1", "ch-2", "hens"}
    assert next_station(session, "morning") == order[0]
    assert [next_station(session, "morning", each) for each in order] == [*order[1:], order[0]]
    assert next_station(session, "morning", "gone") == order[0]
    numbers = [(stop_at(session, "morning", each).number, stop_at(session, "morning", each).of) for each in order]
    assert numbers == [(1, 4), (2, 4), (3, 4), (4, 4)]
    with pytest.raises(NotFound):
        stop_at(session, "morning", "gone")
    alive = alive_stop(session, "morning")
    assert (alive.station_id, alive.number, alive.of) == ("", 0, 4)
    assert alive.open_lines == alive.lines and alive.asked == () and alive.covered == alive.lines


def test_a_line_is_answered_from_the_hour_its_round_begins(session: Session, clock: Any) -> None:
    put(session, "reading", 6.0, item="ph", value=6.0)
    put(session, "reading", 6.1, item="ec", value=1.7)
    lines = {line.item.id: line for line in stop_at(session, "morning", "res-1").lines}
    assert lines["ph"].answered and lines["ph"].due is None and lines["ph"].last is not None
    assert not lines["ec"].answered and lines["ec"].due is not None
    everything = stop_at(session, "morning", "res-1", everything=True)
    assert [line.item.id for line in everything.lines] == [i.id for i in session.items(everything.station)]


# ------------------------------------------------------------------------------------------------------ conversation


def test_a_visit_ends_when_everything_is_answered_and_nothing_is_off(session: Session) -> None:
    talk = Conversation(visit(session, "ch-1"))
    assert not talk.line("").finished
    reply = talk.all_well()
    assert reply.message.startswith("All well.") and {each.sign for each in reply.shown} == {"✓"}
    open_ids = [line.item.id for line in talk.open_lines]
    assert reply.finished is (not open_ids)


def test_what_is_off_holds_the_visit_until_it_is_well_or_enter_walks_on(session: Session) -> None:
    here = Visit(session=session, stop=alive_stop(session, "morning"), round_id="r1")
    talk = Conversation(here)
    item = here.stop.lines[0].item
    reply = talk.field(item, "n" if item.well is True else "y")
    assert reply.accepted and not reply.finished
    assert f"“{item.label}” !" in reply.message
    said = talk.all_well()
    assert said.message.startswith(f"The rest is well. Still off: “{item.label}”.")
    assert "Enter walks on." in said.message and not said.finished
    assert talk.line("").finished
    undone = talk.undo()
    assert undone.message.startswith("Taken back") and undone.shown
    assert talk.undo().message.startswith("Taken back")
    assert talk.undo().message.startswith("There is nothing to take back")


def test_a_line_that_cannot_be_read_stays(session: Session) -> None:
    talk = Conversation(visit(session))
    reply = talk.line("nonsense 5")
    assert not reply.accepted and reply.message.startswith("✗")
    good = talk.line("ph 6.0 nonsense 5")
    assert not good.accepted and "Saved 1." in good.message
    assert session.history.latest("res-1", "ph") is not None


def test_what_is_typed_and_doubted_is_not_written_down_yet(session: Session) -> None:
    talk = Conversation(visit(session))
    assert talk.not_saved == ""
    talk.line("ph 64")
    assert talk.not_saved == "pH “ph 64” is not written down yet"
    talk.line("ec 17")
    assert talk.not_saved == "pH “ph 64”, EC “ec 17” are not written down yet"
    assert "(and 1 more)" in talk.questions.text and "Enter: 6.40 was meant" in talk.questions.text
    reply = talk.line("")
    assert session.history.latest("res-1", "ph").value == 6.4  # type: ignore[union-attr]
    assert "(and" not in talk.questions.text and reply.accepted
    talk.line("ec 1.7")
    assert talk.not_saved == ""


# -------------------------------------------------------------------------------------------------- doing a correction


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


def test_a_dip_without_a_temperature_is_judged_at_twenty_degrees_and_an_impossible_one_refused(
    session: Session,
) -> None:
    correction = offered(session)
    assert "0.28 too high" in dip_in_buffer(session, correction, "7.3", None)
    assert session.history.records(item="buffer")[0].data == {"buffer": 7.0}
    for text in ("14.1", "-0.1"):
        with pytest.raises(BadInput, match="cannot show"):
            dip_in_buffer(session, correction, text, None)


# -------------------------------------------------------------------------------------- what a line means at a step


@pytest.mark.parametrize(("number", "text", "expected"), [
    (2, "p", Command("p")), (2, "P", Command("p")), (2, "30", Poured(30.0)), (2, "0.5 L", Poured(500.0)),
    (5, "19,5", Poured(19.5)), (5, "500 mL", Poured(0.5)), (1, "7.02", BufferReading("7.02")),
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


def test_what_may_be_typed_at_a_step_is_said(session: Session) -> None:
    dip, acid, pump, look, water, _ = offered(session).steps
    reading = "or a reading by its name, such as ph 6.1."
    assert wanted(None) == "Type a reading by its name, such as ph 6.1."
    assert wanted(dip) == f"Type what the meter shows, {reading}"
    assert wanted(acid) == f"Type the amount in mL, {reading}" and wanted(water) == f"Type the amount in L, {reading}"
    assert wanted(look) == wanted(pump) == f"Type a letter of the key line, {reading}"
    assert to_confirm(acid) == "Type the mL you poured, such as 30, then Enter"
    assert [to_confirm(step) for step in (dip, pump, look, water)] == [""] * 4
    assert names_something(session, "res-1", "it has ph") and not names_something(session, "res-1", "it has none")


# ------------------------------------------------------------------------------------------------------- the daybook


@pytest.mark.parametrize(("fields", "text"), [
    ({"kind": "reading", "item": "ph", "value": 6.0}, "Reservoir one: pH 6.00"),
    ({"kind": "reading", "item": "ec", "value": 1.7, "unit": "mS/cm"}, "Reservoir one: EC 1.70 mS/cm"),
    ({"kind": "reading", "item": "gone", "value": 1.25}, "Reservoir one: gone 1.25"),
    ({"kind": "check", "item": "all-well", "value": True, "data": {"covers": ["a", "b"]}},
     "Reservoir one: all well (2 checks)"),
    ({"kind": "check", "item": "x", "value": True}, "Reservoir one: x: yes"),
    ({"kind": "check", "item": "x", "value": False}, "Reservoir one: x: no"),
    ({"kind": "check", "item": "x", "value": "white"}, "Reservoir one: x: white"),
    ({"kind": "check", "item": "x", "note": "seen"}, "Reservoir one: x (seen)"),
    ({"kind": "dose", "item": "nitric-8", "value": 30.0, "unit": "mL", "data": {"action": "acid"}},
     "Reservoir one: acid: Working nitric acid 30 mL"),
    ({"kind": "dose", "item": "leaf-a", "value": 0.5, "unit": "L", "data": {"action": "concentrate_a"}},
     "Reservoir one: A: Leaf A 0.5 L"),
    ({"kind": "dose", "item": "well", "value": 20.0, "unit": "L", "data": {"action": "top_up"}},
     "Reservoir one: top up: Well water 20 L"),
    ({"kind": "dose", "item": "gone", "data": {}}, "Reservoir one: added: gone "),
    ({"kind": "step", "item": "circulate"}, "Reservoir one: the pump runs to mix"),
    ({"kind": "step", "item": "recheck"}, "Reservoir one: to be read again when it has mixed"),
    ({"kind": "step", "item": "buffer_dip"}, "Reservoir one: the probe was dipped in buffer"),
    ({"kind": "step", "item": "looked"}, "Reservoir one: looked where the correction said"),
    ({"kind": "step", "item": "read_again"}, "Reservoir one: read again done"),
    ({"kind": "correction", "data": {"steps": STEPS}}, "Reservoir one: correction worked out, 6 steps"),
    ({"kind": "put-off", "note": "guests"}, "Reservoir one: correction put off (guests)"),
    ({"kind": "given-up", "item": "leaf-b"}, "Reservoir one: Leaf B given up, its other half went in alone"),
    ({"kind": "skip", "note": "dark"}, "Reservoir one: station left out (dark)"),
    ({"kind": "skip", "item": "ph"}, "Reservoir one: ph left out"),
    ({"kind": "stock", "station": "", "item": "leaf-a", "value": 7.5, "unit": "L"}, "Leaf A in stock: 7.5 L"),
    ({"kind": "round", "station": "", "item": "dusk", "value": "closed"}, "dusk round closed"),
    ({"kind": "note", "note": "a drip", "marks": ("one", "two")}, "Reservoir one: note (a drip; one; two)"),
    ({"kind": "seen", "item": "slow:ph"}, "Reservoir one: slow change of pH: seen"),
    ({"kind": "seen", "item": "slow:gone", "data": {"put_right": True}},
     "Reservoir one: slow change of gone: put right"),
    ({"kind": "event", "station": "gone"}, "gone: event"),
])  # fmt: skip
def test_how_each_kind_of_entry_is_told(session: Session, fields: dict[str, Any], text: str) -> None:
    record = put(session, **fields)
    assert record_text(session, record).rstrip() == text.rstrip()


def test_what_replaces_another_says_so(session: Session) -> None:
    record = put(session, "reading", item="ph", value=6.0)
    draft = Draft(kind="reading", measured_at=session.now(), station="res-1", item="ph", value=6.1)
    assert record_text(session, session.history.replace(record.id, draft)) == (
        "Reservoir one: pH 6.10 (replaces an earlier entry)"
    )


def test_an_answer_in_a_few_characters(session: Session) -> None:
    ph = session.item(session.farm.station("res-1"), "ph")
    yes = next(i for i in session.items(session.farm.station("res-1")) if i.well is True)
    told = [
        (None, None, ""), (ph, put(session, "reading", item="ph", value=6.0), "6.00"),
        (None, put(session, "reading", item="x", value=6.25), "6.25"),
        (yes, put(session, "check", item=yes.id, value=True), "well"),
        (yes, put(session, "check", item=yes.id, value=False), "no"),
        (None, put(session, "check", item="x", value=True), "yes"),
        (None, put(session, "check", item="all-well", value=True), "well"),
        (None, put(session, "skip", item="x"), "skipped"), (None, put(session, "check", item="x", value="red"), "red"),
        (None, put(session, "check", item="x", note="seen"), "seen"), (None, put(session, "check", item="x"), "noted"),
    ]  # fmt: skip
    assert [answer_text(item, record) for item, record, _ in told] == [text for _, _, text in told]


@pytest.mark.parametrize(("words", "room", "text"), [
    (["a", "b"], 4, "a, b"), (["a", "b"], 3, "a, …"), (["abcdef"], 3, "abcdef"), ([], 3, ""),
    (["aa", "bb", "cc"], 6, "aa, bb, …"), (["aa", "bb", "cc"], 10, "aa, bb, cc"),
])  # fmt: skip
def test_as_many_words_as_fit(words: list[str], room: int, text: str) -> None:
    assert as_many_as_fit(words, room) == text


@pytest.mark.parametrize(
    ("seconds", "text"), [(0, "0:00"), (-5, "0:00"), (59.6, "1:00"), (61, "1:01"), (3600, "60:00")]
)
def test_a_wait_in_minutes(seconds: float, text: str) -> None:
    assert minutes_text(seconds) == text


# ---------------------------------------------------------------------------------------------------------- a helper


def allowed(folder: Path, products: str = '"leaf-a", "leaf-b"') -> None:
    path = folder / "farm.toml"
    text = path.read_text(encoding="utf-8")
    limits = f"\n[limits.helper]\nproducts = [{products}]\nstep_ml = 300\nday_ml = 600\n\n[[people]]"
    path.write_text(text.replace("\n[[people]]", limits, 1), encoding="utf-8")


@pytest.fixture
def helper(farm_folder: Path, clock: Any) -> Session:
    """May pour A and B, 300 mL a step and 600 mL a day."""
    allowed(farm_folder)
    return Session.open(farm_folder, person_id="ben", clock=clock)


def poured(session: Session, ago_h: float, amount: float, action: str = "concentrate_a", **more: Any) -> Record:
    fields = {"item": "leaf-a", "value": amount, "unit": "mL", "person": "ben", "data": {"action": action}} | more
    at = session.now() - timedelta(seconds=round(ago_h * 3600.0))
    return session.history.save(Draft(kind="dose", measured_at=at, station="res-1", **fields))[0]


def test_what_a_helper_poured_counts_for_sixteen_hours_whatever_it_was(helper: Session) -> None:
    poured(helper, 16.1, 1.0)
    poured(helper, 15.9, 10.0)
    poured(helper, 1.0, 20.0, "acid")
    poured(helper, 1.0, 0.03, "base", unit="L")
    poured(helper, 1.0, 40.0, "concentrate_b")
    poured(helper, 1.0, 50.0, "top_up", unit="mL")
    poured(helper, 1.0, 60.0, person="ada")
    assert poured_today_ml(helper.history.records(), "ben", helper.now(), helper.zone) == pytest.approx(100.0)


@pytest.mark.parametrize(("product", "amount", "unit", "why"), [
    ("leaf-a", 300.0, "mL", ""), ("leaf-a", 301.0, "mL", "301 mL in one step, where the grower allows 300 mL"),
    ("leaf-a", 0.301, "L", "301 mL in one step"), ("nitric-8", 1.0, "mL", "not among what the grower allows"),
    ("nitric-8", 0.0, "mL", ""), ("well", 900.0, "L", ""), ("gone", 900.0, "L", ""), ("leaf-b", 250.0, "mL", ""),
    ("leaf-b", 251.0, "mL", "601 mL in one day, where the grower allows 600 mL"),
])  # fmt: skip
def test_why_a_helper_may_not_pour_so_much(helper: Session, product: str, amount: float, unit: str, why: str) -> None:
    poured(helper, 16.5, 500.0)
    if product == "leaf-b":
        poured(helper, 5.0, 350.0)
    found = beyond_limit(helper, product, amount, unit)
    assert why in found and bool(found) is bool(why)


def test_a_narrowed_shelf_holds_no_more_than_may_be_poured(helper: Session) -> None:
    """Both by 5 mL/L: half of what is left of the day, 400 mL, each; a step of 300 mL; 8 L are there."""
    view = helpers_view(helper.farm, [], "res-1", helper.now(), poured_today_ml=200.0)
    assert view.left_today_ml == 400.0 and view.reservoir_id == "res-1" and view.whole is helper.farm
    shelf = {product.id: product for product in view.farm.shelf.values()}
    assert {each: shelf[each].amount for each in shelf} == {
        "leaf-a": pytest.approx(0.2), "leaf-b": pytest.approx(0.2), "nitric-8": 0.0, "koh-5": 0.0,
    }  # fmt: skip
    assert {product.counted_on for product in shelf.values()} == {helper.now().date()}
    early = helpers_view(helper.farm, [], "res-1", helper.now())
    assert early.farm.shelf["leaf-a"].amount == pytest.approx(0.3)
    late = helpers_view(helper.farm, [], "res-1", helper.now(), poured_today_ml=700.0)
    assert late.left_today_ml == 0.0 and late.farm.shelf["leaf-a"].amount == 0.0


def test_sheets_that_a_helper_may_not_have(helper: Session, session: Session) -> None:
    for each in (lambda s: refuse_a_change_out(s), lambda s: refuse_to_make(s, ["leaf-a", "nitric-8"]),
                 lambda s: refuse_beyond_limits(s, [("nitric-8", 1.0, "mL")]),
                 lambda s: refuse_beyond_limits(s, [("leaf-a", 301.0, "mL")]),
                 lambda s: refuse_beyond_limits(s, [("leaf-a", 0.301, "L")]),
                 lambda s: refuse_beyond_limits(s, [("leaf-a", 300.0, "mL"), ("leaf-b", 300.0, "mL"),
                                                    ("leaf-a", 1.0, "mL")])):  # fmt: skip
        with pytest.raises(Refused):
            each(helper)
        each(session)
    refuse_to_make(helper, ["leaf-a", "leaf-b"])
    refuse_beyond_limits(helper, [("leaf-a", 300.0, "mL"), ("leaf-b", 0.3, "L"), ("well", 900.0, "L")])
    poured(helper, 5.0, 301.0)
    with pytest.raises(Refused, match="601 mL in a day"):
        refuse_beyond_limits(helper, [("leaf-a", 300.0, "mL")])
    refuse_beyond_limits(helper, [("leaf-a", 299.0, "mL")])


def test_who_walks_is_said_with_what_they_may_pour(helper: Session, session: Session) -> None:
    assert walking_line(session) == "Walking: Ada (grower)."
    assert walking_line(helper) == (
        "Walking: Ben (helper). May pour: Leaf A, Leaf B up to 300 mL a step, 600 mL a day."
    )
    assert person_form(helper) == {"id": "ben", "name": "Ben", "role": "helper"}


def test_who_walks_where_nobody_is_named(farm_folder: Path, clock: Any) -> None:
    farm = Session.open(farm_folder, clock=clock).farm
    assert default_person(farm, farm_folder).id == "ada"  # type: ignore[union-attr]
    for person, walks in (("ben", "ben"), ("ada", "ada"), ("nobody", "ben")):
        (farm_folder / "walking.toml").write_bytes(walking_file(person))
        assert default_person(farm, farm_folder).id == walks  # type: ignore[union-attr]
    (farm_folder / "walking.toml").write_text("[")
    assert default_person(farm, farm_folder).id == "ben"  # type: ignore[union-attr]
    bare = Session.open(farm_folder, person_id="Ben", clock=clock)
    assert bare.person_name() == "ben" and "May pour: only water." in walking_line(bare)
    with pytest.raises(NotFound):
        Session.open(farm_folder, person_id="eve", clock=clock)


def test_what_is_missing_of_a_farm_is_said_first(farm_folder: Path, clock: Any) -> None:
    assert missing_lines(Session.open(farm_folder, clock=clock)) == []
    path = farm_folder / "farm.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("birds = 12", 'birds = "x"'), encoding="utf-8")
    assert missing_lines(Session.open(farm_folder, clock=clock)) == [
        "1 station is left out for mistakes in farm.toml: hens."
    ]
    path.write_text(text.replace('role = "helper"', 'role = "helper"\nage = 5'), encoding="utf-8")
    assert missing_lines(Session.open(farm_folder, clock=clock)) == [
        "The farm's files have 1 mistake: `rounds check` names them."
    ]
    path.write_text(text, encoding="utf-8")
    (farm_folder / "shelf.toml").write_text("[", encoding="utf-8")
    assert missing_lines(Session.open(farm_folder, clock=clock)) == ["shelf.toml can't be used: there are no doses."]
