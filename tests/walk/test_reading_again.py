"""Reading again: a second look counts as one, and what is doubted expects nothing."""

from __future__ import annotations

from typing import Any

import pytest

from rounds.history.record import Draft
from rounds.walk.conversation import Conversation
from rounds.walk.fresh import readings_of
from rounds.walk.offering import offer, work_out
from rounds.walk.session import Session
from rounds.walk.station_text import row_of
from rounds.walk.stops import stop_at
from rounds.walk.visit import Visit


def talk_at(session: Session, station: str = "res-1") -> Conversation:
    return Conversation(Visit(session=session, stop=stop_at(session, "morning", station), round_id="r1"))


def values(session: Session, item: str) -> list[Any]:
    return [record.value for record in session.history.records(item=item, kind="reading")]


def put(session: Session, kind: str, item: str, value: Any, **more: Any) -> None:
    session.save(Draft(kind=kind, station="res-1", item=item, value=value, measured_at=session.now(), **more))


def test_the_same_read_again_stands_beside_the_first_and_it_is_said(session: Session, clock: Any) -> None:
    talk = talk_at(session)
    talk.line("ec 1.7")
    clock.go_on(seconds=40)
    said = talk.line("ec 1.72")
    assert values(session, "ec") == [1.7, 1.72]
    assert "EC 1.70 at 06:00 and 1.72 now agree: both count." in said.message
    talk.undo()
    assert values(session, "ec") == [1.7]
    assert talk.visit.answers["ec"].value == 1.7


def test_what_differs_puts_the_first_right_and_the_same_line_at_once_is_no_second_look(
    session: Session, clock: Any
) -> None:
    talk = talk_at(session)
    talk.line("ec 1.7")
    talk.line("ec 1.7")
    assert values(session, "ec") == [1.7]
    clock.go_on(seconds=40)
    talk.line("ec 1.5")
    assert values(session, "ec") == [1.5]


def test_a_reading_kept_though_doubted_expects_nothing_until_a_second_agrees(session: Session, clock: Any) -> None:
    talk_at(session).line("ec 1.7")
    clock.go_on(days=1)
    talk = talk_at(session)
    talk.line("ec 0.92")
    talk.line("k")
    clock.go_on(days=1)
    talk = talk_at(session)
    assert talk.line("ec 1.8").accepted
    assert talk.questions.doubtful is None, "it is held against 1.7, not against what was doubted"


def test_two_that_agree_confirm_each_other_whenever_the_second_comes(session: Session, clock: Any) -> None:
    talk_at(session).line("ec 1.7")
    clock.go_on(days=1)
    talk = talk_at(session)
    talk.line("ec 0.92")
    talk.line("k")
    clock.go_on(hours=5)
    again = talk_at(session)
    said = again.line("ec 0.95")
    assert again.questions.doubtful is None
    assert "EC 0.92 at 06:00 and 0.95 now agree: both count." in said.message
    clock.go_on(days=1)
    assert talk_at(session).line("ec 0.97").accepted, "from here on it is what is expected"


def test_two_that_do_not_agree_say_which_counts(session: Session, clock: Any) -> None:
    talk_at(session).line("ec 1.7")
    clock.go_on(days=1)
    talk = talk_at(session)
    talk.line("ec 0.92")
    talk.line("k")
    clock.go_on(minutes=3)
    assert "do not agree: 1.68 counts" in talk_at(session).line("ec 1.68").message


def test_a_reading_is_not_its_own_second_look(session: Session, clock: Any) -> None:
    talk_at(session).line("ph 6.0 ec 1.7 t 21 dip 36")
    clock.go_on(days=1)
    talk = talk_at(session)
    talk.line("ec 0.6")
    talk.line("k")
    clock.go_on(minutes=3)
    talk.line("ph 6.0 t 21 dip 36")
    readings = readings_of(session, "res-1")
    assert readings is not None
    assert any(step.action == "read_again" for step in work_out(session, "res-1", readings).steps)


@pytest.mark.parametrize("kind", ["check", "doing"])
def test_after_a_calibration_the_old_buffer_value_expects_nothing(session: Session, clock: Any, kind: str) -> None:
    put(session, "reading", "buffer", 6.6)
    clock.go_on(days=1)
    talk = talk_at(session)
    talk.line("buffer 7.02")
    assert talk.questions.doubtful is not None
    put(session, kind, "calibrated", True if kind == "check" else None)
    clock.go_on(minutes=2)
    talk = talk_at(session)
    talk.line("buffer 7.02")
    assert talk.questions.doubtful is None


def test_the_dip_beside_the_field_is_the_level_now(session: Session, clock: Any) -> None:
    put(session, "reading", "dip", 31.0, unit="cm")
    clock.go_on(minutes=5)
    put(session, "dose", "well", 25.0, unit="L", data={"action": "top_up"})
    clock.go_on(days=1)
    stop = stop_at(session, "morning", "res-1")
    before = next(row_of(session, stop, line).before for line in stop.lines if line.item.id == "dip")
    assert before == "36.0  by now", "25 L on 50 by 100 cm are 5 cm"
    talk = talk_at(session)
    talk.line("dip 35.8")
    assert talk.questions.doubtful is None


def test_a_reading_that_is_wanted_again_is_what_a_bare_number_is(session: Session, clock: Any) -> None:
    talk_at(session).line("ph 6.0 ec 1.7 t 21 dip 36")
    clock.go_on(days=1)
    talk = talk_at(session)
    talk.line("ph 6.0 ec 0.6 t 21 dip 36")
    talk.line("k")
    correction = offer(session, session.farm.reservoir("res-1"), "r1")
    assert correction is not None
    step = correction.next_step
    assert step is not None
    assert step.action == "read_again"
    clock.go_on(minutes=3)
    again = talk_at(session)
    assert again.questions.text == "Read the EC again. a number in mS/cm"
    again.line("0.62")
    assert values(session, "ec")[-1] == 0.62
    assert values(session, "ph") == [6.0, 6.0]


def test_a_bare_number_at_a_doubt_is_for_what_is_doubted(session: Session, clock: Any) -> None:
    talk_at(session).line("ec 1.7")
    clock.go_on(days=1)
    talk = talk_at(session)
    talk.line("ec 0.92")
    talk.line("1.69")
    assert values(session, "ec") == [1.7, 1.69]
    assert values(session, "ph") == []


def test_the_words_of_a_question_answer_it_with_yes(session: Session) -> None:
    talk = talk_at(session)
    talk.line("6.0 1.7 21 36")
    talk.line("buffer 7.0")
    talk.all_well()
    assert talk.questions.asked is not None
    talk.line("strainer clean")
    assert session.history.latest("res-1", "strainer").value is True


def test_how_what_is_still_asked_is_typed_is_said(session: Session) -> None:
    talk = talk_at(session)
    talk.line("6.0 1.7 21 36 buffer 7.0")
    assert "Type `strainer y` or `strainer n`, or - leaves the rest out" in talk.line("").message
