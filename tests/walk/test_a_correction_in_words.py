"""A correction as it is shown: its steps with their signs, what each brings, and what may be typed at it."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from rounds.book.entries import entry_of
from rounds.book.offer import After, Assumed, Interval, Step
from rounds.walk.correction_text import assumed_text, commands_of, line_text, step_details, step_title
from rounds.walk.open_corrections import OpenCorrection
from tests.book.line import NOW, Line


def step(action: str = "concentrate_a", **more: Any) -> Step:
    made = {"number": 2, "amount": 50.0, "unit": "mL", "text": "Pour 50 mL of A.", "wait_min": 30.0}
    return Step(action=action, **made | more)


@pytest.mark.parametrize(
    ("made", "value", "minutes", "title"),
    [
        (step(), None, 0, "  2  Pour 50 mL of A."), (step(), 50.0, 0, "✓ 2  Pour 50 mL of A."),
        (step(), 60.0, 0, "✓ 2  Pour 50 mL of A. (really 60 mL)"),
        (step("circulate", text="Run."), 50.0, 29, "⧗ 2  Run."),
        (step("circulate", text="Run."), 50.0, 30, "✓ 2  Run."),
        (step("recheck", text="Read."), None, 0, "  2  Read."), (step("recheck", text="Read."), 50.0, 99, "⧗ 2  Read."),
    ],
)  # fmt: skip
def test_a_step_is_to_come_running_or_done(made: Step, value: float | None, minutes: int, title: str) -> None:
    done: Any = None if value is None else entry_of(Line(kind="dose", value=value))
    assert step_title(made, done, NOW + timedelta(minutes=minutes), following=False, width=80) == title


def test_the_next_step_has_a_sign_and_a_long_one_is_broken_below_its_text() -> None:
    assert step_title(step(), None, NOW, following=True, width=80) == "▶ 2  Pour 50 mL of A."
    long = step_title(step(text="word " * 20), None, NOW, following=True, width=52).splitlines()
    assert len(long) == 3
    assert all(len(line) <= 50 for line in long)
    assert long[1].startswith("     word")
    narrow = step_title(step(text="word " * 20), None, NOW, following=True, width=10).splitlines()
    assert max(map(len, narrow)) in range(36, 41), "never narrower than 40"


def test_what_to_beware_of_stands_above_what_a_step_brings() -> None:
    def span(value: float) -> Interval:
        return Interval(value=value, low=value - 0.1, high=value + 0.1)

    after = After(volume_l=span(198.0), ph=span(5.9), ec_ms_cm=span(1.7))
    told = step_details(step(cautions=("Goggles.", "Slowly."), after=after, why="EC is low."))
    assert told.splitlines() == [
        "! Goggles.", "! Slowly.",
        "After this step: pH 5.90 (5.80 to 6.00) · EC 1.70 (1.60 to 1.80) mS/cm · 198 (198 to 198) L",
        "Wait 30 min until it has mixed.", "Why: EC is low.",
    ]  # fmt: skip
    assert step_details(step("circulate", after=after, wait_min=0.0)) == ""
    assert step_details(step(wait_min=0.0)) == ""


def test_what_a_correction_was_worked_out_from_is_told_with_its_units_and_what_is_not_known_left_out() -> None:
    def told(answer: str = "", asked: dict[str, float] | None = None, **assumed: float) -> str:
        return assumed_text(OpenCorrection(
            id="c", station_id="res-1", offered_at=NOW, steps=(), done={}, findings=(), refusals=(), explain=(),
            answer=answer, assumed=Assumed(**assumed), asked=asked or {},
        ))  # fmt: skip

    known = {"ph": 6.9, "ec_ms_cm": 1.7, "temperature_c": 21.0, "volume_l": 180.0, "alkalinity_meq_l": 4.0}
    assert told(**known) == (
        "Worked out from: pH 6.90 · EC 1.70 mS/cm · 21.0 °C · 180 L turn round · water's alkalinity 4.0 meq/L"
    )
    assert told("It answers as calculated.", {"strip": 6.8}, ph=6.9) == (
        "Worked out from: pH 6.90 · strip 6.80\nIt answers as calculated."
    )


LATER = [("p Enter", "put off"), ("w Enter", "working")]


@pytest.mark.parametrize(
    ("made", "first", "line"),
    [
        (None, [], "Enter walks on"),
        (step("acid"), [("mL Enter", "poured"), ("e Enter", "other amount")], None),
        (step("base"), [("mL Enter", "poured"), ("e Enter", "other amount")], None),
        (step(), [("e Enter", "other amount")], "Enter: done as advised. Or the mL really added"),
        (step("drain_off", unit="L"), [("e Enter", "other amount")], "Enter: done as advised. Or the L really added"),
        (step("circulate"), [], "Enter: done"), (step("buffer_dip"), [], "What the meter shows, then Enter"),
        (step("read_again"), [], "Enter opens the reading line"),
    ],
)  # fmt: skip
def test_acid_and_base_are_confirmed_by_their_amount_and_the_rest_by_enter(
    made: Step | None, first: list[tuple[str, str]], line: str | None
) -> None:
    found = commands_of(made)
    assert found[-2:] == LATER
    assert [each for each in found[:-2] if each[0] != "Enter"] == first
    assert ("Enter" in dict(found)) is (made is not None and made.action not in ("acid", "base"))
    assert line_text(made) == (line or "Type the mL you poured, such as 50, then Enter")
    assert commands_of(made, given_up="B") == [*found, ("g Enter", "give up B")]
