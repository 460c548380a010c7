"""Signs and alarms of the first screen are those of the day, and its night belongs to it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from rounds.history.record import Draft
from rounds.walk.round import start_round
from rounds.walk.session import Session
from rounds.walk.station_signs import signs_today, standing_alarms


@pytest.fixture
def session(farm_folder: Path, clock: Any) -> Session:
    """At ten to midnight, the hens looked at, the pump silent."""
    session = Session.open(farm_folder, clock=clock)
    clock.go_on(hours=17, minutes=50)
    alive = session.checklists.of("alive")
    assert alive is not None
    at = {"measured_at": session.now(), "person": "ada"}
    session.save(Draft(kind="check", station="hens", item="all-well", value=True, data={"covers": ["water"]}, **at))
    session.save(Draft(kind="check", item=alive.items[0].id, value=False, **at))
    return session


def stands(session: Session) -> bool:
    signs, alarms = signs_today(session), standing_alarms(session)
    assert bool(signs) == bool(alarms)
    return bool(signs)


@pytest.mark.parametrize(("minutes", "told"), [(0, True), (20, True), (240, True), (250, False), (500, False)])
def test_what_was_seen_in_the_evening_stands_until_the_night_is_over(
    session: Session, clock: Any, minutes: int, told: bool
) -> None:
    clock.go_on(minutes=minutes)
    assert stands(session) is told


def test_a_morning_round_begun_in_the_night_begins_the_day(session: Session, clock: Any) -> None:
    clock.go_on(minutes=60)
    start_round(session, "dusk")
    assert stands(session), "a late round goes on with its own day"
    start_round(session, "morning")
    assert not stands(session)
