"""Whether a correction held is told in one line at the reservoir and in the daybook."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from rounds.history.record import Draft
from rounds.walk.daybook.sentences import record_text
from rounds.walk.held import held_line
from rounds.walk.session import Session

FORESEEN = {
    "mixed": {"ph": {"value": 5.8, "low": 5.6, "high": 6.0}, "ec_ms_cm": {"value": 1.7, "low": 1.6, "high": 1.8}},
    "next_morning": {"ph": {"value": 5.95, "low": 5.7, "high": 6.2}},
}


@pytest.fixture
def session(farm_folder: Path, clock: Any) -> Session:
    session = Session.open(farm_folder, clock=clock)
    (offer,) = session.save(
        Draft(kind="correction", measured_at=clock(), station="res-1", data={"prediction": FORESEEN, "steps": []})
    )
    clock.go_on(minutes=5)
    session.save(
        Draft(kind="dose", measured_at=clock(), station="res-1", item="nitric-8", value=30.0, unit="mL",
              data={"action": "acid", "correction": offer.id, "step": 1})
    )  # fmt: skip
    return session


def read(session: Session, **values: float) -> None:
    session.save(
        *(Draft(kind="reading", measured_at=session.now(), station="res-1", item=item, value=value)
          for item, value in values.items())
    )  # fmt: skip


def test_nothing_is_told_before_it_was_read_again(session: Session, clock: Any) -> None:
    assert held_line(session, "res-1") == ""
    clock.go_on(minutes=5)
    read(session, ph=5.0)
    assert held_line(session, "res-1") == "", "five minutes after the dose nothing has mixed"


@pytest.mark.parametrize(("ph", "verdict"), [(5.9, ""), (6.4, ", outside 5.60 to 6.00")])
def test_the_recheck_is_told_against_what_was_foreseen(session: Session, clock: Any, ph: float, verdict: str) -> None:
    clock.go_on(minutes=40)
    read(session, ph=ph, ec=1.72)
    told = f"pH 5.80 expected, {ph:.2f} read{verdict}; EC 1.70 expected, 1.72 read"
    assert held_line(session, "res-1") == f"Today's acid: {told}"
    (offer,) = session.history.records(kind="correction")
    assert record_text(session, offer) == f"Reservoir one: correction worked out, 0 steps; {told}"


def test_next_morning_is_told_against_what_was_foreseen_for_it(session: Session, clock: Any) -> None:
    clock.go_on(minutes=40)
    read(session, ph=5.7)
    clock.go_on(hours=23)
    read(session, ph=6.1)
    assert held_line(session, "res-1") == "Yesterday's acid: pH 5.95 expected, 6.10 read"


def test_what_was_read_after_the_next_dose_tells_nothing_of_the_one_before(session: Session, clock: Any) -> None:
    clock.go_on(minutes=40)
    read(session, ph=5.9)
    clock.go_on(minutes=10)
    session.save(
        Draft(kind="dose", measured_at=clock(), station="res-1", item="well", value=20.0, unit="L",
              data={"action": "top_up"})
    )  # fmt: skip
    clock.go_on(minutes=60)
    read(session, ph=6.5)
    assert held_line(session, "res-1") == "Today's acid: pH 5.80 expected, 5.90 read"
