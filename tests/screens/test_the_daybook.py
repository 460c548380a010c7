"""The daybook by keyboard: a wrong entry put right, and older ones reached however many there are."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import Any

from rounds.walk.answering import note_draft
from rounds.walk.session import Session
from rounds.walk.stops import stop_at
from rounds.walk.visit import Visit


async def test_what_cannot_be_stays_on_the_line_and_what_is_hard_to_believe_is_asked_about(
    driven: Any, farm_folder: Path, clock: Any
) -> None:
    session = Session.open(farm_folder, clock=clock)
    Visit(session=session, stop=stop_at(session, "morning", "res-1")).take_line("ph 6.0")
    clock.go_on(hours=1)
    Visit(session=session, stop=stop_at(session, "morning", "res-1", everything=True)).take_line("ph 6.1")
    session.history.close()
    async with driven(farm_folder) as walker:
        await walker.press("d", "e")
        await walker.type("64", "enter")
        assert walker.screen == "PromptScreen"
        assert "cannot be 64" in walker.words
        await walker.press("backspace", "backspace")
        await walker.type("9", "enter")
        assert "Enter again keeps it" in walker.words
        assert walker.app.session.history.latest("res-1", "ph").value == 6.1
        await walker.press("enter")
        assert walker.screen == "DaybookScreen"
        assert walker.app.session.history.latest("res-1", "ph").value == 9.0


async def test_older_entries_are_reached_however_many_are_newer(driven: Any, farm_folder: Path, clock: Any) -> None:
    session = Session.open(farm_folder, clock=clock)
    old = note_draft(session, "res-1", "OLD", at=clock.at - timedelta(days=10), round_id=None)
    newer = [
        note_draft(session, "res-1", f"n{i}", at=clock.at - timedelta(minutes=i), round_id=None) for i in range(420)
    ]
    session.save(old, *newer)
    session.history.close()
    async with driven(farm_folder) as walker:
        await walker.press("d")
        assert "the newest 400 of the last 7 days" in walker.words
        await walker.press("left")
        assert "n400" in walker.text, "the bar stands on the first of the lines that came"
        await walker.press("left")
        assert "the last 14 days" in walker.words
        assert "OLD" in walker.text
