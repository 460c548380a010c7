"""Coming back to a round that was broken off, as by a power cut."""

from __future__ import annotations

from typing import Any

from rounds.history.record import Draft
from rounds.walk.carrying_out import record_step
from rounds.walk.conversation import Conversation
from rounds.walk.guide import Destination, Guide
from rounds.walk.open_corrections import OpenCorrection, open_corrections
from rounds.walk.session import Session
from rounds.walk.stops import Stop, alive_stop
from rounds.walk.visit import Visit

STEPS = [
    {"action": "top_up", "product": "well", "amount": 20.0, "unit": "L", "text": "Add 20 L."},
    {"action": "circulate", "wait_min": 10, "text": "Let the pump run."},
    {"action": "acid", "product": "nitric-8", "amount": 30.0, "unit": "mL", "text": "Pour 30 mL."},
]


def begun(session: Session) -> Guide:
    """A round on which everything is alive, and where the reservoir was read but its checks were not answered."""
    guide = Guide(session, None)
    guide.start("morning")
    Visit(session=session, stop=alive_stop(session, "morning"), round_id=guide.round_id).all_well()
    talk = Conversation(Visit(session=session, stop=guide.go_to("res-1"), round_id=guide.round_id))
    assert not talk.line("6.9 1.7 21 36").finished
    return guide


def taken_up(session: Session) -> tuple[Guide, Destination]:
    guide = Guide(session, None)
    return guide, guide.start("morning")


def answer_everything(session: Session, stop: Stop, guide: Guide) -> None:
    visit = Visit(session=session, stop=stop, round_id=guide.round_id)
    visit.all_well()
    for line in stop.asked:
        if line.item.id not in visit.answers:
            visit.take_field(
                line.item, {"yes_no": "y", "reading": "8"}.get(line.item.type, "".join(line.item.choices[:1]))
            )
    assert {line.item.id for line in stop.open_lines} <= set(visit.answers)


def test_open_checks_of_a_reservoir_come_before_its_correction(session: Session, clock: Any) -> None:
    begun(session)
    clock.go_on(minutes=5)
    guide, stop = taken_up(session)
    assert isinstance(stop, Stop)
    assert stop.station_id == "res-1"
    assert "ph" not in [line.item.id for line in stop.open_lines], "what was read is not asked for again"
    assert not open_corrections(session), "none is offered that the checks may yet change"
    answer_everything(session, stop, guide)
    _, correction = taken_up(session)
    assert isinstance(correction, OpenCorrection)
    assert correction.station_id == "res-1"


def test_an_offer_of_which_nothing_was_done_waits_for_the_checks_too(session: Session, clock: Any) -> None:
    guide = begun(session)
    assert isinstance(guide.walk_on("res-1", read=True), OpenCorrection)
    clock.go_on(minutes=5)
    guide, stop = taken_up(session)
    assert isinstance(stop, Stop)
    answer_everything(session, stop, guide)
    assert isinstance(guide.walk_on("res-1", read=True), OpenCorrection)


def test_a_correction_in_progress_is_taken_up_before_the_open_checks(session: Session, clock: Any) -> None:
    guide = begun(session)
    clock.go_on(minutes=1)
    session.save(Draft(kind="correction", measured_at=session.now(), station="res-1", data={"steps": STEPS}))
    (correction,) = open_corrections(session)
    record_step(session, correction, correction.steps[0], 20.0, guide.round_id)  # its wait begins by itself
    clock.go_on(minutes=11)
    _, there = taken_up(session)
    assert guide.go_to("res-1").open_lines
    assert isinstance(there, OpenCorrection)
    assert there.next_step is not None
    assert there.next_step.action == "acid"
