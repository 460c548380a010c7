"""A bare number is for what is asked for at this stop, whatever was answered there before."""

from __future__ import annotations

from typing import Any

from rounds.history.record import Draft
from rounds.walk.conversation import Conversation
from rounds.walk.session import Session
from rounds.walk.stops import stop_at
from rounds.walk.visit import Visit


def visit(session: Session, station: str, name: str) -> Conversation:
    return Conversation(Visit(session=session, stop=stop_at(session, name, station), round_id="r1"))


def values(session: Session, station: str) -> dict[str, Any]:
    return {r.item: r.value for r in session.history.records(station=station) if isinstance(r.value, int | float)}


def dusk_after_a_late_morning(session: Session, clock: Any) -> Conversation:
    """The morning's items of the hens were answered at dusk, so that they are shown there as answered."""
    clock.go_on(hours=18 - clock().hour)
    visit(session, "hens", "morning").line("eggs 10 water 3 feed 1.4")
    clock.go_on(minutes=10)
    return visit(session, "hens", "dusk")


def test_at_dusk_a_bare_number_is_the_count_that_is_due_and_not_the_eggs(session: Session, clock: Any) -> None:
    talk = dusk_after_a_late_morning(session, clock)
    assert talk.visit.orders[0] == ["perch"]
    talk.line("12")
    assert values(session, "hens") == {"eggs": 10, "water": 3, "feed": 1.4, "perch": 12}
    talk.line("11")
    assert values(session, "hens")["eggs"] == 10, "a second bare number mends the count, not the eggs"
    assert values(session, "hens")["perch"] == 11


def test_more_numbers_than_are_asked_for_are_not_guessed_at(session: Session, clock: Any) -> None:
    talk = dusk_after_a_late_morning(session, clock)
    before = values(session, "hens")
    said = talk.line("12 3")
    assert not said.accepted
    assert "perch" in said.message
    assert values(session, "hens") == before


def test_a_whole_line_is_taken_as_a_whole(session: Session, clock: Any) -> None:
    talk = dusk_after_a_late_morning(session, clock)
    assert talk.line("9 3.1 1.5 12").accepted
    assert values(session, "hens") == {"eggs": 9, "water": 3.1, "feed": 1.5, "perch": 12}


def test_the_next_bare_number_is_for_the_next_open_reading(session: Session) -> None:
    talk = visit(session, "res-1", "morning")
    talk.line("6.0")
    talk.line("1.7 21")
    assert values(session, "res-1") == {"ph": 6.0, "ec": 1.7, "t": 21}


def test_after_a_dose_ph_and_ec_are_asked_for_again_before_what_is_open(session: Session, clock: Any) -> None:
    visit(session, "res-1", "morning").line("7.0 1.7")
    clock.go_on(minutes=5)
    session.save(Draft(kind="dose", measured_at=session.now(), station="res-1", item="nitric-8", value=20.0, unit="mL"))
    clock.go_on(minutes=20)
    assert visit(session, "res-1", "morning").visit.orders[0] == ["ph", "ec", "t", "dip"]
