"""A reason closes what is still to sort, `later` leaves it until a day; people, animals and half a pair do not wait."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from rounds.errors import BadInput, NotFound, Refused, RoundsError
from rounds.walk.at_start import AtStart
from rounds.walk.dialogue import Reply
from rounds.walk.session import Session
from rounds.walk.to_sort.listing import back_on, open_matters, parked_matters
from rounds.walk.to_sort.naming import meant
from rounds.walk.to_sort.settle import closing, matter_called, parking
from rounds.walk.to_sort.sorting import Sorting
from tests.walk.written import dosed, put, read

Types = Callable[..., Reply]
A_DAY = 24.0


def ids(session: Session) -> list[str]:
    return [id for matter in open_matters(session) for id in matter.ids]


def wilting(session: Session, *stations: str, ago_h: float = A_DAY) -> None:
    for station in stations or ("ch-1",):
        put(session, "check", ago_h, station, item="wilt", value=False)


def leaking(session: Session) -> None:
    read(session, "dip", 36.0, A_DAY)
    read(session, "dip", 24.0, 1.0)


def test_fixed_closes_with_the_words_behind_as_its_reason(session: Session, types: Types) -> None:
    leaking(session)
    said = types(session, "res-1", "fixed leak glued")
    assert said.message.startswith("understood: Settled: Look for a leak: 60 L gone in 23 hours (glued)")
    assert ids(session) == ["leak:res-1"]
    types(session, "res-1", "fixed leak glued", "")
    assert ids(session) == []
    (record,) = session.history.records(kind="settled")
    assert (record.item, record.value, record.note, record.station) == ("leak:res-1", "closed", "glued", "res-1")


def test_where_several_are_open_it_is_asked_which(session: Session, types: Types) -> None:
    wilting(session)
    put(session, "check", A_DAY, "ch-1", item="light", value=False)
    said = types(session, "ch-1", "fixed by hand")
    assert "Which? 1 Look again: wilting seen · 2 Look again: light leak or algae seen" in said.message
    types(session, "ch-1", "fixed by hand", "2", "")
    assert ids(session) == ["off:ch-1:wilt"]


@pytest.mark.parametrize("line", ["fixed wilt watered", "fixed wilting watered", "fixed Wilting watered"])
def test_the_word_for_a_check_names_it(session: Session, types: Types, line: str) -> None:
    wilting(session)
    put(session, "check", A_DAY, "ch-1", item="light", value=False)
    types(session, "ch-1", line, "")
    assert ids(session) == ["off:ch-1:light"]
    (record,) = session.history.records(kind="settled")
    assert record.note == "watered"


def test_without_a_reason_it_is_asked_for(session: Session, types: Types) -> None:
    leaking(session)
    assert types(session, "res-1", "fixed leak").message.endswith("what was done?")
    types(session, "res-1", "fixed leak", "glued", "")
    assert ids(session) == []


def test_undo_takes_it_back(session: Session, types: Types) -> None:
    leaking(session)
    types(session, "res-1", "fixed leak glued", "", "u")
    assert ids(session) == ["leak:res-1"]


def test_what_is_found_again_after_it_was_closed_is_open_again(session: Session, types: Types, clock: Any) -> None:
    wilting(session)
    types(session, "ch-1", "fixed wilt watered", "")
    clock.go_on(hours=5)
    put(session, "check", 0.0, "ch-1", item="wilt", value=False)
    (matter,) = open_matters(session)
    assert matter.since == session.now()


@pytest.mark.parametrize(("words", "days"), [("thu", 1), ("3 dec", 8), ("2026-11-30", 5), ("tomorrow", 1), ("4", 4)])
def test_later_leaves_it_until_that_day(session: Session, types: Types, clock: Any, words: str, days: int) -> None:
    leaking(session)
    types(session, "res-1", f"later leak {words}", "")
    assert ids(session) == []
    (parked,) = parked_matters(session)
    day = session.now().date() + timedelta(days=days)
    assert (parked.id, back_on(session, parked)) == ("leak:res-1", day)
    clock.go_on(days=days - 1)
    assert ids(session) == []
    clock.go_on(days=1)
    assert ids(session) == ["leak:res-1"]


def test_without_a_day_it_is_asked_for_and_a_day_that_is_over_is_none(session: Session, types: Types) -> None:
    leaking(session)
    assert "until when?" in types(session, "res-1", "later leak").message
    assert "is over" in types(session, "res-1", "later leak", "2026-11-01").message
    types(session, "res-1", "later leak", "thu", "")
    assert ids(session) == []


def hen_missing(session: Session) -> None:
    put(session, "check", 10.0, "hens", item="perch", value=11)


def smell(session: Session) -> None:
    put(session, "check", 1.0, "", item="smell", value=False)


def half_a_pair(session: Session) -> None:
    dosed(session, 2.0, "leaf-a", 500.0, action="concentrate_a")


@pytest.mark.parametrize(("happens", "line", "told"), [
    (hen_missing, "later bird thu", "People and animals do not wait"),
    (hen_missing, "later hen", "People and animals do not wait"),
    (smell, "later smell thu", "People and animals do not wait"),
    (half_a_pair, "later B thu", "Half a pair does not wait"),
])  # fmt: skip
def test_people_animals_and_half_a_pair_do_not_wait(
    session: Session, happens: Callable[[Session], None], line: str, told: str
) -> None:
    happens(session)
    before = ids(session)
    said = AtStart(session).answer(line)
    assert told in said.message and "\n" not in said.message and not said.accepted
    assert ids(session) == before and not session.history.records(kind="settled")


def test_nothing_to_sort_is_one_sentence(session: Session, types: Types) -> None:
    assert types(session, "ch-1", "fixed it").message.startswith("✗ Nothing is still to sort at Channel one.")
    assert AtStart(session).answer("fixed it").message.startswith("✗ Nothing is still to sort at The farm.")


def test_at_one_station_only_what_is_there_is_closed_on_the_first_screen_all_that_is_joined(
    session: Session, types: Types
) -> None:
    wilting(session, "ch-1", "ch-2")
    types(session, "ch-1", "fixed wilt inlet cleaned", "")
    assert ids(session) == ["off:ch-2:wilt"]
    put(session, "check", 0.0, "ch-1", item="wilt", value=False)
    start = AtStart(session)
    start.answer("fixed wilt pump cleaned")
    start.answer("")
    assert ids(session) == []


def test_half_a_pair_is_given_up_with_a_reason(session: Session) -> None:
    half_a_pair(session)
    (matter,) = open_matters(session)
    pair = matter_called([matter], "half-pair:res-1")
    session.save(*closing(session, pair, "drum is empty"))
    assert [r.note for r in session.history.records(kind="given-up")] == ["drum is empty"]
    assert "half-pair:res-1" not in ids(session)


def test_programs_close_and_leave_by_the_id_of_one_or_of_all_that_is_joined(session: Session) -> None:
    wilting(session, "ch-1", "ch-2")
    (joined,) = open_matters(session)
    session.save(*parking(session, matter_called([joined], "off:ch-2:wilt"), date(2026, 12, 1)))
    assert ids(session) == ["off:ch-1:wilt"]
    session.save(*closing(session, joined, "watered"))
    assert ids(session) == [] and parked_matters(session) == []
    with pytest.raises(NotFound):
        matter_called([joined], "off:ch-9:wilt")
    for wrong in (lambda: closing(session, joined, "  "), lambda: parking(session, joined, session.now().date())):
        with pytest.raises(BadInput):
            wrong()


@pytest.fixture
def by_ben(farm_folder: Path, clock: Any) -> Session:
    return Session.open(farm_folder, clock=clock, person_id="ben")


def test_a_helper_settles_what_is_theirs_and_not_what_they_poured_beyond(session: Session, by_ben: Session) -> None:
    wilting(session)
    by_ben.gate.refresh()
    by_ben.save(*closing(by_ben, matter_called(open_matters(by_ben), "off:ch-1:wilt"), "watered"))
    put(session, "dose", 0.5, item="nitric-8", value=9.0, unit="mL", data={"action": "acid"}, person="ben",
        marks=("beyond the helper's limit: 9 mL",))  # fmt: skip
    by_ben.gate.refresh()
    assert "off:ch-1:wilt" not in ids(by_ben)
    with pytest.raises(Refused):
        by_ben.save(*closing(by_ben, matter_called(open_matters(by_ben), "beyond:res-1"), "it was fine"))


def test_words_name_one_of_several_and_what_is_left_is_the_reason(session: Session) -> None:
    wilting(session)
    leaking(session)
    found, rest = meant(session, open_matters(session), ["leak", "at", "the", "joint"])
    assert [each.code for each in found] == ["leak"] and rest == ["at", "the", "joint"]
    found, rest = meant(session, open_matters(session), ["nothing", "known"])
    assert len(found) == 2 and rest == ["nothing", "known"]


def test_the_list_closes_by_a_digit_leaves_for_later_and_takes_back(session: Session) -> None:
    leaking(session)
    sorting = Sorting(session, "r1")
    (leak,) = sorting.matters
    assert sorting.reasons(leak)[:2] == ("found and mended", "looked, found nothing")
    assert sorting.close(leak, 9).message == "✗ 9 is no reason here: 1 to 5 are."
    assert "Settled" in sorting.close(leak, 1).message and sorting.matters == []
    assert [r.note for r in session.history.records(kind="settled")] == ["found and mended"]
    sorting.undo()
    assert ids(session) == ["leak:res-1"]
    sorting.close(leak, 5)
    assert sorting.aside is not None
    sorting.answer("drank it")
    assert [r.note for r in session.history.records(kind="settled")] == ["drank it"]
    sorting.undo()
    sorting.later(leak)
    assert "is no day" in sorting.answer("soon").message
    sorting.answer("thu")
    assert sorting.matters == [] and "26 Nov" in sorting.later_line
    hen_missing(session)
    (bird,) = sorting.matters
    assert not sorting.later(bird).accepted and sorting.aside is None
    assert [head for head, _ in sorting.about(bird)] == ["Seen", "Could be", "At risk", "Closes by"]
    assert Sorting(session).undo().message == "Nothing was settled here yet."


def test_a_disk_that_refuses_is_said_and_nothing_is_lost(session: Session, monkeypatch: pytest.MonkeyPatch) -> None:
    leaking(session)

    def full(*_: Any, **__: Any) -> None:
        raise RoundsError("The disk is full.")

    sorting = Sorting(session)
    monkeypatch.setattr(type(session.gate), "write", full)
    assert sorting.close(sorting.matters[0], 1).message == "✗ The disk is full."
    assert ids(session) == ["leak:res-1"]
