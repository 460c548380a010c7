"""A reading that cannot be is refused at the gate,
on the limits and just beyond them; everything else is let through."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from rounds.errors import OutOfRange
from rounds.history.record import Draft
from rounds.walk.impossible import NothingImpossible
from rounds.walk.session import Session


@pytest.fixture
def session(farm_folder: Path, clock: Any) -> Session:
    return Session.open(farm_folder, clock=clock)


@pytest.mark.parametrize(
    ("draft", "can_be"),
    [
        ({"item": "ph", "value": 0.0}, True), ({"item": "ph", "value": 14.0}, True), ({"item": "ph", "value": 14},
        True),
        ({"item": "ph", "value": -0.01}, False), ({"item": "ph", "value": 14.01}, False),
        ({"item": "t", "value": -2.0}, True),
        ({"item": "t", "value": -2.1}, False), ({"item": "ph", "value": 64.0, "void": True, "replaces": "x"}, True),
        ({"item": "ph", "value": 64.0, "kind": "note"}, True), ({"item": "ph", "value": None}, True),
        ({"item": "moonlight", "value": 1e9}, True), ({"item": "ph", "value": 64.0, "station": "hens"}, True),
        ({"item": "ph", "value": 64.0, "station": "gone"}, True),
    ],
)  # fmt: skip
def test_a_reading_lies_within_what_can_be(session: Session, draft: dict[str, Any], can_be: bool) -> None:
    made = Draft(**{"kind": "reading", "station": "res-1", "measured_at": session.now()} | draft)
    sound = Draft(kind="reading", station="res-1", item="ph", value=6.0, measured_at=session.now())
    rule = NothingImpossible(session.farm, session.checklists)
    if can_be:
        rule([sound, made], None)
        return
    for drafts in ([made], [sound, made], [made, sound]):
        with pytest.raises(OutOfRange, match="Nothing was written down"):
            rule(drafts, None)
