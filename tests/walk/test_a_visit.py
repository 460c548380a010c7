"""One visit to a station as question and answer, without a screen."""

from __future__ import annotations

from typing import Any

import pytest

from rounds.book.gate import Gate
from rounds.errors import NotSaved
from rounds.history.record import Draft
from rounds.walk.at_start import AtStart
from rounds.walk.at_station import AtStation
from rounds.walk.at_summary import AtSummary
from rounds.walk.carrying_out import record_step
from rounds.walk.conversation import Conversation
from rounds.walk.open_corrections import open_correction_of
from rounds.walk.round import start_round
from rounds.walk.session import Session
from rounds.walk.stops import alive_stop, next_station, stop_at
from rounds.walk.visit import Visit


def visit(session: Session, station: str) -> Conversation:
    return Conversation(Visit(session=session, stop=stop_at(session, "morning", station), round_id="r1"))


def test_a_line_is_saved_in_one_go_with_person_meter_and_round(session: Session) -> None:
    said = visit(session, "res-1").line("ph 6,0 ec 1.7")
    assert said.accepted
    records = session.history.records(kind="reading")
    assert {(r.item, r.person, r.meter, r.round_id) for r in records} == {
        ("ph", "ada", "pen-1", "r1"),
        ("ec", "ada", "pen-1", "r1"),
    }


def test_a_doubtful_reading_is_not_written_before_it_is_answered(session: Session) -> None:
    talk = visit(session, "res-1")
    talk.line("ph 60")
    assert session.history.records(kind="reading") == []
    assert talk.not_saved
    talk.line("")
    (reading,) = session.history.records(kind="reading")
    assert reading.value == 6.0
    assert not talk.not_saved


def test_what_is_hard_to_believe_can_be_kept_and_is_marked(session: Session, clock: Any) -> None:
    visit(session, "res-1").line("ph 6.0")
    clock.go_on(days=1)
    talk = visit(session, "res-1")
    talk.line("ph 7.4")
    talk.line("k")
    assert session.history.latest("res-1", "ph").marks == ("hard to believe, kept",)


def test_what_is_impossible_cannot_be_kept(session: Session) -> None:
    talk = visit(session, "res-1")
    talk.line("ph 99")
    said = talk.line("k")
    assert not said.accepted
    assert session.history.records(kind="reading") == []


def test_typing_the_doubted_item_again_answers_the_question(session: Session) -> None:
    talk = visit(session, "res-1")
    talk.line("ph 60")
    talk.line("ph 6.1")
    assert talk.questions.doubtful is None
    assert [r.value for r in session.history.records(item="ph")] == [6.1]


def test_all_well_covers_checks_but_neither_readings_nor_what_is_asked_outright(session: Session) -> None:
    talk = visit(session, "res-1")
    talk.all_well()
    (record,) = session.history.records(item="all-well")
    covered = set(record.data["covers"])
    assert "pump" in covered
    assert covered.isdisjoint({"ph", "ec", "t", "dip"})
    assert {line.item.id for line in talk.open_lines} >= {"ph", "ec", "t", "dip"}


def test_each_check_that_must_be_answered_is_asked_when_the_one_before_it_is(session: Session) -> None:
    talk = visit(session, "res-1")
    assert "Strainer clean" not in talk.line("6.0 1.7 21 36").message, "first what one key says"
    talk.line("buffer 7.0")
    assert "Strainer clean" in talk.all_well().message
    assert "Drums of A and B" in talk.line("y").message
    said = talk.line("y")
    assert said.finished
    assert {r.item for r in session.history.records(kind="check")} >= {"strainer", "drums", "all-well"}


def test_something_off_is_said_with_what_to_do_about_it(session: Session) -> None:
    said = visit(session, "ch-1").line("wilt")
    assert "Flow, then roots" in said.message
    assert not said.finished


def test_undo_takes_back_the_whole_line(session: Session) -> None:
    talk = visit(session, "res-1")
    talk.line("ph 6.0 ec 1.7")
    talk.undo()
    assert session.history.records(kind="reading") == []
    assert len(session.history.records(kind="reading", replaced=True)) == 4


def test_a_filled_card_has_one_time_for_everything(session: Session, clock: Any) -> None:
    at = session.now().replace(hour=5, minute=10)
    visit = Visit(session=session, stop=stop_at(session, "morning", "res-1"), at=at)
    visit.take_line("6.0 1.7 21 36")
    visit.all_well()
    assert {record.measured_at for record in session.history.records()} == {at}


def test_the_alive_screen_is_asked_once_a_round(session: Session) -> None:
    stop = alive_stop(session, "morning")
    Visit(session=session, stop=stop).all_well()
    assert not alive_stop(session, "morning").open_lines


def test_the_next_station_follows_the_walk_and_comes_back_to_what_was_left(session: Session) -> None:
    assert next_station(session, "morning") == "res-1"
    assert next_station(session, "morning", "res-1") == "ch-1"
    assert next_station(session, "morning", "ch-2") == "res-1"


def test_a_check_can_be_named_by_any_word_that_only_its_label_has(session: Session) -> None:
    stop = alive_stop(session, "morning")
    talk = Conversation(Visit(session=session, stop=stop))
    said = talk.line("gas")
    assert "Stay out" in said.message
    (record,) = session.history.records(item="smell")
    assert record.value is False


def test_all_well_says_what_is_still_off(session: Session) -> None:
    talk = visit(session, "ch-1")
    talk.line("wilt")
    said = talk.all_well()
    # The label says how it should be: unquoted, "Still off: No plant wilts" would read as if all were well.
    assert "Still off: “No plant wilts”" in said.message
    assert not said.finished


def test_a_reading_that_was_kept_is_still_out_of_its_band(session: Session, clock: Any) -> None:
    visit(session, "res-1").line("ph 6.0")
    clock.go_on(days=1)
    talk = visit(session, "res-1")
    talk.line("ph 7.4")
    said = talk.line("k")
    assert "1.20 above" in said.message
    assert "Nothing is off" not in said.message


def test_undo_of_a_second_entry_brings_the_first_one_back(session: Session) -> None:
    talk = visit(session, "res-1")
    talk.line("t 21.1")
    talk.line("t 20.0")
    talk.undo()
    (reading,) = session.history.records(item="t")
    assert reading.value == 21.1


def test_after_undo_an_item_shows_what_counts_again(session: Session) -> None:
    """First the reading before with its own sign, then nothing; each time only what was typed in that line."""
    talk = visit(session, "res-1")
    talk.line("ph 5.2 ec 1.7")
    talk.line("ph 6.0")
    (again,) = talk.undo().shown
    assert (again.item_id, again.sign, again.value) == ("ph", "▼", "5.20")
    assert again.text not in ("", "taken back")
    shown = talk.undo().shown
    assert [(each.item_id, each.sign, each.text, each.value) for each in shown] == [
        ("ec", "•", "taken back", ""),
        ("ph", "•", "taken back", ""),
    ]


def test_undone_to_the_last_line_only_what_was_read_before_this_visit_counts(session: Session, clock: Any) -> None:
    visit(session, "res-1").line("ph 6.1")
    clock.go_on(minutes=1)
    talk = visit(session, "res-1")
    for typed in ("ph 5.9 ec 1.7", "ph 6.0", "ph 6.2"):
        talk.line(typed)
    counted = []
    for _ in range(3):
        talk.undo()
        counted.append({(each.item, each.value) for each in session.history.records(kind="reading")})
    before = {("ph", 6.1)}
    assert counted == [before | {("ec", 1.7), ("ph", 6.0)}, before | {("ec", 1.7), ("ph", 5.9)}, before]
    assert "nothing to take back" in talk.undo().message


def test_what_an_undone_all_well_covered_is_shown_as_taken_back(session: Session) -> None:
    talk = visit(session, "ch-1")
    covered = {each.item_id for each in talk.all_well().shown}
    assert covered
    assert {each.item_id: each.text for each in talk.undo().shown if each.item_id in covered} == dict.fromkeys(
        covered, "taken back"
    )


def test_a_key_that_does_nothing_here_says_so_and_leaves_the_typed_line(session: Session) -> None:
    talk, walk = visit(session, "res-1").visit, start_round(session, "morning")
    for place in (AtStation(talk), AtSummary(session, walk), AtStart(session)):
        said = place.press("f12")
        assert (said.message, said.accepted, said.way) == ("f12 does nothing here.", False, None)
    assert not talk.answers


def test_bare_numbers_fill_only_what_is_asked_for(session: Session) -> None:
    said = visit(session, "res-1").line("6.0 1.7 21 36 5")
    assert "more numbers than readings" in said.message
    # As many as another station has: which of them was meant for this one is not known, so none is taken.
    assert session.history.records(kind="reading") == []
    assert not said.accepted, "the line stands there to be put right"


def test_nothing_unlikely_is_offered_to_one_key(session: Session) -> None:
    talk = visit(session, "res-1")
    said = talk.line("ph 99")
    assert "Enter:" not in said.message
    assert "Type it again" in said.message
    assert "5.60 was meant" in visit(session, "res-1").line("ph 56").message


def test_two_doubtful_readings_are_both_named_before_they_are_left(session: Session) -> None:
    talk = visit(session, "res-1")
    talk.line("ph 60")
    said = talk.line("ec 17")
    assert "and 1 more" in said.message
    assert "pH" in talk.not_saved
    assert "EC" in talk.not_saved


def test_a_word_that_is_none_is_answered_with_readings_and_checks(session: Session) -> None:
    said = visit(session, "ch-1").line("rots")
    assert "“rots”: nothing has that name here. Known here: flow" in said.message
    assert "Checks: stream, outlet, roots" in said.message
    listed = said.message[said.message.index("Checks:") :].splitlines()[0]
    assert len(listed) <= 78


def test_every_word_that_is_told_is_taken(session: Session) -> None:
    for station in ("res-1", "ch-1", "hens"):
        said = visit(session, station).line("nonsense")
        words = said.message.split("Checks: ")[1].splitlines()[0].rstrip(".…").rstrip(" ,").split(", ")
        assert words
        for word in words:
            assert "nothing has that name" not in visit(session, station).line(word).message


def test_what_a_reservoir_has_taught_is_taken_up_from_its_last_correction(
    session: Session, clock: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    from rounds.belief import memory
    from rounds.walk.offering import offer

    reservoir = session.farm.reservoir("res-1")
    visit(session, "res-1").line("ph 6.9 ec 1.7 t 20 dip 30cm")
    assert offer(session, reservoir, "r1") is not None
    clock.go_on(hours=3)
    visit(session, "res-1").line("ph 6.6 ec 1.7 t 20 dip 30cm")
    monkeypatch.setattr(memory, "followed", _gone_through_again)
    assert offer(session, reservoir, "r1") is not None


def _gone_through_again(*_: object) -> None:
    raise AssertionError("the past is gone through again although nothing in it has changed")


def test_a_doubtful_reading_is_asked_about_with_what_was_read(session: Session, clock: Any) -> None:
    visit(session, "res-1").line("6.0 1.7 21 36")
    clock.go_on(days=1)
    talk = visit(session, "res-1")
    said = talk.line("ec 0.9 dip 12")
    assert "EC 0.90 mS/cm is hard to believe after 1.70" in said.message
    said = talk.line("k")
    assert "Dip 12.0 cm is hard to believe after 36.0 cm last time. k and Enter" in said.message
    assert "noted" not in said.message, "it is not written down yet"
    assert "Dip 3.25 cm is" in talk.line("dip 3.25").message, "as it was typed, not rounded"


def test_all_well_says_so_where_it_answers_nothing(session: Session) -> None:
    talk = visit(session, "res-1")
    talk.all_well()
    said = talk.all_well()
    assert said.message.startswith("+ answers nothing that is still open here. Still asked: pH")
    assert "All well" not in said.message


def test_looking_where_a_correction_says_does_not_answer_a_check_of_the_station(session: Session) -> None:
    visit(session, "res-1").line("6.0 1.7 21 31")
    checklist = session.checklists.of("reservoir")
    assert checklist is not None
    known = {item.id for item in checklist.items}
    before = {line.item.id for line in stop_at(session, "morning", "res-1").open_lines}
    for action in ("look", "circulate", "recheck", "read_again"):
        steps = [{"action": action, "text": "Look for a leak."}]
        session.save(Draft(kind="correction", measured_at=session.now(), station="res-1", data={"steps": steps}))
        correction = open_correction_of(session, "res-1")
        assert correction is not None
        done = record_step(session, correction, correction.steps[0], None, None).done[1]
        assert done.item not in known
    assert {line.item.id for line in stop_at(session, "morning", "res-1").open_lines} == before


def test_what_could_not_be_saved_is_not_taken_as_answered(session: Session, monkeypatch: pytest.MonkeyPatch) -> None:
    talk = visit(session, "res-1")
    assert talk.line("ph 6.0").accepted

    def full(*_: object, **__: object) -> None:
        raise NotSaved("The disk is full.")

    monkeypatch.setattr(Gate, "write", full)
    monkeypatch.setattr(Gate, "take_back", full)
    for said in (talk.all_well(), talk.undo(), talk.line("ec 1.7")):
        assert not said.accepted
        assert "The disk is full." in said.message
        assert not said.shown
    assert [record.item for record in session.history.records()] == ["ph"]
