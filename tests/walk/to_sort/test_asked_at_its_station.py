"""What was off is asked outright at its station until it is answered by itself; an all-well does not cover it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from rounds.walk.session import Session
from rounds.walk.stops import alive_stop, next_station, stop_at
from rounds.walk.to_sort.listing import open_matters
from tests.walk.written import put

YESTERDAY = 22.0


def wilting(session: Session, ago_h: float = YESTERDAY) -> None:
    put(session, "check", ago_h, "ch-1", item="wilt", value=False)


def test_it_is_asked_first_with_what_was_found_and_when(session: Session, at: Callable[..., Any]) -> None:
    wilting(session)
    dialogue = at(session, "ch-1")
    first = dialogue.visit.stop.lines[0]
    assert first.item.id == "wilt" and first.asked_outright
    told = "Still to sort: Wilting seen, yesterday 8:00. Now: No plant wilts? y or n"
    assert dialogue.question.text.startswith(told)


def test_all_well_leaves_it_open_and_says_so(session: Session, at: Callable[..., Any]) -> None:
    wilting(session)
    dialogue = at(session, "ch-1")
    said = dialogue.press("+")
    assert "No plant wilts" in said.message and not said.finished
    assert [each.id for each in open_matters(session)] == ["off:ch-1:wilt"]
    assert "wilt" not in session.history.records(item="all-well")[0].data["covers"]


@pytest.mark.parametrize(("answer", "is_open"), [("y", False), ("n", True)])
def test_yes_is_well_as_everywhere(session: Session, at: Callable[..., Any], answer: str, is_open: bool) -> None:
    wilting(session)
    at(session, "ch-1").answer(answer)
    assert bool(open_matters(session)) is is_open


def test_readings_may_be_typed_first_all_the_same(session: Session, at: Callable[..., Any]) -> None:
    put(session, "check", YESTERDAY, "res-1", item="look", value="foam")
    dialogue = at(session, "res-1")
    assert "foam" in dialogue.question.text
    dialogue.answer("5.9 1.7 19 36")
    read = {record.item: record.value for record in session.history.records(kind="reading")}
    assert read == {"ph": 5.9, "ec": 1.7, "t": 19.0, "dip": 36.0}
    assert "foam" in dialogue.question.text


def test_what_is_not_due_is_asked_for_as_well_and_brings_the_walk_there(session: Session, clock: Any) -> None:
    for item in session.checklists.by_kind["channel"].items:
        if item.type in ("yes_no", "choice"):
            value = True if item.type == "yes_no" else item.well[0]  # type: ignore[index]
            put(session, "check", 0.0, "ch-1", item=item.id, value=value)
    clock.go_on(days=1)
    assert "roots" not in {line.item.id for line in stop_at(session, "morning", "ch-1").open_lines}
    put(session, "check", 1.0, "ch-1", item="roots", value="brown")
    clock.go_on(days=1)
    assert stop_at(session, "morning", "ch-1").open_lines[0].item.id == "roots"


def test_what_is_lost_soon_is_asked_on_every_round_other_things_on_their_own(session: Session, clock: Any) -> None:
    wilting(session, 1.0)
    put(session, "check", 1.0, "ch-1", item="light", value=False)
    clock.go_on(hours=11)
    at_dusk = {line.item.id for line in stop_at(session, "dusk", "ch-1").open_lines}
    assert "wilt" in at_dusk and "light" not in at_dusk
    assert next_station(session, "dusk", "res-1") == "ch-1"


def test_answered_on_this_round_it_is_not_asked_again_on_it(session: Session, at: Callable[..., Any]) -> None:
    wilting(session)
    at(session, "ch-1").answer("n")
    assert "wilt" not in {line.item.id for line in stop_at(session, "morning", "ch-1").open_lines}


def test_what_is_settled_or_left_is_not_asked_for_that(session: Session, types: Callable[..., Any]) -> None:
    wilting(session)
    types(session, "ch-1", "fixed wilt watered", "")
    assert stop_at(session, "morning", "ch-1").asked == () or all(
        line.still is None for line in stop_at(session, "morning", "ch-1").asked
    )


def test_the_farm_as_a_whole_is_asked_outright_too(session: Session, clock: Any) -> None:
    put(session, "check", YESTERDAY, "", item="animals", value=False)
    stop = alive_stop(session, "dusk")
    assert stop.lines[0].item.id == "animals" and stop.lines[0].asked_outright
    assert "animals" not in {line.item.id for line in stop.covered}


def test_nothing_is_asked_beside_where_nothing_is_open(session: Session) -> None:
    for station in session.farm.stations:
        assert all(line.still is None for line in stop_at(session, "morning", station).lines)
    assert all(not line.asked_outright for line in alive_stop(session, "morning").lines)


def test_what_is_no_item_is_told_above_the_items(session: Session, at: Callable[..., Any]) -> None:
    wilting(session)
    assert not any("Still to sort" in line for line in at(session, "ch-1").opening)
    put(session, "put-off", YESTERDAY, note="no acid")
    (told,) = [line for line in at(session, "res-1").opening if "Still to sort" in line]
    assert told == "! Still to sort: Correct what was put off: no acid (since yesterday 8:00)"
