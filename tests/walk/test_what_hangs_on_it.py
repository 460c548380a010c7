"""What is said once an entry of an earlier day was put right, and the story of an entry."""

from __future__ import annotations

from typing import Any

import pytest

from rounds.errors import BadInput, Refused
from rounds.history.record import Draft, Record
from rounds.walk.daybook.hanging import hanging_on, said_anew
from rounds.walk.daybook.sentences import record_text
from rounds.walk.daybook.story import story_of
from rounds.walk.putting_right import put_right, question_of, read_reason, right_answer
from rounds.walk.session import Session
from tests.walk.written import dosed, offered, put, read

MIXED = {"mixed": {"ph": {"value": 5.9, "low": 5.8, "high": 6.0}}}


def righted(session: Session, record: Record, text: str, why: str = "misread") -> tuple[Record, list[str]]:
    hanging = hanging_on(session, record)
    new = put_right(session, record, text, why)
    return new, said_anew(session, hanging, new)


def test_a_yes_or_no_of_last_week_is_put_right_with_its_reason(session: Session) -> None:
    wrong = put(session, "check", 8 * 24.0, "ch-1", item="wilt", value=True, note="looked early")
    assert question_of(session, wrong) == "What is right?  y No plant wilts   n Wilting seen"
    new, told = righted(session, wrong, "n", "looked again")
    assert (new.value, new.replaces, new.measured_at, new.note) == (False, wrong.id, wrong.measured_at, "looked early")
    assert record_text(session, new) == "Channel one: Wilting seen (looked early; put right: looked again)"
    assert told == ["It is the newest answer: what is due, and what is told first, go by it."]
    assert session.history.get(wrong.id) == wrong, "records never change"


def test_a_later_answer_stands_beside_one_that_is_put_right(session: Session) -> None:
    wrong = put(session, "check", 30.0, "ch-1", item="roots", value="white and fresh")
    put(session, "check", 1.0, "ch-1", item="roots", value="cream")
    new, told = righted(session, wrong, "brown")
    assert new.value == "brown"
    assert told == ["A later answer stands, of Wed 25 Nov 05:00."]


@pytest.mark.parametrize("text", ["maybe", "", "17"])
def test_what_is_no_answer_to_a_check_is_refused(session: Session, text: str) -> None:
    wrong = put(session, "check", 24.0, "ch-1", item="wilt", value=True)
    with pytest.raises(BadInput, match="neither yes nor no"):
        right_answer(session, wrong, text)


def test_one_check_of_an_all_well_was_not_well(session: Session) -> None:
    wrong = put(
        session, "check", 24.0, "ch-1", item="all-well", value=True, data={"covers": ["wilt", "outlet", "caps"]}
    )
    new = put_right(session, wrong, "wilt", "2")
    standing = session.history.records(station="ch-1")
    assert {r.item: (r.value, r.data.get("covers")) for r in standing} == {
        "wilt": (False, None), "all-well": (True, ["outlet", "caps"]),
    }  # fmt: skip
    assert (new.item, new.measured_at, new.replaces) == ("wilt", wrong.measured_at, None)
    latest = session.history.latest_by_item()
    assert latest["ch-1", "wilt"].value is False
    assert latest["ch-1", "caps"].item == "all-well"


def test_the_only_check_of_an_all_well_takes_its_place(session: Session) -> None:
    wrong = put(session, "check", 24.0, "ch-1", item="all-well", value=True, data={"covers": ["wilt"]})
    new = put_right(session, wrong, "wilt")
    assert [(r.item, r.value, r.replaces) for r in session.history.records(station="ch-1")] == [
        ("wilt", False, wrong.id)
    ]
    assert session.history.latest_by_item()["ch-1", "wilt"] == new


@pytest.mark.parametrize("text", ["roots brown", "ph 6", "wilt wilt", "wilt no"])
def test_what_an_all_well_did_not_cover_or_is_not_clear_is_refused(session: Session, text: str) -> None:
    wrong = put(session, "check", 24.0, "ch-1", item="all-well", value=True, data={"covers": ["wilt", "caps"]})
    with pytest.raises(BadInput):
        put_right(session, wrong, text)
    assert session.history.records(station="ch-1") == [wrong]


def test_a_correction_worked_out_from_a_wrong_reading_is_worked_out_again(session: Session) -> None:
    rest = [read(session, item, value, 0.1) for item, value in (("ec", 1.7), ("t", 21.0), ("dip", 36.0))]
    wrong = read(session, "ph", 6.9, 0.1)
    offered(session, 0.05, input={"records": {each.item: each.id for each in (*rest, wrong)}})
    told = righted(session, wrong, "6.0", "1")[1]
    assert told[0].startswith("The correction of Wed 25 Nov 05:57 no longer holds. Worked out again: ")


def test_what_was_poured_by_a_wrong_reading_stands(session: Session) -> None:
    wrong = read(session, "ph", 6.9, 50.0)
    offer = offered(session, 49.9, input={"records": {"ph": wrong.id}})
    dosed(session, 49.8, correction=offer.id, step=1)
    told = righted(session, wrong, "6.6")[1]
    assert told[0].startswith("The correction of Mon 23 Nov 04:06 was poured by the old value: what was poured stands.")


def test_how_a_correction_came_out_is_said_anew(session: Session) -> None:
    offer = offered(session, 30.0, prediction=MIXED)
    dosed(session, 29.9, correction=offer.id, step=1)
    wrong = read(session, "ph", 5.9, 29.0)
    told = righted(session, wrong, "6.2")[1]
    assert "The correction of Tue 24 Nov 00:00 came out so: pH 5.90 expected, 6.20 read, outside 5.80 to 6.00." in told


def test_a_dose_put_right_is_said_of_book_and_shelf(session: Session) -> None:
    put(session, "stock", 60.0, "", item="nitric-8", value=5.0, unit="L")
    wrong = dosed(session, 30.0, amount=300.0)
    told = righted(session, wrong, "30 mL")[1]
    assert told[0] == "Level and book of the reservoir go by it now."
    assert told[1].startswith("On the shelf: 4.97 L of Working nitric acid")


def test_a_slow_change_that_was_put_right_is_judged_again(session: Session) -> None:
    wrong = read(session, "flow", 1.2, 50.0, station="ch-1")
    put(session, "seen", 2.0, "ch-1", item="slow:flow", data={"put_right": True, "figure": "value"})
    told = righted(session, wrong, "1.1")[1]
    assert told == ["The slow change of Flow by timed jug, put right on Wed 25 Nov 04:00, is judged with it again."]


def test_a_helper_puts_right_what_they_wrote_and_nothing_else(farm_folder: Any, clock: Any) -> None:
    ben = Session.open(farm_folder, person_id="ben", clock=clock)
    theirs, own = (put(ben, "check", 24.0, "ch-1", item="wilt", value=True, person=who) for who in ("ada", "ben"))
    for replace in (
        lambda: put_right(ben, theirs, "n", "x"),
        lambda: ben.save(Draft(kind="check", measured_at=theirs.measured_at, station="ch-1", item="wilt", value=False,
                               replaces=theirs.id)),
    ):  # fmt: skip
        with pytest.raises(Refused, match="written down by ada"):
            replace()
    assert put_right(ben, own, "n", "x").value is False


@pytest.mark.parametrize(
    ("text", "reason"), [("1", "mistyped"), (" 2 ", "misread"), ("9", "9"), ("it was res-2", "it was res-2")]
)
def test_a_digit_stands_for_a_usual_reason(text: str, reason: str) -> None:
    assert read_reason(text) == reason


def test_the_story_of_an_entry_says_what_was_typed_and_what_it_replaced(session: Session) -> None:
    wrong = read(session, "ec", 17.0, 24.0, unit="mS/cm", typed="17", person="ada", meter="pen-1")
    new = put_right(session, wrong, "1.7", "mistyped")
    story = story_of(session, new)
    assert story[0] == "Reservoir one: ✓ EC 1.70 mS/cm (put right: mistyped)"
    assert story[2:] == [
        "Tue 24 Nov 06:00 2026, by Ada, entered 25 Nov 2026 06:00.", "Typed: “1.7”.", "Read with pH and EC pen.",
        "Before: EC 17.00 mS/cm, typed “17”, by Ada, entered 25 Nov 06:00.",
    ]  # fmt: skip


def test_the_story_of_a_correction_says_what_it_was_worked_out_from(session: Session) -> None:
    ph = read(session, "ph", 6.9)
    offer = offered(session, input={"records": {"ph": ph.id}}, explain=["because"])
    told = "\n".join(story_of(session, offer))
    assert "Worked out from pH 6.90.\n1. acid\n" in told
    assert told.endswith("because")
    dose = dosed(session, 0.0, correction=offer.id, step=1, advised=30.0)
    assert story_of(session, dose)[-1] == "Advised: 30 mL by the correction of Wed 25 Nov 06:00."


def test_the_story_of_an_all_well_names_what_was_looked_at(session: Session) -> None:
    record = put(session, "check", station="ch-1", item="all-well", value=True, data={"covers": ["wilt", "gone"]})
    assert "Looked at: No plant wilts, gone." in story_of(session, record)
