"""Doings typed where no station is open: the farm's own, and those that lead to the one station they belong to."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from rounds.cli.plain import PlainRound
from rounds.walk.at_start import AtStart
from rounds.walk.at_station import AtStation
from rounds.walk.dialogue import ToStation
from rounds.walk.session import Session
from rounds.walk.stops import alive_stop
from rounds.walk.visit import Visit


def test_a_storm_is_told_of_the_farm(session: Session) -> None:
    start = AtStart(session)
    assert start.answer("storm").message.startswith("understood: Storm")
    assert start.not_saved
    start.answer("")
    assert [(r.station, r.item) for r in session.history.records(kind="event")] == [("", "storm")]
    assert not start.not_saved


def test_a_verb_of_one_station_leads_there_and_is_shown_before_it_is_saved(session: Session) -> None:
    assert AtStart(session).answer("dead 1").way == ToStation("hens", "dead 1", round_name="morning")
    typed, told = iter(["dead 1", "", "esc"]), list[str]()
    PlainRound(session, lambda: next(typed, None), told.append, settle_s=0.0).run()
    assert any("understood: 1 bird dead; flock 11 now" in each for each in told)
    assert [r.item for r in session.history.records(kind="doing")] == ["dead"]


def test_a_verb_of_several_stations_says_where(session: Session) -> None:
    said = AtStart(session).answer("pulled 3")
    assert said.message == (
        "✗ `pulled` makes no sense at The farm. It is typed at Channel one; Channel two. Nothing is written."
    )


def test_letters_and_stations_are_what_they_were(session: Session) -> None:
    assert AtStart(session).answer("hens").way == ToStation("hens", round_name="morning")
    assert AtStart(session).answer("/").paper


@pytest.mark.parametrize(("line", "kind", "item"), [("storm", "check", "storm"), ("outage 20 min", "event", "outage")])
def test_at_the_start_of_a_round_the_checklists_own_words_stay_its_own(
    session: Session, line: str, kind: str, item: str
) -> None:
    dialogue = AtStation(Visit(session=session, stop=alive_stop(session, "morning")))
    dialogue.answer(line)
    if kind == "event":
        dialogue.answer("")
    assert [(r.kind, r.item, r.station) for r in session.history.records()] == [(kind, item, "")]


def test_a_line_is_not_lost_where_the_input_ends(session: Session, farm_folder: Path, clock: Any) -> None:
    typed = iter(["storm"])
    assert PlainRound(session, lambda: next(typed, None), lambda _: None, settle_s=0.0).run() == 1
    assert session.history.records() == []
