"""What mixes until when, which reservoir calls back, and how a correction held."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from rounds.book.offered import Offer
from rounds.history.record import Record
from rounds.walk.held import held_line, held_of
from rounds.walk.rechecks import Call, calls, waits
from rounds.walk.session import Session
from rounds.walk.waits import Wait, mixing_waits
from tests.walk.written import SECOND, STEPS, dosed, offered, put, read


def step_done(session: Session, record: Record, number: int, ago_h: float) -> None:
    steps = Offer(record).steps
    step = steps[number - 1]
    data = {"action": step.action, "correction": record.id, "step": number}
    kind, amount = ("dose", step.amount) if step.is_measured else ("step", None)
    put(session, kind, ago_h, item=step.product or step.action, value=amount, unit=step.unit or None, data=data)


def test_what_mixes_waits_as_long_as_its_step_says(session: Session) -> None:
    record = offered(session, 1.0)
    assert mixing_waits(session) == []
    step_done(session, record, 1, 0.5)
    at = session.now() - timedelta(minutes=30)
    assert mixing_waits(session) == [
        Wait(station_id="res-1", until=at + timedelta(minutes=25), what="then the next step")
    ]
    step_done(session, record, 2, 0.25)
    (wait,) = mixing_waits(session)
    assert (wait.what, wait.until) == ("then read it again", session.now() + timedelta(minutes=25))
    assert (wait.seconds_left(session.now()), wait.seconds_left(wait.until + timedelta(seconds=9))) == (1500.0, -9.0)
    put(session, "put-off", 0.1, data={"correction": record.id})
    assert mixing_waits(session) == []


@pytest.mark.parametrize(("number", "ago_h", "waits_"), [
    (1, 5.9, True), (1, 6.0, True), (1, 6.0 + SECOND, False), (3, 1.0, False), (4, 1.0, False),
])  # fmt: skip
def test_no_wait_is_looked_for_that_began_more_than_six_hours_ago(
    session: Session, number: int, ago_h: float, waits_: bool
) -> None:
    record = offered(session, 7.0)
    step_done(session, record, number, ago_h)
    assert (len(mixing_waits(session)) == 1) is waits_


def test_a_dose_without_a_correction_or_of_another_place_waits_for_nothing(session: Session) -> None:
    record = offered(session, 1.0)
    dosed(session, 0.5)
    dosed(session, 0.4, correction="unknown", step=1)
    put(session, "dose", 0.3, station="gone", item="x", value=1.0, data={"correction": record.id, "step": 1})
    assert mixing_waits(session) == []


def test_a_reservoir_calls_back_when_it_has_mixed_for_its_next_step(session: Session, clock: Any) -> None:
    record = offered(session, 1.0)
    assert calls(session) == []
    step_done(session, record, 1, 50 / 60)
    step_done(session, record, 2, 39 / 60)
    begun = session.now() - timedelta(minutes=39)
    assert calls(session) == [] and len(waits(session)) == 1
    clock.go_on(minutes=1)
    assert calls(session) == [Call(station_id="res-1", since=begun, what="next step")]


def test_a_reservoir_calls_back_to_be_read_when_it_has_turned_over_three_times(session: Session, clock: Any) -> None:
    """180 L at work, two channels of 4 L with 2 L of roots, 6 L of pipes: 198 L, by 20 L/min."""
    minutes = round(3.0 * (180.0 + 2 * (4.0 + 2.0) + 6.0) / 20.0)
    record = offered(session, 2.0, steps=[STEPS[0]])
    dosed(session, 0.0, correction=record.id, step=1)
    due = session.now() + timedelta(minutes=minutes)
    assert waits(session) == [Wait(station_id="res-1", until=due, what="then read it again")]
    clock.go_on(minutes=minutes, seconds=-1)
    assert calls(session) == []
    clock.go_on(seconds=1)
    assert calls(session) == [Call(station_id="res-1", since=due, what="read again")]
    put(session, "skip", 0.0)
    assert calls(session) == [] and waits(session) == []


@pytest.mark.parametrize(("ago_h", "called"), [(19.9, True), (20.1, False)])
def test_what_was_poured_more_than_twenty_hours_ago_calls_nobody(session: Session, ago_h: float, called: bool) -> None:
    record = offered(session, ago_h, steps=[STEPS[0]])
    dosed(session, ago_h, correction=record.id, step=1)
    assert (len(calls(session)) == 1) is called


FORESEEN = {
    "mixed": {"ph": {"value": 5.8, "low": 5.6, "high": 6.0}},
    "next_morning": {"ph": {"value": 6.0, "low": 5.7, "high": 6.2}},
}  # fmt: skip


@pytest.mark.parametrize(("after_min", "ph", "told"), [
    (9, 5.8, ""), (10, 5.8, "pH 5.80 expected, 5.80 read"), (10, 5.6, "pH 5.80 expected, 5.60 read"),
    (10, 5.59, "pH 5.80 expected, 5.59 read, outside 5.60 to 6.00"), (10, 6.0, "pH 5.80 expected, 6.00 read"),
    (10, 6.01, "pH 5.80 expected, 6.01 read, outside 5.60 to 6.00"), 
    (599, 6.1, "pH 5.80 expected, 6.10 read, outside 5.60 to 6.00"),
    (600, 6.1, "pH 6.00 expected, 6.10 read"),
])  # fmt: skip
def test_a_correction_is_held_against_what_was_foreseen_for_then(
    session: Session, after_min: int, ph: float, told: str
) -> None:
    record = offered(session, 12.0, prediction=FORESEEN)
    dosed(session, 11.0, correction=record.id, step=1)
    read(session, "ph", ph, 11.0 - after_min / 60.0)
    assert held_of(session, Offer(record)) == told


@pytest.mark.parametrize(("day_h", "whose"), [(0.5, "Today's"), (12.0, "Yesterday's"), (50.0, "Monday's")])
@pytest.mark.parametrize(("action", "what"), [
    ("acid", "acid"), ("base", "base"), ("concentrate_a", "A and B"), ("concentrate_b", "A and B"), ("top_up", "water"),
    ("drain_off", "water"), ("change_out", "fill"), ("", "dose"),
])  # fmt: skip
def test_the_line_says_whose_it_was(session: Session, day_h: float, whose: str, action: str, what: str) -> None:
    """It is six on a Wednesday morning."""
    record = offered(session, day_h, prediction=FORESEEN)
    dosed(session, day_h, amount=10.0, action=action, correction=record.id, step=1)
    read(session, "ph", 5.9)
    expected = "5.80" if day_h < 10.0 else "6.00"
    assert held_line(session, "res-1") == f"{whose} {what}: pH {expected} expected, 5.90 read"


def test_nothing_is_told_of_a_correction_sixty_hours_old_or_of_which_nothing_was_poured(session: Session) -> None:
    record = offered(session, 60.1, prediction=FORESEEN)
    dosed(session, 59.0, correction=record.id, step=1)
    read(session, "ph", 5.9)
    assert held_line(session, "res-1") == ""
    bare = offered(session, 5.0, prediction=FORESEEN)
    assert held_of(session, Offer(bare)) == "" and held_line(session, "res-1") == ""
