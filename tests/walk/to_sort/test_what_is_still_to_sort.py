"""What went wrong stands there until it is settled: each kind of it, what opens it and what closes it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from rounds.book.undone import BEYOND
from rounds.history.record import Draft
from rounds.walk.answering import all_well_draft
from rounds.walk.session import Session
from rounds.walk.to_sort.listing import open_matters
from rounds.walk.to_sort.model import WORST_FIRST
from tests.walk.written import dosed, offered, put

Open = Callable[[Session], object]
A_DAY = 24.0
CHANGE_OUT = [
    {"action": "drain_off", "amount": 100.0, "unit": "L"},
    {"action": "change_out", "product": "well", "amount": 150.0, "unit": "L"},
]


def ids(session: Session) -> list[str]:
    """What is open, by the ids of single matters."""
    return [id for matter in open_matters(session) for id in matter.ids]


def what(session: Session) -> list[str]:
    return [matter.what for matter in open_matters(session)]


def check(station: str, item: str, value: Any, ago_h: float = A_DAY) -> Open:
    return lambda session: put(session, "check", ago_h, station, item=item, value=value)


def reading(item: str, value: float, ago_h: float = A_DAY, station: str = "res-1", **more: Any) -> Open:
    return lambda session: put(session, "reading", ago_h, station, item=item, value=value, **more)


def begins(ago_h: float, *done: int, steps: Any = CHANGE_OUT) -> Open:
    def drive(session: Session) -> None:
        offer = offered(session, ago_h, steps)
        for number in done:
            step = steps[number - 1]
            dosed(session, ago_h - 0.1, "well", step["amount"], action=step["action"], correction=offer.id, step=number)

    return drive


def pours_the_rest(session: Session) -> None:
    (offer,) = session.history.records(kind="correction")
    dosed(session, 0.0, "well", 150.0, action="change_out", correction=offer.id, step=2)


OPENS_AND_CLOSES = {
    "a check": (check("ch-1", "wilt", False), check("ch-1", "wilt", True, 0.0), "off:ch-1:wilt"),
    "a choice": (
        check("ch-1", "stream", "weaker"), check("ch-1", "stream", "like the others", 0.0), "off:ch-1:stream",
    ),
    "the whole farm": (check("", "pumps", False), check("", "pumps", True, 0.0), "off::pumps"),
    "a missing bird": (check("hens", "perch", 11), check("hens", "perch", 12, 0.0), "off:hens:perch"),
    "a bird that is dead": (
        check("hens", "perch", 11),
        lambda s: put(s, "doing", 0.0, "hens", item="dead", value=1, data={"touches": ["flock"]}),
        "off:hens:perch",
    ),
    "a reading": (reading("ec", 3.1), reading("ec", 1.7, 0.0), "off:res-1:ec"),
    "a flow": (
        reading("flow", 0.6, station="ch-1"), reading("flow-again", 1.2, 0.0, station="ch-1"), "off:ch-1:flow",
    ),
    "a reading kept": (
        reading("ph", 5.9, marks=("hard to believe, kept",)), reading("ph", 5.9, 0.0), "doubted:res-1:ph",
    ),
    "a probe": (
        reading("buffer", 6.5), lambda s: put(s, "doing", 0.0, item="calibrated", value=7.0), "off:res-1:buffer",
    ),
    "worn feed": (
        check("res-1", "fit", False), lambda s: dosed(s, 0.0, "well", 150.0, action="change_out"), "off:res-1:fit",
    ),
    "a change-out begun": (begins(A_DAY, 1), pours_the_rest, "begun:res-1"),
    "dosed, not read": (lambda s: dosed(s, A_DAY), reading("ph", 5.9, 0.0), "unread:res-1"),
    "put off": (lambda s: put(s, "put-off", A_DAY, note="no acid"), reading("ph", 5.9, 0.0), "put-off:res-1"),
    "left out": (
        lambda s: put(s, "skip", A_DAY, "hens", note="dog"), check("hens", "mites", True, 0.0), "left-out:hens",
    ),
    "not reached": (
        lambda s: put(s, "round", A_DAY, "", item="dusk", value="closed", data={"open": ["ch-1"]}),
        check("ch-1", "wilt", True, 0.0), "not-reached:ch-1",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", OPENS_AND_CLOSES)
def test_it_is_open_until_what_closes_it_comes(session: Session, name: str) -> None:
    opens, closes, id = OPENS_AND_CLOSES[name]
    assert ids(session) == []
    opens(session)
    assert id in ids(session)
    closes(session)
    assert id not in ids(session)


@pytest.mark.parametrize("name", OPENS_AND_CLOSES)
def test_age_alone_closes_nothing(session: Session, clock: Any, name: str) -> None:
    opens, _, id = OPENS_AND_CLOSES[name]
    opens(session)
    clock.go_on(days=900)
    assert id in ids(session)


@pytest.mark.parametrize("name", [name for name in OPENS_AND_CLOSES if name not in ("left out", "not reached")])
def test_all_well_closes_nothing(session: Session, name: str) -> None:
    opens, _, id = OPENS_AND_CLOSES[name]
    opens(session)
    for station in ("", *session.farm.stations):
        kind = session.farm.stations[station].kind if station else "alive"
        items = session.checklists.by_kind[kind].items
        session.save(all_well_draft(session, station, items, at=session.now(), round_id=None))
    assert id in ids(session)


def test_an_all_well_of_an_earlier_version_did_answer_what_it_covered(session: Session) -> None:
    check("ch-1", "wilt", False)(session)
    put(session, "check", 1.0, "ch-1", item="all-well", value=True, data={"covers": ["wilt"]})
    assert ids(session) == []


def test_what_is_off_again_stands_there_again_since_then(session: Session, clock: Any) -> None:
    check("ch-1", "wilt", False, 3 * A_DAY)(session)
    check("ch-1", "wilt", True, 2 * A_DAY)(session)
    check("ch-1", "wilt", False, 1 * A_DAY)(session)
    check("ch-1", "wilt", False, 0.5 * A_DAY)(session)
    (matter,) = open_matters(session)
    hours = (session.now() - matter.since).total_seconds() / 3600.0
    assert hours == pytest.approx(A_DAY)


def test_a_fall_of_the_level_far_beyond_what_is_drunk_is_a_leak_until_a_reason_is_given(session: Session) -> None:
    for day, dip in ((2, 36.0), (1, 35.0), (0, 24.0)):
        reading("dip", dip, day * A_DAY)(session)
    (matter,) = open_matters(session)
    assert (matter.id, matter.what) == ("leak:res-1", "Look for a leak: 55 L gone in 24 hours")
    assert matter.closes_by == ("reason",)
    reading("dip", 36.0, 0.0)(session)
    assert ids(session) == ["leak:res-1"]


def test_what_was_drained_or_is_usual_is_no_leak(session: Session) -> None:
    reading("dip", 36.0, A_DAY)(session)
    dosed(session, 12.0, "well", 55.0, action="drain_off", own=True)
    reading("dip", 24.5, 0.0)(session)
    assert not [id for id in ids(session) if id.startswith("leak")]


def test_what_a_helper_poured_beyond_the_limit_is_looked_over(session: Session) -> None:
    put(session, "dose", 0.5, item="nitric-8", value=90.0, unit="mL", data={"action": "acid"}, person="ben",
        marks=(f"{BEYOND}: 90 mL",))  # fmt: skip
    assert "beyond:res-1" in ids(session)


def test_a_waiting_time_ends_with_its_day(session: Session, clock: Any) -> None:
    until = session.now().date()
    put(session, "doing", A_DAY, "hens", item="wormed", data={"until": until.isoformat()})
    (matter,) = open_matters(session)
    assert matter.id == "waiting:hens:wormed" and "passes" in matter.closes_by
    clock.go_on(days=1)
    assert ids(session) == []


def test_the_fox_and_sudden_deaths_stand_there_but_one_death_is_no_matter(session: Session) -> None:
    put(session, "doing", 20.0, "hens", item="dead", value=1)
    assert ids(session) == []
    put(session, "doing", 10.0, "hens", item="dead", value=1)
    put(session, "doing", 1.0, "hens", item="fox", value=2)
    assert sorted(ids(session)) == ["deaths:hens", "fox:hens"]


def test_brown_roots_in_two_channels_of_one_reservoir_are_one_matter(session: Session) -> None:
    check("ch-1", "roots", "brown", 5.0)(session)
    check("ch-2", "roots", "brown", 4.0)(session)
    (matter,) = open_matters(session)
    assert matter.what == "Look again: roots at the opening: brown in Channel one and Channel two"
    assert matter.stations == ("ch-1", "ch-2")
    assert matter.ids == ("off:ch-1:roots", "off:ch-2:roots")
    put(session, "settled", 0.0, "ch-1", item="off:ch-1:roots", value="closed", note="replanted")
    assert ids(session) == ["off:ch-2:roots"]


def test_a_leak_and_the_dip_are_one_matter_and_so_is_all_about_one_feed(session: Session) -> None:
    reading("ec", 3.1, 5.0)(session)
    put(session, "put-off", 4.0, note="no water")
    (matter,) = open_matters(session)
    assert matter.what == "Bring EC down: 3.10 mS/cm, 1.20 mS/cm above 1.50 to 1.90; put off: no water"


def test_the_worst_comes_first_then_the_oldest(session: Session) -> None:
    for station, item, value in (("ch-1", "light", False), ("ch-1", "wilt", False), ("hens", "shut", False)):
        check(station, item, value)(session)
    check("", "smell", False, 1.0)(session)
    check("ch-2", "supports", False, 2 * A_DAY)(session)
    assert ids(session) == ["off::smell", "off:hens:shut", "off:ch-1:wilt", "off:ch-2:supports", "off:ch-1:light"]
    ranks = [WORST_FIRST.index(each.loses) for each in open_matters(session)]
    assert ranks == sorted(ranks)


def test_a_smell_is_told_with_what_to_do(session: Session) -> None:
    check("", "smell", False, 0.1)(session)
    assert what(session)[0].startswith("Stay out, touch no switch")


def test_a_source_that_fails_costs_one_line(session: Session, monkeypatch: pytest.MonkeyPatch) -> None:
    from rounds.walk.to_sort import listing

    def broken(_: Session) -> list[Any]:
        raise ValueError("no such\nthing")

    check("ch-1", "wilt", False)(session)
    monkeypatch.setattr(listing, "SOURCES", [broken, *listing.SOURCES])
    assert [each.code for each in open_matters(session)] == ["off", "source-failed"]


def test_half_a_pair_stands_there_until_its_other_half(session: Session) -> None:
    dosed(session, 2.0, "leaf-a", 500.0, action="concentrate_a")
    assert "half-pair:res-1" in ids(session)
    dosed(session, 0.0, "leaf-b", 500.0, action="concentrate_b")
    assert "half-pair:res-1" not in ids(session)


def test_an_answer_taken_back_opens_nothing(session: Session) -> None:
    (record,) = session.save(
        Draft(kind="check", station="ch-1", item="wilt", value=False, measured_at=session.now())
    )  # fmt: skip
    assert ids(session) == ["off:ch-1:wilt"]
    session.gate.take_back(record, by=session.person, why="mistyped")
    assert ids(session) == []


def test_a_probe_found_off_says_since_when_its_readings_are_in_doubt(session: Session) -> None:
    reading("buffer", 6.5, 1.0)(session)
    told = "Clean and calibrate the pH probe: 6.50, 0.40 below 6.90 to 7.15 in buffer; what it read "
    assert what(session) == [f"{told}before is in doubt"]
    reading("buffer", 7.0, 3 * A_DAY)(session)
    assert what(session) == [f"{told}since Sun 6:00 is in doubt"]
