"""What a kind of station makes of its answers, told on the walk."""

from __future__ import annotations

from typing import Any

from rounds.history.record import Draft
from rounds.walk.round import start_round
from rounds.walk.session import Session
from rounds.walk.slow_change.notices import station_lines
from rounds.walk.station_findings import figures_at, findings_at
from rounds.walk.stops import alive_stop, stop_at
from rounds.walk.summary import summarise
from rounds.walk.visit import Visit

TOLD = "Water drunk: 26 % below the usual for two days: ask the vet"


def visit(session: Session, station: str, round_id: str = "r1") -> Visit:
    return Visit(session=session, stop=stop_at(session, "morning", station, everything=True), round_id=round_id)


def a_thirsty_week(session: Session, clock: Any, last: str = "2.0") -> str:
    """Five usual days and two at which the hens hardly drink; the id of the last day's round."""
    for litres in ("2.7", "2.7", "2.8", "2.7", "2.7", "2.7", "2.0"):
        assert visit(session, "hens").take_line(f"eggs 9 water {litres} feed 1.4").saved
        clock.go_on(days=1)
    walk = start_round(session, "morning")
    assert visit(session, "hens", walk.id).take_line(f"eggs 9 water {last} feed 1.4").saved
    return walk.id


def test_two_dry_days_are_told_at_the_station_and_at_the_end_of_the_round(session: Session, clock: Any) -> None:
    a_thirsty_week(session, clock)
    assert station_lines(session, "hens")[0] == f"! {TOLD}"
    walk = start_round(session, "morning")
    assert summarise(session, walk).findings == (f"Hen house: {TOLD}",)


def test_once_they_drink_again_nothing_is_told(session: Session, clock: Any) -> None:
    a_thirsty_week(session, clock, last="2.7")
    assert station_lines(session, "hens") == []
    assert summarise(session, start_round(session, "morning")).findings == ()


def test_a_reading_that_was_put_right_does_not_count(session: Session, clock: Any) -> None:
    a_thirsty_week(session, clock)
    again = visit(session, "hens")
    again.take_line("water 2.1")
    assert findings_at(session, "hens")
    again.take_line("water 2.7")
    assert findings_at(session, "hens") == ()


def test_figures_are_made_of_the_last_day(session: Session, clock: Any) -> None:
    a_thirsty_week(session, clock)
    figures = figures_at(session, session.farm.station("hens"))
    assert figures == ("lay 75 %", "167 mL water a hen", "117 g ration a hen")


def test_a_station_that_was_never_read_has_neither(session: Session) -> None:
    assert figures_at(session, session.farm.station("hens")) == ()
    assert findings_at(session, "hens") == ()


def test_the_farm_as_a_whole_and_a_kind_without_a_word_have_neither(session: Session) -> None:
    assert findings_at(session, "") == ()
    assert figures_at(session, alive_stop(session, "morning").station) == ()
    assert figures_at(session, session.farm.station("res-1")) == ()


def test_a_figure_that_an_odd_record_does_not_allow_is_left_out(session: Session, clock: Any) -> None:
    for _ in range(2):
        odd = Draft(kind="reading", station="hens", item="water", value=-5.0, unit="L", measured_at=clock())
        session.history.save(odd)
        clock.go_on(days=1)
    assert figures_at(session, session.farm.station("hens")) == ()
