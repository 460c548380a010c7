"""A that went in alone: first on the way, however old, whatever came in between, until it is ended or given up."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from rounds.cli.due import lines_of, what_is_due
from rounds.errors import BadInput
from rounds.history.record import Draft
from rounds.walk.carrying_out import put_off, record_step
from rounds.walk.daybook.sentences import record_text
from rounds.walk.guide import Guide
from rounds.walk.half_pairs import give_up, half_pair_at, half_pairs, pair_text
from rounds.walk.offering import readings_for, work_out
from rounds.walk.open_corrections import OpenCorrection, open_correction_of
from rounds.walk.session import Session
from rounds.walk.stops import Stop

STEPS = [
    {"action": "change_out", "product": "well", "amount": 200.0, "unit": "L", "text": "Fill."},
    {"action": "concentrate_a", "product": "leaf-a", "amount": 800.0, "unit": "mL", "text": "Pour A."},
    {"action": "circulate", "wait_min": 10, "text": "Let the pump run."},
    {"action": "concentrate_b", "product": "leaf-b", "amount": 800.0, "unit": "mL", "text": "Pour B."},
]


def a_alone(session: Session, clock: Any) -> OpenCorrection:
    """A change-out of which water and A went in, and B not."""
    session.save(Draft(kind="correction", measured_at=session.now(), station="res-1", data={"steps": STEPS}))
    correction = open_correction_of(session, "res-1")
    assert correction is not None
    correction = record_step(session, correction, correction.steps[0], None, None)
    clock.go_on(minutes=5)
    return record_step(session, correction, correction.steps[1], None, None)


def read(session: Session, **values: float) -> None:
    for item, value in values.items():
        session.save(Draft(kind="reading", measured_at=session.now(), station="res-1", item=item, value=value))


def first_stop(session: Session) -> Any:
    return Guide(session, None).start("morning")


def is_b_alone(correction: object) -> bool:
    assert isinstance(correction, OpenCorrection), correction
    return [(s.action, s.amount) for s in correction.steps if s.is_measured] == [("concentrate_b", 800.0)]


@pytest.mark.parametrize("hours", [4.0, 24.0, 24 * 30.0, 24 * 75.0])
def test_b_comes_first_however_long_ago_a_went_in_alone(session: Session, clock: Any, hours: float) -> None:
    a_alone(session, clock)
    clock.go_on(hours=hours)
    again = Session.open(session.farm.folder, clock=clock)
    (pair,) = half_pairs(again)
    assert pair_text(again, pair).startswith("Pour 800 mL of B into Reservoir one: A went in alone ")
    assert is_b_alone(first_stop(again))
    readings = readings_for(again, "res-1")
    assert readings is not None
    assert [s.action for s in work_out(again, "res-1", readings).steps] == ["concentrate_b", "circulate", "read_again"]


def test_while_a_mixes_nobody_is_led_back_and_then_the_same_correction_goes_on(session: Session, clock: Any) -> None:
    begun = a_alone(session, clock)
    assert isinstance(first_stop(session), Stop), "what is alive"
    clock.go_on(minutes=11)
    going_on = first_stop(session)
    assert isinstance(going_on, OpenCorrection)
    assert going_on.id == begun.id


def test_readings_in_between_do_not_end_it(session: Session, clock: Any) -> None:
    a_alone(session, clock)
    clock.go_on(hours=5)
    read(session, ph=7.0, ec=1.1, t=20.0, dip=36.0)
    assert is_b_alone(Guide(session, None).correction_of(session.farm.reservoir("res-1")))
    assert half_pair_at(session, "res-1") is not None


def test_put_off_it_stands_there_again_the_next_time(session: Session, clock: Any) -> None:
    begun = a_alone(session, clock)
    put_off(session, begun, "no light", None)
    clock.go_on(hours=1)
    again = first_stop(session)
    assert is_b_alone(again)
    put_off(session, again, "no light yet", None)
    clock.go_on(hours=1)
    assert is_b_alone(first_stop(session))


def test_esc_from_it_leads_to_what_is_alive_and_on(session: Session, clock: Any) -> None:
    a_alone(session, clock)
    clock.go_on(hours=4)
    guide = Guide(session, None)
    assert is_b_alone(guide.start("morning"))
    alive = guide.walk_on("res-1", read=False)
    assert isinstance(alive, Stop)
    assert alive.station_id == ""


def test_once_b_is_poured_it_is_ended(session: Session, clock: Any) -> None:
    a_alone(session, clock)
    clock.go_on(hours=4)
    correction = first_stop(session)
    record_step(session, correction, correction.steps[0], None, None)
    assert half_pairs(session) == []


def test_a_change_out_after_it_ends_it(session: Session, clock: Any) -> None:
    a_alone(session, clock)
    clock.go_on(hours=4)
    session.save(Draft(kind="dose", measured_at=session.now(), station="res-1", item="well", value=200.0, unit="L",
                       data={"action": "change_out"}))  # fmt: skip
    assert half_pairs(session) == []


def test_a_taken_back_takes_it_back_too(session: Session, clock: Any) -> None:
    a_alone(session, clock)
    (a,) = session.history.records(item="leaf-a")
    session.history.void(a.id, person="ada", note="it was the other reservoir")
    assert half_pairs(session) == []


def test_it_is_given_up_with_a_reason_that_the_daybook_shows(session: Session, clock: Any) -> None:
    a_alone(session, clock)
    clock.go_on(hours=4)
    correction = first_stop(session)
    (pair,) = half_pairs(session)
    with pytest.raises(BadInput, match="without a reason"):
        give_up(session, pair, "  ", correction.id, None)
    assert half_pairs(session) == [pair]
    record = give_up(session, pair, "drum burst", correction.id, None)
    assert half_pairs(session) == []
    assert open_correction_of(session, "res-1") is None
    assert record_text(session, record) == "Reservoir one: Leaf B given up, its other half went in alone (drum burst)"
    session.history.void(record.id, person="ada", note="found another drum")
    assert half_pairs(session) == [pair]


def allow(folder: Path, products: str, step_ml: int, day_ml: int) -> None:
    path = folder / "farm.toml"
    limits = f"\n[limits.helper]\nproducts = [{products}]\nstep_ml = {step_ml}\nday_ml = {day_ml}\n"
    path.write_text(path.read_text(encoding="utf-8").replace("\n[[people]]", f"{limits}\n[[people]]", 1), "utf-8")


@pytest.mark.parametrize(
    ("products", "step_ml", "day_ml", "may"),
    [('"leaf-a", "leaf-b"', 900, 900, True), ('"leaf-a", "leaf-b"', 700, 2000, False), ('"leaf-a"', 900, 2000, False),
     ('"leaf-a", "leaf-b"', 900, 700, False)],
)  # fmt: skip
def test_a_helper_pours_it_only_where_it_is_theirs_to_pour_and_else_calls(
    farm_folder: Path, clock: Any, products: str, step_ml: int, day_ml: int, may: bool
) -> None:
    allow(farm_folder, products, step_ml, day_ml)
    a_alone(Session.open(farm_folder, clock=clock), clock)
    clock.go_on(hours=4)
    helper = Session.open(farm_folder, person_id="ben", clock=clock)
    readings = readings_for(helper, "res-1")
    assert readings is not None
    found = work_out(helper, "res-1", readings)
    assert "A went in alone" in found.findings[0].text
    assert [(s.action, s.amount) for s in found.steps[:1]] == ([("concentrate_b", 800.0)] if may else [])
    assert may or "Call the grower" in found.refusals[0].instead


def test_what_is_due_names_it_first(session: Session, clock: Any) -> None:
    a_alone(session, clock)
    clock.go_on(hours=4)
    form = what_is_due(session)
    assert next(iter(form)) == "half_pairs"
    (told,) = form["half_pairs"]
    assert (told["station"], told["product"], told["amount"], told["unit"]) == ("res-1", "leaf-b", 800.0, "mL")
    assert lines_of(form)[0] == "! Pour 800 mL of B into Reservoir one: A went in alone at 06:05."
