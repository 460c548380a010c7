"""What a visit to a station writes down, field by field, and what it answers."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from rounds.errors import NotFound
from rounds.walk.answering import note_draft, skip_draft, take_back
from rounds.walk.bare_numbers import orders
from rounds.walk.conversation import Conversation
from rounds.walk.daybook.sentences import record_text
from rounds.walk.session import Session
from rounds.walk.stops import alive_stop, next_station, stop_at
from rounds.walk.visit import Visit
from tests.walk.written import fields_of, put


def visit(session: Session, station: str = "res-1", **more: Any) -> Visit:
    return Visit(session=session, stop=stop_at(session, "morning", station), round_id="r1", **more)


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
        "kind": "check", "item": "all-well", "value": True, "data": {"covers": covered, "apart": True},
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
    (gone,) = here.undo()
    assert gone.id == again.id, "what counts again, not what it was written down anew for"
    assert session.history.latest("res-1", "ph") is None and here.answers == {}
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


def test_what_was_off_and_is_typed_again_as_well_is_off_no_more(session: Session) -> None:
    talk = Conversation(visit(session))
    first = talk.line("ph 6.5")
    assert "pH ▲ 0.30 above" in first.message and not first.finished
    assert "Still off: pH." in talk.line("ec 1.7").message
    again = talk.line("ph 6.0")
    assert "Nothing is off." in again.message
    assert {each.item_id: each.sign for each in again.shown} == {"ph": "✓"}
    assert "Still off" not in talk.all_well().message
