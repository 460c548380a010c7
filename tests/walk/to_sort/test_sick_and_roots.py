"""A channel that fell sick is looked at on every round and last of all; its roots are asked until they recover."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from rounds.checklist.due import DueItem
from rounds.walk.at_station import AtStation
from rounds.walk.dialogue import Reply
from rounds.walk.session import Session
from rounds.walk.station_text import subtitle_of, title_of
from rounds.walk.stops import stop_at
from rounds.walk.to_sort.listing import open_matters
from rounds.walk.to_sort.model import OpenMatter
from rounds.walk.visit import Visit

Does = Callable[..., Reply]


@pytest.fixture
def does(clock: Any) -> Does:
    """Type lines at channel one, a minute apart; give the last reply."""

    def type_them(session: Session, *lines: str) -> Reply:
        stop = stop_at(session, session.round_name(), "ch-1", everything=True)
        dialogue, said = AtStation(Visit(session=session, stop=stop, round_id="r1")), Reply()
        for line in lines:
            clock.go_on(minutes=1)
            said = dialogue.press(line) if line in ("esc", "f6", "+") else dialogue.answer(line)
        return said

    return type_them


def matter(session: Session) -> OpenMatter | None:
    return next((each for each in open_matters(session) if "ch-1" in each.stations), None)


def asked(session: Session, round_name: str) -> dict[str, DueItem]:
    here = next((each for each in session.due(round_name) if each.station_id == "ch-1"), None)
    return {each.item.id: each for each in here.asked} if here is not None else {}


def test_a_sick_channel_is_a_matter_until_it_is_well(session: Session, does: Does) -> None:
    does(session, "sick spots on leaves", "")
    found = matter(session)
    assert found is not None
    assert found.what == "Look at it on every round, last of all: sick; Channel two shares its water"
    does(session, "well", "")
    assert matter(session) is None


@pytest.mark.parametrize("round_name", ["morning", "midday", "dusk"])
def test_it_is_looked_at_on_every_round(session: Session, does: Does, clock: Any, round_name: str) -> None:
    does(session, "sick", "")
    clock.go_on(hours={"morning": 24, "midday": 29, "dusk": 34}[round_name])
    assert "wilt" in asked(session, round_name)
    assert ("roots" in asked(session, round_name)) == (round_name == "morning")
    dialogue = AtStation(Visit(session=session, stop=stop_at(session, round_name, "ch-1"), round_id="r1"))
    assert dialogue.take_field(session.item(session.farm.station("ch-1"), "wilt"), "y").accepted
    assert "wilt" not in asked(session, round_name)


def test_a_healthy_one_is_not_looked_at_at_dusk(session: Session) -> None:
    assert asked(session, "dusk") == {}


def test_those_that_share_its_water_are_warned(session: Session, does: Does) -> None:
    def subtitle(station: str) -> str:
        return subtitle_of(session, stop_at(session, "morning", station))

    assert "same water" not in subtitle("ch-2")
    does(session, "roots slimy")
    assert "! Channel one is sick: same water" in subtitle("ch-2")
    assert "! Channel one is sick: same water" in subtitle("res-1")
    assert "same water" not in subtitle("hens")


@pytest.mark.parametrize("answer", ["slimy", "bad smell"])
def test_slimy_roots_make_it_sick_and_walked_last(session: Session, does: Does, answer: str) -> None:
    before = [each for each in session.walk_order() if each != "ch-2"]  # which the files call sick
    assert before.index("ch-1") < before.index("hens")
    does(session, f"roots {answer}")
    order = [each for each in session.walk_order() if each != "ch-2"]
    assert order[-1] == "ch-1"
    assert "sick: wash hands" in title_of(stop_at(session, "morning", "ch-1"))


def test_brown_roots_alone_make_nothing_sick(session: Session, does: Does) -> None:
    does(session, "roots brown")
    assert session.ill() == {}


def test_roots_are_asked_daily_until_new_tips_were_seen_on_two_days(session: Session, does: Does, clock: Any) -> None:
    does(session, "roots slimy")
    for answer, is_open in (("cream", True), ("new", True), ("brown", True), ("new", True), ("white", False)):
        clock.go_on(days=1)
        assert "roots" in asked(session, "morning"), answer
        does(session, f"roots {answer}")
        assert "roots" not in asked(session, "morning"), answer
        assert (matter(session) is not None) is is_open, answer
    clock.go_on(days=1)
    assert session.ill() == {}


def test_twice_on_one_day_is_once(session: Session, does: Does, clock: Any) -> None:
    does(session, "roots brown")
    clock.go_on(days=1)
    does(session, "roots new", "roots new")
    found = matter(session)
    assert found is not None and found.closing == "new white tips seen on two days, or a reason"
    assert "new white tips today 6:03" in found.seen[0]
    clock.go_on(days=1)
    does(session, "roots new")
    assert matter(session) is None


def test_an_all_well_never_closes_them(session: Session, does: Does, clock: Any) -> None:
    does(session, "roots brown")
    for _ in range(4):
        clock.go_on(days=1)
        does(session, "+")
        assert matter(session) is not None


def test_stained_by_iron_but_firm_is_well(session: Session, does: Does) -> None:
    does(session, "roots stained")
    assert matter(session) is None


def test_a_reason_closes_them_and_new_tips_after_it_open_nothing(session: Session, does: Does, clock: Any) -> None:
    does(session, "roots slimy", "fixed roots replanted", "")
    assert matter(session) is None and session.ill() == {}
    clock.go_on(days=1)
    does(session, "roots new")
    assert matter(session) is None
    clock.go_on(days=1)
    does(session, "roots brown")
    assert matter(session) is not None
