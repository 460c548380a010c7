"""How long a correction on the walk holds: by its age, by what was poured of it, and by the level it was meant for."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from rounds.book.actions import POURED
from rounds.book.offer import Step
from rounds.errors import Refused
from rounds.history.record import Draft
from rounds.walk.carrying_out import after_the_wrong_amount, far_more, record_step
from rounds.walk.fresh import readings_of
from rounds.walk.offering import offer
from rounds.walk.open_corrections import OpenCorrection, open_correction_of, wants_offer
from rounds.walk.session import Session

STEPS = [
    {"action": "top_up", "product": "well", "amount": 20.0, "unit": "L", "text": "Add 20 L."},
    {"action": "acid", "product": "nitric-8", "amount": 30.0, "unit": "mL", "text": "Pour 30 mL."},
    {"action": "acid", "product": "nitric-8", "amount": 30.0, "unit": "mL", "text": "Pour 30 mL."},
]


def read(session: Session, **values: float) -> None:
    session.save(
        *(Draft(kind="reading", measured_at=session.now(), station="res-1", item=item, value=value)
          for item, value in values.items())
    )  # fmt: skip


def offered(session: Session) -> OpenCorrection:
    session.save(Draft(kind="correction", measured_at=session.now(), station="res-1", data={"steps": STEPS}))
    correction = open_correction_of(session, "res-1")
    assert correction is not None
    return correction


@pytest.mark.parametrize(
    ("poured", "goes_on"), [(0.0, False), (14.0, False), (15.0, True), (30.0, True), (45.0, True), (46.0, False)]
)
def test_less_than_half_of_a_dose_or_half_as_much_again_ends_the_rest_of_the_correction(
    session: Session, clock: Any, poured: float, goes_on: bool
) -> None:
    correction = offered(session)
    clock.go_on(minutes=5)
    correction = record_step(session, correction, correction.steps[0], None, None)
    clock.go_on(minutes=20)
    done = record_step(session, correction, correction.steps[1], poured, None)
    assert (open_correction_of(session, "res-1") is not None) is goes_on
    assert (after_the_wrong_amount(done.steps[1], poured) == "") is goes_on, "the screen says so at once"
    clock.go_on(minutes=20)
    if not goes_on:
        with pytest.raises(Refused, match="no longer holds"):
            record_step(session, done, done.steps[2], None, None)


def test_a_correction_that_is_being_poured_is_still_there_three_hours_after_the_last_dose(
    session: Session, clock: Any
) -> None:
    correction = offered(session)
    clock.go_on(hours=2)
    record_step(session, correction, correction.steps[0], None, None)
    clock.go_on(hours=2, minutes=30)
    still = open_correction_of(session, "res-1")
    assert still is not None, "four and a half hours after it was offered, but two and a half after the water"
    assert still.next_step is not None
    assert still.next_step.number == 2
    clock.go_on(minutes=31)
    assert open_correction_of(session, "res-1") is None


def test_a_correction_of_which_nothing_was_poured_is_gone_after_three_hours(session: Session, clock: Any) -> None:
    offered(session)
    clock.go_on(hours=3)
    assert open_correction_of(session, "res-1") is not None
    clock.go_on(minutes=1)
    assert open_correction_of(session, "res-1") is None


def test_what_was_drained_off_is_asked_to_be_filled_in_again(session: Session, clock: Any) -> None:
    """Dipped to the mark at 36 cm, 60 L drained: 120 L are in it, and 60 L are missing to the mark of 180 L."""
    read(session, ph=5.9, ec=1.7, t=20.0, dip=36.0)
    clock.go_on(minutes=10)
    session.save(
        Draft(kind="dose", measured_at=clock(), station="res-1", value=60.0, unit="L", data={"action": "drain_off"})
    )
    clock.go_on(minutes=40)
    read(session, ph=5.9, ec=1.7)
    found = readings_of(session, "res-1")
    assert found is not None
    assert found.volume_l == pytest.approx(120.0)
    correction = offer(session, session.farm.reservoir("res-1"), None)
    assert correction is not None
    water = [step.amount for step in correction.steps if step.action == "top_up"]
    assert sum(water) == pytest.approx(60.0, abs=1.0)
    assert {step.action for step in correction.steps} & set(POURED)


def test_a_reservoir_that_was_put_off_is_offered_again_only_after_a_new_reading(session: Session, clock: Any) -> None:
    read(session, ph=6.9, ec=1.7, t=20.0, dip=36.0)
    assert wants_offer(session, "res-1")
    clock.go_on(minutes=5)
    session.save(Draft(kind="put-off", measured_at=clock(), station="res-1", note="guests", data={"correction": "x"}))
    assert not wants_offer(session, "res-1")
    clock.go_on(minutes=5)
    read(session, ph=6.8)
    assert wants_offer(session, "res-1")


def test_a_correction_outlives_its_own_wait_where_the_pump_is_slow(session: Session, clock: Any) -> None:
    """4 L/min on 320 L: three turnovers take 240 minutes, arithmetic; the next step comes after them."""
    slow = [STEPS[0] | {"wait_min": 241.0}, STEPS[1]]
    session.save(Draft(kind="correction", measured_at=session.now(), station="res-1", data={"steps": slow}))
    correction = open_correction_of(session, "res-1")
    assert correction is not None
    record_step(session, correction, correction.steps[0], None, None)
    clock.go_on(minutes=250)
    still = open_correction_of(session, "res-1")
    assert still is not None
    assert still.next_step is not None
    assert still.next_step.number == 2
    clock.go_on(hours=3)
    assert open_correction_of(session, "res-1") is None


@pytest.mark.parametrize(("advised", "poured", "warned"), [(0.8, 1.2, False), (0.8, 1.3, True), (0.0, 5.0, False)])
def test_half_as_much_again_is_far_more_however_small_the_dose(advised: float, poured: float, warned: bool) -> None:
    assert bool(far_more(Step(action="acid", amount=advised, unit="mL"), poured)) is warned
    assert far_more(Step(action="circulate", amount=advised, unit="min"), poured) == ""


def test_a_correction_that_was_offered_to_the_grower_is_not_the_helpers_and_is_theirs_where_they_walk(
    session: Session, farm_folder: Path, clock: Any
) -> None:
    read(session, ph=7.0, ec=1.7)
    made = {"measured_at": session.now(), "station": "res-1", "data": {"steps": STEPS}}
    for person, grower_sees, helper_sees in (("ada", True, False), ("ben", True, True)):
        session.history.save(Draft(kind="correction", person=person, **made))
        helper = Session.open(farm_folder, person_id="ben", clock=clock)
        assert (open_correction_of(session, "res-1") is not None) is grower_sees
        assert (open_correction_of(helper, "res-1") is not None) is helper_sees
        assert wants_offer(helper, "res-1") is not helper_sees, "a helper is offered one of their own"
        helper.history.close()
