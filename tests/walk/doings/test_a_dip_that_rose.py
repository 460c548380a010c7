"""A dip that rose with nothing on record: what it was is asked, and the answer becomes what it says."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from rounds.walk.at_station import AtStation
from rounds.walk.dialogue import Reply
from rounds.walk.doings.water import litres_now
from rounds.walk.fresh import fresh_records
from rounds.walk.session import Session

Does = Callable[..., Reply]
At = Callable[[Session, str], AtStation]
ASKED = (
    "? The dip rose by 6.0 cm, 30 L more than is on record. 1 pump off · 2 float valve · 3 rain · 4 topped up · "
    "Enter none of these"
)


@pytest.fixture
def rose(two_waters: Session, does: Does, at: At, clock: Any) -> AtStation:
    """150 L at six in the morning, 180 L eight hours later: 30 L more."""
    does(two_waters, "res-1", "dip 30")
    clock.go_on(hours=8)
    dialogue = at(two_waters, "res-1")
    assert dialogue.answer("ph 6.0 ec 1.7 t 20 dip 36").message.endswith(ASKED)
    return dialogue


def doses(session: Session) -> list[tuple[str, Any, str | None]]:
    return [(r.item, r.value, r.note) for r in session.history.records(kind="dose")]


def test_with_the_pump_off_the_dip_is_taken_back_and_asked_again(rose: AtStation, two_waters: Session) -> None:
    said = rose.answer("1")
    assert "Start the pump" in said.message and said.way is None
    assert [r.value for r in two_waters.history.records(item="dip")] == [30.0]
    assert "dip" not in rose.visit.answers and doses(two_waters) == []
    (note,) = two_waters.history.records(kind="note")
    assert note.note == "The dip of 36.0 cm was read with the pump off"
    assert {"ph", "ec"} <= set(fresh_records(two_waters, "res-1"))


@pytest.mark.parametrize(("keys", "dose"), [
    (["2", "1"], ("well", 30.0, "float valve")),
    (["3"], ("rain", 30.0, None)),
    (["4", "25", "2"], ("rain", 25.0, None)),
    (["4", "", "1"], ("well", 30.0, None)),
])  # fmt: skip
def test_water_that_came_is_a_dose_from_before_the_readings(
    rose: AtStation, two_waters: Session, keys: list[str], dose: Any
) -> None:
    for key in keys:
        rose.answer(key)
    assert doses(two_waters) == [dose]
    assert litres_now(two_waters, two_waters.farm.reservoir("res-1")) == 180.0  # as it was read, not 210
    assert {"ph", "ec", "dip"} <= set(fresh_records(two_waters, "res-1"))


def test_none_of_these_writes_nothing_of_it(rose: AtStation, two_waters: Session) -> None:
    assert "Still asked" in rose.answer("").message, "Enter leads on as it always does"
    assert doses(two_waters) == [] and rose.in_hand is None
    assert two_waters.history.latest("res-1", "dip").value == 36.0  # type: ignore[union-attr]


def test_what_else_is_typed_is_taken_meanwhile_and_it_stays_asked(rose: AtStation, two_waters: Session) -> None:
    said = rose.answer("buffer 7.02")
    assert said.accepted and said.message.endswith(ASKED)
    assert two_waters.history.latest("res-1", "buffer") is not None
    assert rose.press("+").message.endswith(ASKED)
    assert rose.answer("esc me").message.endswith(ASKED)


def test_topped_typed_in_answer_is_from_before_the_dip(rose: AtStation, two_waters: Session) -> None:
    assert rose.answer("topped 25 well").message.startswith("understood: 25 L of Well water topped up")
    rose.answer("")
    assert doses(two_waters) == [("well", 25.0, None)] and rose.in_hand is None
    assert litres_now(two_waters, two_waters.farm.reservoir("res-1")) == 180.0
    assert {"ph", "ec", "dip"} <= set(fresh_records(two_waters, "res-1"))


def test_another_doing_meanwhile_leaves_it_asked(rose: AtStation, two_waters: Session) -> None:
    rose.answer("cleaned strainer")
    assert rose.keys_alone == ()
    assert rose.answer("").message.endswith(ASKED)
    assert [r.item for r in two_waters.history.records(kind="doing")] == ["cleaned"]
    rose.answer("topped 25 well")
    assert rose.press("esc").message.endswith(ASKED)
    assert rose.answer("dead 1").accepted is False
    rose.answer("3")
    assert doses(two_waters) == [("rain", 30.0, None)]


def test_it_leads_on_only_once_it_is_answered(rose: AtStation) -> None:
    for line in ("buffer 7.02", "strainer y", "drums y"):
        rose.answer(line)
    assert rose.press("+").way is None
    assert rose.answer("").way is not None


def test_only_keys_that_are_shown_mean_anything(rose: AtStation, two_waters: Session) -> None:
    assert rose.keys_alone == ("1", "2", "3", "4")
    rose.answer("4")
    assert rose.keys_alone == ()


@pytest.mark.parametrize("second", ["dip 30", "dip 30.9", "dip 25"])
def test_a_dip_that_did_not_rise_is_not_asked_about(session: Session, does: Does, clock: Any, second: str) -> None:
    does(session, "res-1", "dip 30")
    clock.go_on(hours=8)
    assert "The dip" not in does(session, "res-1", second).message


def test_nor_one_that_was_topped_up(session: Session, does: Does, clock: Any) -> None:
    does(session, "res-1", "dip 30", "topped 30", "")
    clock.go_on(hours=8)
    assert "The dip" not in does(session, "res-1", "dip 36").message


def test_one_that_rose_by_more_than_was_topped_up_is(session: Session, does: Does, clock: Any) -> None:
    does(session, "res-1", "dip 30", "topped 10", "")
    clock.go_on(hours=8)
    assert "20 L more than is on record" in does(session, "res-1", "dip 36").message
