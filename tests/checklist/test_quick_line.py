"""The quick line: what growers type, and what they are told when it cannot be read."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rounds.checklist.model import Item
from rounds.checklist.quick_line import LONGEST_LINE, BadLine, parse_line
from rounds.errors import BadInput


def reading(item_id: str, label: str, unit: str, low: float, high: float, *names: str, decimals: int = 1) -> Item:
    return Item(
        id=item_id, type="reading", label=label, names=names or (item_id,), unit=unit, limits=(low, high),
        quick=item_id != "added", decimals=decimals,
    )  # fmt: skip


PH = reading("ph", "pH", "", 0, 14)
EC = reading("ec", "EC", "mS/cm", 0, 20)
T = reading("t", "Water temperature", "°C", -2, 60, "t", "temp")
DIP = reading("dip", "Dip", "cm", 0, 400)
ADDED = reading("added", "Water added", "L", 0, 5000)
EGGS = Item(id="eggs", type="count", label="Eggs", names=("eggs",), well=99, decimals=0)
ITEMS = (PH, EC, T, DIP, ADDED, EGGS)


def values(text: str, **more: object) -> dict[str, float]:
    return {entry.item_id: entry.value for entry in parse_line(text, ITEMS, **more)}  # type: ignore[arg-type]


def problems(text: str) -> BadLine:
    with pytest.raises(BadLine) as caught:
        parse_line(text, ITEMS)
    return caught.value


FOUR = {"ph": 6.4, "ec": 1.9, "t": 21.0, "dip": 31.0}


@pytest.mark.parametrize(
    "text",
    [
        "ph 6,4 ec 1.9 t 21 dip 31cm",
        "dip 31 cm t 21 °C ec 1.9 ph 6.4",
        "6.4 1.9 21 31",
        "6,4 1,9 21 31",
        "  6.4\t1.9  21 31 ",
        "6.4, 1.9, 21, 31",
        "6.4; 1.9; 21; 31",
        "ph6.4 ec1.9 t21 dip31",
        "ph=6.4 ec=1.9 t=21 dip=31",
        "ph: 6.4 ec: 1.9 t: 21 dip: 31",
        "ph = 6.4 ec = 1.9 t = 21 dip = 31",
        "PH 6.4 EC 1.9 Temp 21 DIP 31 CM",
        "6.4 1.9 21 dip 31",
        "6.4 1.9 mS/cm 21 C 31cm",
        "6.4\u00a01.9\u00a021\u00a031",
        "ph 6.4 ec 1900 uS/cm t 21 dip 310 mm",
        "ph 6.4 ec 19 CF t 69.8 F dip 0.31 m",
    ],
)
def test_one_line_takes_everything_in_any_order(text: str) -> None:
    assert values(text) == pytest.approx(FOUR)


def test_a_unit_may_stand_before_a_name_that_looks_like_another() -> None:
    assert values("t 21 c ph 6.4") == {"t": 21.0, "ph": 6.4}


def test_scales_of_meters_are_turned_into_conductivity() -> None:
    # Common practice: 950 ppm on the 500 scale and 1330 ppm on the 700 scale are both 1.9 mS/cm.
    assert values("ec 950 ppm500") == pytest.approx({"ec": 1.9})
    assert values("ec 1330 ppm700 ph 6") == pytest.approx({"ec": 1.9, "ph": 6.0})


def test_what_was_typed_is_kept_as_it_was() -> None:
    entries = parse_line("ph 6,4 dip 31 cm", ITEMS)
    assert [(entry.typed, entry.unit) for entry in entries] == [("ph 6,4", ""), ("dip 31 cm", "cm")]
    assert [entry.typed for entry in parse_line("6,4 1.9", ITEMS)] == ["6,4", "1.9"]


def test_a_reading_without_a_place_in_the_order_is_typed_by_name() -> None:
    assert values("added 12") == {"added": 12.0}
    assert "more numbers" in str(problems("6.4 1.9 21 31 12"))


@pytest.mark.parametrize(
    ("text", "item_id", "words"),
    [
        ("ph 56", "ph", ["pH", "56", "0 to 14"]),
        ("ec abc", "ec", ["EC", "abc", "0 to 20 mS/cm"]),
        ("t -80", "t", ["Water temperature", "-80", "-2 to 60 °C"]),
        ("ph 6,4,2", "ph", ["pH", "6,4,2", "one point or comma"]),
        ("ph 1,234.5", "ph", ["pH", "1,234.5"]),
        ("ph nan", "ph", ["pH", "nan"]),
        ("ph inf", "ph", ["pH", "inf"]),
        ("ph", "ph", ["pH", "no number", "0 to 14"]),
        ("ec", "ec", ["EC", "no number"]),
        ("ph 6.4 ph 6.5", "ph", ["pH", "twice"]),
        ("ph 6.4 cm", "ph", ["pH", "cm"]),
        ("ec 950 ppm", "ec", ["EC", "two scales", "ppm500"]),
        ("ec 1.9 bananas", "ec", ["EC", "bananas"]),
        ("ph \u0666.\u0664", "ph", ["pH", "\u0666.\u0664"]),
        ("eggs 2.5", "eggs", ["Eggs", "whole number"]),
        ("added 5 gal", "added", ["Water added", "US", "imperial", "[place]"]),
        ("6.4 -1", "ec", ["EC", "-1", "0 to 20"]),
    ],
)
def test_a_bad_part_is_named_with_what_is_expected(text: str, item_id: str, words: list[str]) -> None:
    error = problems(text)
    assert [problem.item_id for problem in error.problems] == [item_id]
    for word in words:
        assert word in str(error), str(error)


def test_a_gallon_is_read_once_the_farm_has_said_which() -> None:
    # US gallon 3.785411784 L, imperial 4.54609 L: by definition (NIST Handbook 44, appendix C; memory).
    assert values("added 5 gal", gallon="us") == pytest.approx({"added": 18.92706})
    assert values("added 5 gal", gallon="imperial") == pytest.approx({"added": 22.73045})


def test_an_unknown_name_is_answered_with_the_known_ones() -> None:
    error = problems("phosphor 3 ec 1.9")
    assert "phosphor 3" in str(error)
    assert "ph, ec, t, dip, added, eggs" in str(error)
    assert [entry.item_id for entry in error.good] == ["ec"]


def test_an_unknown_name_between_two_readings_is_no_unit() -> None:
    error = problems("ph 6.4 foo 3 t 20")
    assert "foo 3" in str(error)
    assert [(entry.item_id, entry.value) for entry in error.good] == [("ph", 6.4), ("t", 20.0)]


def test_all_problems_of_a_line_are_told_at_once_and_the_good_part_is_kept() -> None:
    error = problems("ph 56 ec 1.9 t abc dip 31")
    assert [problem.item_id for problem in error.problems] == ["ph", "t"]
    assert {entry.item_id: entry.value for entry in error.good} == {"ec": 1.9, "dip": 31.0}
    assert "pH" in str(error)
    assert "Water temperature" in str(error)


def test_a_reading_that_stands_twice_is_taken_neither_time() -> None:
    error = problems("ph 6.4 ec 1.9 ph 6.5")
    assert [entry.item_id for entry in error.good] == ["ec"]


def test_a_bare_number_after_a_name_is_not_guessed() -> None:
    error = problems("ph 6.4 1.9")
    assert "1.9" in str(error)
    assert "name" in str(error)
    assert [entry.item_id for entry in error.good] == ["ph"]


def test_after_a_word_that_is_not_known_bare_numbers_are_not_guessed() -> None:
    error = problems("6.4 abc 21 31")
    assert [entry.item_id for entry in error.good] == ["ph"]


def test_digits_of_other_scripts_are_refused_with_the_digits_that_are_read() -> None:
    assert "0 to 9" in str(problems("\u0666\u0664"))
    assert "0 to 9" in str(problems("\uff16.\uff14"))


@pytest.mark.parametrize("text", ["\x1b[31m6.4", "ph \x1b]0;x\x07 6.4", "ph 6.4\x00", "ph \u202e4.6"])
def test_escape_sequences_are_shown_harmless_and_refused(text: str) -> None:
    shown = str(problems(text))
    assert not re.search("[\x00-\x1f\u202e]", shown)


def test_nothing_typed_is_answered_with_the_order() -> None:
    assert "ph ec t dip" in str(problems("   "))


def test_a_line_as_long_as_a_book_is_refused() -> None:
    assert str(LONGEST_LINE) in str(problems("1" * (LONGEST_LINE + 1)))


def test_a_bad_line_is_bad_input() -> None:
    assert isinstance(problems("ph 56"), BadInput)


NUMBERS = {
    "ph": st.integers(0, 1400).map(lambda n: n / 100),
    "ec": st.integers(0, 2000).map(lambda n: n / 100),
    "t": st.integers(-20, 600).map(lambda n: n / 10),
    "dip": st.integers(0, 4000).map(lambda n: n / 10),
}


@given(
    readings=st.fixed_dictionaries({}, optional=NUMBERS).filter(bool),
    chance=st.randoms(use_true_random=False),
    mark=st.sampled_from([".", ","]),
    between=st.sampled_from([" ", "=", ": ", ""]),
)
def test_whatever_is_written_by_name_comes_back(
    readings: dict[str, float], chance: object, mark: str, between: str
) -> None:
    order = list(readings)
    chance.shuffle(order)  # type: ignore[attr-defined]
    text = " ".join(f"{name}{between}{str(readings[name]).replace('.', mark)}" for name in order)
    assert values(text) == pytest.approx(readings)


@given(text=st.text(max_size=250))
def test_any_text_is_read_or_answered_with_a_sentence(text: str) -> None:
    try:
        entries = parse_line(text, ITEMS)
    except BadLine as error:
        assert error.problems
        assert all(problem.sentence.strip() for problem in error.problems)
    else:
        assert entries
        limits = {item.id: item.limits for item in ITEMS}
        for entry in entries:
            low, high = limits[entry.item_id] or (0, 10**9)
            assert low <= entry.value <= high


WORDS = ("ph", "ec", "t", "dip", "6.4", "1.9", "cm", "=", ":", ",", "nan", "5", "gal", "x", "-")


@given(text=st.lists(st.sampled_from(WORDS), max_size=9).map(" ".join))
def test_no_reading_is_ever_taken_twice(text: str) -> None:
    try:
        taken = [entry.item_id for entry in parse_line(text, ITEMS)]
    except BadLine as error:
        taken = [entry.item_id for entry in error.good]
    assert len(taken) == len(set(taken))


@pytest.mark.parametrize("text", ["eggs -4", "eggs -0.5", "eggs 1000001", "eggs 99999999999999999999"])
def test_a_count_is_nothing_below_none_and_nothing_without_end(text: str) -> None:
    error = problems(text)
    assert "cannot be a count" in str(error)
    assert error.good == ()


def test_half_a_thing_is_not_counted_whatever_its_decimals() -> None:
    pests = Item(id="pests", type="count", label="Pests", names=("pests",), well=0)
    with pytest.raises(BadLine, match="cannot be a count"):
        parse_line("pests 2.5", [pests])
    (entry,) = parse_line("pests 0", [pests])
    assert entry.value == 0
