"""A round belongs to the day on which it was started, however late it is closed."""

from __future__ import annotations

from typing import Any

from rounds.history.record import Draft
from rounds.walk.carried import carried_over
from rounds.walk.guide import Guide
from rounds.walk.left_open import close_left_open
from rounds.walk.round import close_round, closed_today, current_round, left_open, open_round, start_round
from rounds.walk.session import Session
from rounds.walk.stops import stop_at
from rounds.walk.summary import summarise
from rounds.walk.visit import Visit


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


def test_a_round_left_open_past_midnight_is_closed_with_what_it_has(session: Session, clock: Any) -> None:
    clock.go_on(hours=17, minutes=50)
    walk = start_round(session, "dusk")
    Visit(session=session, stop=stop_at(session, "dusk", "res-1"), round_id=walk.id).all_well()
    assert left_open(session) == []
    clock.go_on(minutes=25)
    assert left_open(session) == [walk]
    (sentence,) = close_left_open(session)
    assert sentence.startswith("The dusk round of 25 November was left open and is closed now; ")
    assert left_open(session) == []
    assert not closed_today(session, "dusk"), "the dusk of the new day is still to come"
    closed = session.history.latest_by_item()["", "dusk"]
    assert (closed.round_id, closed.value) == (walk.id, "closed")
    assert "res-1" not in closed.data["open"]
    assert "hens" in closed.data["open"]
    assert {each.station_id for each in carried_over(session)} == set(closed.data["open"])
    (well,) = session.history.records(item="all-well")
    assert well.measured_at.day == 25


def test_a_walk_past_midnight_does_not_ask_again_what_was_answered_before(session: Session, clock: Any) -> None:
    clock.go_on(hours=17, minutes=50)
    guide = Guide(session, None)
    guide.start("dusk")
    due = [each.station_id for each in session.due("dusk")]
    for station in due[:-1]:
        stop = guide.go_to(station)
        visit = Visit(session=session, stop=stop, round_id=guide.round_id)
        visit.all_well()
        visit.skip("that is all")
    clock.go_on(minutes=25)
    (left,) = [each.station_id for each in session.due("dusk", day=guide.round.day)]
    assert left == due[-1]
    assert guide.go_on(due[0]).station_id == left
    Visit(session=session, stop=guide.go_to(left), round_id=guide.round_id).skip("dark")
    assert summarise(session, guide.round).stations_open == ()


def test_nothing_is_left_open_on_its_own_day_or_once_it_is_closed(session: Session, clock: Any) -> None:
    walk = start_round(session, "morning")
    clock.go_on(hours=12)
    assert left_open(session) == []
    close_round(session, walk, {})
    clock.go_on(days=3)
    assert left_open(session) == []
