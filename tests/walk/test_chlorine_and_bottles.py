"""Three checks typed by name that open and shut the way to a dose."""

from __future__ import annotations

from typing import Any

from rounds.walk.fresh import readings_of
from rounds.walk.offering import work_out
from rounds.walk.session import Session
from rounds.walk.stops import stop_at
from rounds.walk.visit import Visit


def typed(session: Session, line: str) -> None:
    taken = Visit(session=session, stop=stop_at(session, "morning", "res-1", everything=True)).take_line(line)
    assert not taken.problems


def correction(session: Session) -> Any:
    readings = readings_of(session, "res-1")
    assert readings is not None
    return work_out(session, "res-1", readings)


# Acid on chlorine bleach sets chlorine free: CDC MMWR 40(36), 1991.
def test_no_acid_where_chlorine_was_used_until_it_is_rinsed(session: Session, clock: Any) -> None:
    typed(session, "ph 6.6 ec 1.7 t 21 dip 36 buffer 7.0")
    assert "acid" in [step.action for step in correction(session).steps]
    clock.go_on(minutes=1)
    typed(session, "chlorine")
    shut = correction(session)
    assert "acid" not in [step.action for step in shut.steps]
    assert "chlorine" in [refusal.code for refusal in shut.refusals]
    assert "rinsed y" in next(r.instead for r in shut.refusals if r.code == "chlorine")
    clock.go_on(minutes=30)
    typed(session, "rinsed y")
    assert "acid" in [step.action for step in correction(session).steps]


def test_rinsed_is_asked_for_once_chlorine_was_used(session: Session, clock: Any) -> None:
    before = {line.item.id for line in stop_at(session, "morning", "res-1").open_lines}
    typed(session, "chlorine")
    clock.go_on(minutes=1)
    after = {line.item.id for line in stop_at(session, "morning", "res-1").open_lines}
    assert "rinsed" not in before
    assert "rinsed" in after
