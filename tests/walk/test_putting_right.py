"""What the daybook takes in place of a wrong entry: no more than the field would have taken."""

from __future__ import annotations

from typing import Any

import pytest

from rounds.errors import BadInput
from rounds.history.record import Draft, Record
from rounds.walk.putting_right import KEPT, put_right, right_value
from rounds.walk.session import Session
from rounds.walk.stops import stop_at
from rounds.walk.visit import Visit


def read(session: Session, line: str) -> dict[str, Record]:
    visit = Visit(session=session, stop=stop_at(session, "morning", "res-1"))
    return {record.item: record for record, _ in visit.take_line(line).saved}


@pytest.mark.parametrize(("item", "text"), [("ph", "64"), ("ph", "-1"), ("t", "200"), ("dip", "-5"), ("ec", "1900")])
def test_what_cannot_be_a_reading_does_not_become_one(session: Session, item: str, text: str) -> None:
    wrong = read(session, "6.0 1.7 21 31")[item]
    with pytest.raises(BadInput, match="cannot be"):
        put_right(session, wrong, text)
    assert session.history.latest("res-1", item) == wrong


def test_a_right_reading_replaces_the_wrong_one_in_its_own_unit(session: Session) -> None:
    wrong = read(session, "6.0 1.7 21 31")["ec"]
    right = put_right(session, wrong, "1800 uS/cm")
    assert right.value == pytest.approx(1.8)
    assert (right.unit, right.replaces, right.marks) == ("mS/cm", wrong.id, ())


def test_a_reading_that_jumps_from_the_one_before_is_marked(session: Session, clock: Any) -> None:
    read(session, "6.0 1.7 21 31")
    clock.go_on(hours=1)
    wrong = read(session, "ph 6.1")["ph"]
    assert "hard to believe after 6.00" in right_value(session, wrong, "8.9")[1]
    kept = put_right(session, wrong, "8.9")
    assert KEPT in kept.marks
    assert KEPT not in put_right(session, kept, "6.2").marks


@pytest.mark.parametrize("kind", ["dose", "stock"])
@pytest.mark.parametrize("text", ["-40", "1000001", "-0.1 L"])
def test_an_amount_below_nothing_or_without_end_is_refused(session: Session, kind: str, text: str) -> None:
    draft = Draft(kind=kind, measured_at=session.now(), station="res-1", item="well", value=20.0, unit="L")  # type: ignore[arg-type]
    (wrong,) = session.save(draft)
    with pytest.raises(BadInput):
        put_right(session, wrong, text)
    assert put_right(session, wrong, "500 mL").value == pytest.approx(0.5)


def test_a_reading_of_a_station_that_is_gone_can_still_be_put_right(session: Session) -> None:
    (wrong,) = session.save(Draft(kind="reading", measured_at=session.now(), station="gone", item="ph", value=60.0))
    assert put_right(session, wrong, "6").value == 6.0
    with pytest.raises(BadInput):
        right_value(session, wrong, "99999999")
