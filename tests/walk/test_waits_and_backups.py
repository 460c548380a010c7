"""What the first screen says about what mixes and about a record that stands in one place only."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from rounds.history.backup import backup
from rounds.history.record import Draft
from rounds.walk.safekeeping import concerns
from rounds.walk.session import Session
from rounds.walk.waits import mixing_waits


def read(session: Session, item: str) -> None:
    session.save(Draft(kind="reading", station="res-1", item=item, value=6.0, measured_at=session.now()))


def test_two_weeks_of_readings_without_a_backup_are_told_and_a_new_farm_is_left_in_peace(
    session: Session, clock: Any, tmp_path: Path
) -> None:
    assert concerns(session) == []
    read(session, "ph")
    clock.go_on(days=14)
    read(session, "ec")
    assert concerns(session) == []
    clock.go_on(days=1)
    read(session, "ec")
    (told,) = concerns(session)
    assert told.startswith("There has been no backup yet")
    session.history.flush()
    backup(session.farm.folder, tmp_path / "stick", now=session.now())
    assert concerns(session) == []
    clock.go_on(days=14)
    assert concerns(session) == []
    clock.go_on(days=1)
    assert concerns(session) == ["The last good backup was made 15 days ago."]


@pytest.mark.parametrize(
    ("following", "told"), [("acid", "then the next step"), ("read_again", "then read it again"), ("recheck", "")]
)
def test_what_mixes_says_what_comes_after_it_and_when(session: Session, clock: Any, following: str, told: str) -> None:
    steps = [{"action": "circulate", "wait_min": 25, "text": "Run."}, {"action": following, "text": "Go on."}]
    (offer,) = session.save(Draft(kind="correction", measured_at=clock(), station="res-1", data={"steps": steps}))
    clock.go_on(minutes=2)
    data = {"action": "circulate", "correction": offer.id, "step": 1}
    session.save(Draft(kind="step", measured_at=clock(), station="res-1", item="circulate", data=data))
    clock.go_on(minutes=5)
    found = mixing_waits(session)
    assert [(wait.what, wait.until - clock()) for wait in found] == ([(told, timedelta(minutes=20))] if told else [])
