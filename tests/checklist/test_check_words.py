"""Checks typed by name beside the readings."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rounds.checklist.check_words import answers_of, part_checks, read_check
from rounds.checklist.model import Item
from rounds.errors import BadInput

WILT = Item(id="wilt", type="yes_no", label="No plant wilts", well=True)
ROOTS = Item(id="roots", type="choice", label="Roots", choices=("white", "light brown", "brown"), well=("white",))
LOST = Item(id="lost", type="count", label="Lost", names=("lost",), well=0)
WORK = Item(id="work", type="note", label="Work done", names=("work",))
PH = Item(id="ph", type="reading", label="pH", names=("ph",), limits=(0, 14))
ALL = (PH, WILT, ROOTS, LOST, WORK)


def test_a_check_named_alone_is_not_well_and_the_readings_are_left() -> None:
    parted = part_checks("ph 6.4 wilt", ALL)
    assert [(c.item.id, c.value) for c in parted.entries] == [("wilt", False)]
    assert parted.rest == "ph 6.4"


def test_a_choice_goes_before_another_check_of_that_name() -> None:
    """`airlock dry` is about the airlock; of the cask nothing was said."""
    airlock = Item(id="airlock", type="choice", label="Airlock", choices=("bubbling", "dry"), well=("bubbling",))
    cask = Item(id="leak", type="yes_no", label="Cask dry, stillage firm", well=True)
    parted = part_checks("airlock dry", (airlock, cask))
    assert [(each.item.id, each.value) for each in parted.entries] == [("airlock", "dry")]
    assert (parted.rest, parted.problems) == ("", ())


@pytest.mark.parametrize(
    ("line", "value"),
    [
        ("roots brown", "brown"),
        ("roots light brown", "light brown"),
        ("roots 2", "light brown"),
        ("ROOTS Whi", "white"),
    ],
)
def test_a_choice_takes_its_number_its_words_or_their_beginning(line: str, value: str) -> None:
    parted = part_checks(line, ALL)
    assert [check.value for check in parted.entries] == [value]
    assert parted.rest == ""


def test_a_note_takes_the_rest_of_the_line() -> None:
    parted = part_checks("work tied up the beans, 2 ties left", ALL)
    assert [check.value for check in parted.entries] == ["tied up the beans, 2 ties left"]
    assert parted.rest == ""


@pytest.mark.parametrize("typed", ["roots", "roots purple", "roots 4"])
def test_a_choice_that_is_none_names_the_answers_there_are(typed: str) -> None:
    parted = part_checks(f"ph 6.4 {typed}", ALL)
    assert parted.entries == ()
    assert "light brown" in parted.problems[0]
    assert parted.rest == "ph 6.4", "the rest of the line is not lost with it"


@pytest.mark.parametrize(("typed", "item"), [("maybe", WILT), ("1.5", LOST), ("-1", LOST), ("", WORK), ("many", LOST)])
def test_an_answer_that_cannot_be_is_a_sentence(typed: str, item: Item) -> None:
    with pytest.raises(BadInput):
        read_check(typed, item)


@given(st.text(max_size=80))
def test_any_text_is_checks_and_a_rest_or_a_sentence(text: str) -> None:
    parted = part_checks(text, ALL)
    assert set(parted.rest.split()) <= set(text.split())
    assert all(parted.problems)


def test_the_answers_are_told_as_they_are_typed() -> None:
    assert answers_of(ROOTS) == "1 white, 2 light brown, 3 brown"
    assert answers_of(WILT) == "y or n"


@pytest.mark.parametrize("line", ["wilt yes", "wilt no", "wilt n"])
def test_yes_or_no_behind_a_label_that_says_no_is_refused(line: str) -> None:
    """`wilt yes` may mean that it wilts, and `No plant wilts: yes` that it does not: neither is guessed."""
    parted = part_checks(line, ALL)
    assert parted.entries == ()
    assert "not clear" in parted.problems[0]


def test_another_word_behind_a_yes_or_no_is_not_taken_for_no() -> None:
    pump = Item(id="pump", type="yes_no", label="Pump even", well=True)
    parted = part_checks("pump ok", (pump,))
    assert parted.entries == ()
    assert "neither yes nor no" in parted.problems[0]
    assert [c.value for c in part_checks("pump y", (pump,)).entries] == [True]


STRAINER = Item(id="strainer", type="yes_no", label="Strainer clean", well=True)
LID = Item(id="lid", type="yes_no", label="Lid shut, no light, no leaves", well=True)
PUMP = Item(id="pump", type="yes_no", label="Pump even, inlet covered and clear", well=True)
WILT = Item(id="wilt", type="yes_no", label="No plant wilts", well=True)


@pytest.mark.parametrize(
    ("line", "value"),
    [
        ("strainer clean", True), ("strainer is clean", True), ("strainer not clean", False), ("strainer", False),
        ("lid shut", True), ("pump even", True), ("inlet clear", True), ("wilts", False), ("plant wilts", False),
    ],
)  # fmt: skip
def test_a_check_named_with_how_it_should_be_is_well_and_its_name_alone_is_not(line: str, value: bool) -> None:
    parted = part_checks(line, [STRAINER, LID, PUMP, WILT])
    assert [each.value for each in parted.entries][:1] == [value]
    assert parted.problems == ()


@pytest.mark.parametrize("line", ["lid leaves", "pump inlet", "clean", "shut"])
def test_where_it_could_be_a_word_of_trouble_nothing_is_saved_and_it_is_asked(line: str) -> None:
    parted = part_checks(line, [STRAINER, LID, PUMP, WILT])
    assert parted.entries == ()
    assert "is it so, or not?" in parted.problems[0]
