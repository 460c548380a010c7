"""The notice of a bad probe stands above the keys until it is put right, and covers nothing."""

from __future__ import annotations

from typing import Any

import pytest

from rounds.history.record import Draft
from rounds.walk.asked_first import is_the_last_answer
from rounds.walk.session import Session
from rounds.widgets.notices import Notices


def put(session: Session, kind: str, item: str, value: Any) -> None:
    session.save(Draft(kind=kind, station="res-1", item=item, value=value, measured_at=session.now()))


@pytest.mark.parametrize(("kind", "item", "value"), [("reading", "buffer", 7.02), ("doing", "calibrated", None)])
def test_it_holds_until_the_probe_is_dipped_or_calibrated_anew(
    session: Session, clock: Any, kind: str, item: str, value: Any
) -> None:
    at = session.now()
    put(session, "reading", "buffer", 7.6)
    assert is_the_last_answer(session, at)
    clock.go_on(minutes=2)
    put(session, "reading", "ph", 6.0)
    assert is_the_last_answer(session, at), "another reading puts no probe right"
    put(session, kind, item, value)
    assert not is_the_last_answer(session, at)


def test_a_notice_goes_when_it_no_longer_holds_and_when_its_time_is_over() -> None:
    notices, holds = Notices(), [True]
    notices.add("the probe is off", 60.0, lambda: holds[0])
    notices.add("saved", 0.0)
    assert notices.now() == ("the probe is off",)
    holds[0] = False
    assert notices.now() == ()
