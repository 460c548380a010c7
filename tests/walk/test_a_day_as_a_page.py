"""A day of the daybook: headings by station, what was off first, what was well folded, and what was looked for."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from rounds.checklist.load import load_checklists
from rounds.checklist.model import Item
from rounds.errors import BadInput, NotFound
from rounds.walk.daybook.page import Page, day_of, day_page
from rounds.walk.daybook.searching import look
from rounds.walk.daybook.sentences import record_text
from rounds.walk.daybook.wanted import Wanted, named, read_wanted, refuse_strangers
from rounds.walk.session import Session
from tests.walk.written import dosed, put, read

YES_NO = [item for each in load_checklists(None).by_kind.values() for item in each.items if item.type == "yes_no"]
NEGATIONS = {"no", "not", "nothing", "none", "never"}


def shown(page: Page) -> dict[str, list[str]]:
    return {
        section.name: [f"{line.sign} {line.text} {line.at:%H:%M}" for line in section.lines]
        for section in page.sections
    }


@pytest.mark.parametrize("item", YES_NO, ids=lambda item: item.id)
def test_every_yes_or_no_says_what_is_seen_when_it_is_off(item: Item) -> None:
    assert item.seen
    assert not NEGATIONS & set(item.seen.casefold().replace(",", " ").split())


def test_what_was_seen_is_told_without_a_double_negative(session: Session) -> None:
    told = [
        record_text(session, put(session, "check", station="ch-1", item="wilt", value=value)) for value in (False, True)
    ]
    assert told == ["Channel one: Wilting seen", "Channel one: No plant wilts"]
    fit = put(session, "check", item="fit", value=False)
    assert record_text(session, fit) == "Reservoir one: Change-out wanted"


def test_a_day_is_told_by_station_and_what_is_well_is_one_line(session: Session, clock: Any) -> None:
    at = {"ago_h": 0.0, "round_id": f"{clock.at:%Y-%m-%d}-morning"}
    put(session, "round", station="", item="morning", value="started", ago_h=0.5, round_id=at["round_id"])
    put(session, "check", station="res-1", item="all-well", value=True, data={"covers": ["pump", "lid"]}, **at)
    for item, value, unit in (("ph", 6.0, None), ("t", 21.0, "°C"), ("dip", 31.0, "cm")):
        read(session, item, value, unit=unit, **at)
    read(session, "ec", 0.4, unit="mS/cm", **at)
    put(session, "check", station="ch-1", item="wilt", value=False, note="at the end", **at)
    page = day_page(session, clock.at.date())
    assert shown(page) == {
        "Reservoir one": [
            "▼ EC 0.40 mS/cm, 1.10 below its band 06:00", "✓ pH 6.00 · 21.0 °C · 31.0 cm · 2 checks 06:00",
        ],
        "Channel one": ["! Wilting seen (at the end) 06:00"],
    }  # fmt: skip
    assert page.summary == "morning since 05:30 · 7 things, 2 off"


def test_what_is_read_once_for_the_farm_is_told_by_its_own_name(session: Session) -> None:
    read(session, "buffer", 7.42, station="")
    assert shown(day_page(session, session.now().date())) == {
        "The farm": ["▲ pH probe in the buffer of 7 7.42, 0.27 above its band 06:00"]
    }


def test_rounds_in_which_all_was_well_are_one_line(session: Session) -> None:
    for ago, name in ((3.0, "morning"), (2.0, "midday"), (0.0, "dusk")):
        put(session, "check", ago, "ch-1", item="all-well", value=True, data={"covers": ["a", "b"]}, round_id=name)
    page = day_page(session, session.now().date())
    assert shown(page) == {"Channel one": ["✓ all well 3 times since 03:00 (6 checks) 06:00"]}
    assert page.sections[0].lines[0].is_folded


def test_what_a_round_did_past_midnight_belongs_to_its_day(session: Session, clock: Any) -> None:
    before = clock.at.date() - timedelta(days=1)
    late = put(session, "note", 5.0, note="owl", round_id=f"{before}-dusk")
    own = put(session, "note", 4.5, note="fox")
    assert [day_of(session, record) for record in (late, own)] == [before, clock.at.date()]
    assert [len(day_page(session, day).sections) for day in (before, clock.at.date())] == [1, 1]


@pytest.mark.parametrize(("line", "found"), [
    ("findings", ["EC 0.40"]), ("corrections", ["acid:"]), ("doings", ["1 bird dead", "20 L of Well water topped up"]),
    ("notes", ["note (a drip"]),
    ("drip", ["note (a drip"]), ("reservoir one findings", ["EC 0.40"]), ("ben", ["1 bird dead"]), ("ch-1", []),
    ("readings ec", ["EC 0.40"]), ("DEAD", ["1 bird dead"]), ("nothing like it", []),
])  # fmt: skip
def test_what_is_looked_for_is_found(session: Session, line: str, found: list[str]) -> None:
    read(session, "ec", 0.4, 0.5, unit="mS/cm")
    dosed(session, 0.4)
    put(session, "doing", 0.3, station="", item="dead", value=1, person="ben")
    dosed(session, 0.2, item="well", amount=20.0, action="top_up", own=True)
    put(session, "note", 0.1, note="a drip", person="ada")
    page = day_page(session, session.now().date(), read_wanted(session, line))
    told = [line.text for section in page.sections for line in section.lines]
    assert len(told) == len(found)
    assert all(text.startswith(begin) for text, begin in zip(told, found, strict=True))


def test_what_is_looked_for_can_be_said_again(session: Session) -> None:
    assert (
        read_wanted(session, "channel one findings wilt ada").told(session) == "Channel one, findings, by ada, “wilt”"
    )
    assert not Wanted()


def test_a_name_that_is_none_is_refused_with_those_that_are_close(session: Session) -> None:
    with pytest.raises(BadInput, match=r"kind “readin”\. Expected: reading"):
        named(session, station=None, kind="readin", person=None, find=None)
    for wanted, said in (
        (Wanted(station="ch-9"), "“ch-9”. Meant is perhaps ch-2, ch-1"),
        (Wanted(person="cy"), "There are: ada"),
    ):
        with pytest.raises(NotFound, match=said):
            refuse_strangers(session, wanted)


@pytest.mark.parametrize(("line", "found"), [
    ("corrections", ["acid", "acid"]), ("doings", ["dead"]), ("notes", ["note"]), ("owl", ["note"]), ("nothing", []),
    ("reservoir one", ["note", "acid", "acid"]),
])  # fmt: skip
def test_all_years_are_looked_through_the_newest_first(session: Session, line: str, found: list[str]) -> None:
    dosed(session, 24 * 700.0)
    put(session, "doing", 24 * 300.0, "", item="dead", value=1)
    dosed(session, 24 * 90.0)
    put(session, "note", 24 * 40.0, note="owl")
    put(session, "round", 0.0, "", item="morning", value="started")
    months, told = tuple(session.history.months()), []
    while months:
        some = look(session, read_wanted(session, line), months)
        assert len(some.left) < len(months)
        months, told = some.left, [*told, *some.records]
    assert [record.data.get("action") or record.item or record.kind for record in told] == found
    assert told == sorted(told, key=lambda record: record.measured_at, reverse=True)
