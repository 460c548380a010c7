"""A station that has left the farm's files while something of it was still open."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import Any

from rounds.history.record import Draft
from rounds.screens.bell import Bell
from rounds.walk.carrying_out import record_step
from rounds.walk.open_corrections import open_correction_of
from rounds.walk.session import Session
from rounds.walk.waits import Wait

STEPS = [
    {"action": "top_up", "product": "well", "amount": 20.0, "unit": "L", "text": "Add 20 L.", "wait_min": 10},
    {"action": "acid", "product": "nitric-8", "amount": 30.0, "unit": "mL", "text": "Pour 30 mL."},
    {"action": "recheck", "text": "Read again."},
]


async def test_the_walk_opens_where_a_reservoir_with_an_open_correction_was_renamed(
    driven: Any, farm_folder: Path, clock: Any
) -> None:
    session = Session.open(farm_folder, clock=clock)
    data = {"steps": STEPS, "assumed": {"volume_l": 180.0}}
    session.save(Draft(kind="correction", measured_at=session.now(), station="res-1", data=data))
    correction = open_correction_of(session, "res-1")
    assert correction is not None and correction.next_step is not None
    record_step(session, correction, correction.next_step, None, None)
    session.history.close()
    farm = farm_folder / "farm.toml"
    farm.write_text(farm.read_text(encoding="utf-8").replace('"res-1"', '"tank-a"'), encoding="utf-8")
    async with driven(farm_folder) as walker:
        walker.app.tick()
        assert "Enter starts the morning round" in walker.words


def test_the_bell_names_a_station_that_is_gone_by_its_id(farm_folder: Path, clock: Any) -> None:
    session = Session.open(farm_folder, clock=clock)
    bell = Bell(session)
    bell._waits = [Wait(station_id="gone", until=session.now() + timedelta(minutes=5), what="then read it again")]
    assert "gone mixes" in bell.countdown()
    clock.go_on(minutes=6)
    assert bell.rung() == ["gone has mixed: then read it again."]
