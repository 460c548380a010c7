"""The daybook by keyboard: a page for each day, one named, what is looked for, and an entry opened and put right."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from rounds.history.record import Draft
from rounds.history.store import History
from rounds.screens import daybook
from rounds.walk.answering import note_draft
from rounds.walk.session import Session
from rounds.walk.stops import stop_at
from rounds.walk.visit import Visit
from tests import keyboard
from tests.screens.test_how_the_screens_look import compare, plain


def keep(farm_folder: Path, clock: Any, *drafts: tuple[float, dict[str, Any]]) -> None:
    """Write down what happened so many days ago."""
    with History.open(farm_folder / "history", now=clock) as history:
        history.save(*(Draft(measured_at=clock() - timedelta(days=ago), **fields) for ago, fields in drafts))


def check(item: str, value: object, station: str = "ch-1", **fields: Any) -> dict[str, Any]:
    return {"kind": "check", "station": station, "item": item, "value": value, **fields}


async def test_what_cannot_be_stays_on_the_line_and_what_is_hard_to_believe_is_asked_about(
    driven: Any, farm_folder: Path, clock: Any
) -> None:
    session = Session.open(farm_folder, clock=clock)
    Visit(session=session, stop=stop_at(session, "morning", "res-1")).take_line("ph 6.0")
    clock.go_on(hours=1)
    Visit(session=session, stop=stop_at(session, "morning", "res-1", everything=True)).take_line("ph 6.1")
    session.history.close()
    async with driven(farm_folder) as walker:
        await walker.press("d", "down", "e")
        await walker.type("64", "enter")
        assert walker.screen == "PromptScreen"
        assert "cannot be 64" in walker.words
        await walker.press("backspace", "backspace")
        await walker.type("9", "enter")
        assert "Enter again keeps it" in walker.words
        assert walker.app.session.history.latest("res-1", "ph").value == 6.1
        await walker.press("enter")
        assert "Why is it put right?" in walker.words
        await walker.type("wrong pen", "enter")
        assert walker.screen == "DaybookScreen"
        assert "? pH 9.00, 2.80 above its band" in walker.words
        assert "hard to believe, kept; put right: wrong pen" in walker.words
        assert walker.app.session.history.latest("res-1", "ph").value == 9.0


@keyboard.at_both_sizes
async def test_a_day_looks_as_approved(driven: Any, farm_folder: Path, clock: Any, size: tuple[int, int]) -> None:
    walk = {"round_id": f"{clock.at - timedelta(days=1):%Y-%m-%d}-morning", "person": "ada"}
    keep(
        farm_folder, clock,
        (1.05, {"kind": "round", "item": "morning", "value": "started", **walk}),
        (1.0, check("all-well", True, data={"covers": ["outlet", "caps"]}, **walk)),
        (1.0, check("wilt", False, note="at the far end, where the stream is thin", **walk)),
        (1.0, {"kind": "reading", "station": "res-1", "item": "ph", "value": 6.0, **walk}),
        (1.0, {"kind": "reading", "station": "res-1", "item": "t", "value": 21.0, "unit": "°C", **walk}),
        (1.0, {"kind": "reading", "station": "res-1", "item": "ec", "value": 0.4, "unit": "mS/cm", **walk}),
        (0.99, {"kind": "dose", "station": "res-1", "item": "leaf-a", "value": 90.0, "unit": "mL", "person": "ben",
                "data": {"action": "concentrate_a"}}),
    )  # fmt: skip
    async with driven(farm_folder) as walker:
        await walker.press("d", "left", "down")
        compare(f"daybook-day-{size[0]}x{size[1]}", plain(walker.text))
        await walker.press("home", "enter")
        compare(f"daybook-line-{size[0]}x{size[1]}", plain(walker.text))


async def test_days_are_left_and_named_and_none_is_to_come(driven: Any, farm_folder: Path, clock: Any) -> None:
    keep(farm_folder, clock, (10.0, {"kind": "note", "station": "res-1", "note": "OLD"}))
    async with driven(farm_folder) as walker:
        await walker.press("d", "right")
        assert "Wednesday 25 November 2026" in walker.text
        assert "Nothing was written down on this day." in walker.text
        await walker.press("left", "left", "right")
        assert "Tuesday 24 November 2026" in walker.text
        await walker.press("a")
        await walker.type("next year", "enter")
        assert "“next year” is no day" in walker.words
        await walker.press(*["backspace"] * 9)
        await walker.type("-10", "enter")
        assert "Sunday 15 November 2026" in walker.text
        assert "OLD" in walker.text


async def test_what_is_well_is_unfolded_before_one_of_it_is_put_right(
    driven: Any, farm_folder: Path, clock: Any
) -> None:
    keep(
        farm_folder, clock,
        (0.01, {"kind": "reading", "station": "res-1", "item": "ph", "value": 6.0}),
        (0.01, {"kind": "reading", "station": "res-1", "item": "t", "value": 21.0, "unit": "°C"}),
    )  # fmt: skip
    async with driven(farm_folder) as walker:
        await walker.press("d", "e")
        assert "choose the one" in walker.words
        await walker.press("down", "e")
        await walker.type("20.5", "enter")
        await walker.type("2", "enter")
        assert "Water temperature 20.5 °C (put right: misread)" in walker.words


async def test_a_check_of_an_earlier_day_is_put_right_and_what_hangs_on_it_is_said(
    driven: Any, farm_folder: Path, clock: Any
) -> None:
    keep(farm_folder, clock, (9.0, check("wilt", True)))
    async with driven(farm_folder) as walker:
        await walker.press("d", "a")
        await walker.type("-9", "enter")
        await walker.press("enter")
        assert walker.screen == "LineScreen"
        await walker.press("e")
        assert "y No plant wilts n Wilting seen" in walker.words
        await walker.type("n", "enter")
        await walker.type("it was limp", "enter")
        await walker.until(lambda: "It is the newest answer" in walker.words)
        assert "! Wilting seen (put right: it was limp)" in walker.words


async def test_what_is_looked_for_comes_newest_first_and_waits_to_be_told_to_go_on(
    driven: Any, farm_folder: Path, clock: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(daybook, "MOST_FOUND", 2)
    keep(
        farm_folder, clock, (0.1, check("wilt", False)), (40.0, check("wilt", False)), (90.0, check("wilt", True)),
        (400.0, check("wilt", False, station="ch-2")), (400.0, check("caps", False)),
    )  # fmt: skip
    async with driven(farm_folder) as walker:
        await walker.press("d", "f")
        await walker.type("WILTING", "enter")
        await walker.until(lambda: "2 found; o looks further back" in walker.words)
        days = [line.strip() for line in walker.text.splitlines() if line.strip().endswith("2026")]
        assert days == ["Wednesday 25 November 2026", "Friday 16 October 2026"]
        await walker.press("space")
        await walker.until(lambda: "3 found" in walker.words)
        assert "o looks further back" not in walker.words
        assert "Drip at a cap" not in walker.text
        await walker.press("escape")
        assert "Wednesday 25 November 2026" in walker.text
        await walker.press("f")
        await walker.type("zebra", "enter")
        await walker.until(lambda: "Nothing was found" in walker.words)
        await walker.press("escape", "escape")
        assert walker.screen == "WalkScreen"


async def test_what_was_found_is_put_right_where_it_stands(driven: Any, farm_folder: Path, clock: Any) -> None:
    keep(farm_folder, clock, (400.0, check("wilt", False)))
    async with driven(farm_folder) as walker:
        await walker.press("d", "f")
        await walker.type("channel one findings", "enter")
        await walker.until(lambda: "1 found" in walker.words)
        await walker.press("e")
        await walker.type("y", "enter")
        await walker.type("1", "enter")
        assert "✓ No plant wilts (put right: mistyped)" in walker.words


async def test_more_entries_than_a_page_has_rows_are_all_reached(driven: Any, farm_folder: Path, clock: Any) -> None:
    session = Session.open(farm_folder, clock=clock)
    notes = (
        note_draft(session, "res-1", f"n{i}", at=clock.at - timedelta(seconds=i), round_id=None) for i in range(420)
    )
    session.save(*notes)
    session.history.close()
    async with driven(farm_folder) as walker:
        await walker.press("d", "end")
        assert "note (n0)" in walker.text
        await walker.press("home")
        assert "note (n419)" in walker.text


async def test_a_day_reads_no_more_than_its_month(driven: Any, farm_folder: Path, clock: Any) -> None:
    keep(farm_folder, clock, *((30.0 * n, {"kind": "note", "station": "res-1", "note": f"m{n}"}) for n in range(40)))
    async with driven(farm_folder) as walker:
        library = walker.app.session.history.library
        opened: list[str] = []
        months = library.month
        library.month = lambda key: (opened.append(key[1]), months(key))[1]
        await walker.press("d", "a")
        await walker.type("-300", "enter")
        assert "m10" in walker.text
        assert set(opened) <= {"2026-11", "2026-01"}
