"""A round belongs to the day on which it was started, however late it is closed."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from rounds.history.record import Draft
from rounds.walk.round import close_round, closed_today, current_round, open_round, start_round
from rounds.walk.session import Session
from rounds.walk.summary import summarise


@pytest.fixture
def session(farm_folder: Path, clock: Any) -> Session:
    return Session.open(farm_folder, clock=clock)


def test_a_round_closed_after_midnight_was_yesterdays(session: Session, clock: Any) -> None:
    clock.go_on(hours=17, minutes=50)
    walk = start_round(session, "dusk")
    clock.go_on(minutes=15)
    close_round(session, walk, {})
    assert session.now().day == 26
    assert not closed_today(session, "dusk")
    clock.go_on(hours=16)
    assert not closed_today(session, "dusk")
    again = start_round(session, "dusk")
    assert again.id == "2026-11-26-dusk"
    close_round(session, again, {})
    assert closed_today(session, "dusk")


def test_a_morning_round_closed_late_at_night_leaves_the_next_morning_due(session: Session, clock: Any) -> None:
    clock.go_on(hours=17, minutes=50)
    walk = start_round(session, "morning")
    clock.go_on(minutes=15)
    close_round(session, walk, {})
    clock.go_on(hours=11)
    assert current_round(session) == "morning"


def test_yesterdays_round_closed_during_todays_leaves_todays_open(session: Session, clock: Any) -> None:
    clock.go_on(hours=17, minutes=50)
    yesterdays = start_round(session, "dusk")
    clock.go_on(hours=15)
    todays = start_round(session, "dusk")
    clock.go_on(minutes=5)
    close_round(session, yesterdays, {})
    still = open_round(session, "dusk")
    assert still is not None and still.id == todays.id
    assert not closed_today(session, "dusk")


def test_a_dose_without_an_amount_stands_in_the_summary(session: Session) -> None:
    walk = start_round(session, "morning")
    session.save(
        Draft(
            kind="dose", measured_at=session.now(), station="res-1", item="well", round_id=walk.id,
            data={"action": "top_up"},
        )
    )  # fmt: skip
    assert summarise(session, walk).doses == ("Reservoir one: Well water",)
