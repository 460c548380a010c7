"""A station that was left out: for that round only, and never by a record of a time that has not come."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from rounds.history.record import Draft
from rounds.walk.session import Session


@pytest.fixture
def session(farm_folder: Path, clock: Any) -> Session:
    return Session.open(farm_folder, clock=clock)


def asked(session: Session) -> set[str]:
    return {stop.station_id for stop in session.due("morning")}


def skip(session: Session, minutes: float, item: str = "") -> None:
    at = session.now() + timedelta(minutes=minutes)
    session.save(Draft(kind="skip", station="ch-1", item=item, note="no time", measured_at=at))


def test_a_station_left_out_on_a_laptop_whose_clock_ran_ahead_is_still_asked(session: Session) -> None:
    skip(session, 60)
    skip(session, 26 * 60)
    assert "ch-1" in asked(session)


def test_a_station_left_out_this_morning_is_not_asked_again_on_this_round(session: Session, clock: Any) -> None:
    skip(session, -1)
    assert "ch-1" not in asked(session)
    skip(session, 26 * 60)
    clock.go_on(days=1)
    assert "ch-1" in asked(session), "the next morning it is"


def test_a_single_check_skipped_in_time_to_come_is_still_asked(session: Session) -> None:
    skip(session, 60, "roots")
    (stop,) = (stop for stop in session.due("morning") if stop.station_id == "ch-1")
    assert "roots" in {due.item.id for due in stop.items}
