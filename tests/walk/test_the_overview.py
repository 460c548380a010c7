"""The first screen in words, wide and narrow: the heading, how the round stands, and a line for each station."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from rounds.checklist.due import DueItem, StationDue
from rounds.walk.overview import heading, shortened, state, station_line
from rounds.walk.round import close_round, open_round, start_round
from rounds.walk.session import Session

WIDE, NARROW = 66, 65


@pytest.fixture
def session(farm_folder: Path, clock: Any) -> Session:
    return Session.open(farm_folder, clock=clock)


def due(session: Session, *late: int) -> StationDue:
    """A station with so many things due, each so many days too late."""
    item = session.item(session.farm.station("res-1"), "ph")
    items = tuple(
        DueItem(item=item, since=session.now().date(), overdue_days=days, last=None, asked_outright=True)
        for days in late
    )
    return StationDue(station_id="res-1", kind="reservoir", name="Reservoir one", rank=30, sick=False, items=items)


@pytest.mark.parametrize(
    ("late", "wide", "narrow"),
    [
        ((), "Nothing is due. Enter starts the morning round.", "0 due at 0 of 4. Enter starts morning."),
        (((0, 0), (0,)), "3 things due at 2 of 4 stations. Enter starts the morning round.",
         "3 due at 2 of 4. Enter starts morning."),
        (((0, 2), (1,)), "3 things due at 2 of 4 stations, 2 of them overdue. Enter starts the morning round.",
         "3 due at 2 of 4, 2 overdue. Enter starts morning."),
    ],
)  # fmt: skip
def test_how_a_round_stands_before_it_is_begun(
    session: Session, late: tuple[tuple[int, ...], ...], wide: str, narrow: str
) -> None:
    waiting = [due(session, *each) for each in late]
    assert state(session, "morning", waiting, width=WIDE) == wide
    assert state(session, "morning", waiting, width=NARROW) == narrow


def test_how_it_stands_while_it_is_walked_and_once_it_is_closed(session: Session, clock: Any) -> None:
    start_round(session, "morning")
    clock.go_on(minutes=30)
    waiting = [due(session, 0)]
    assert state(session, "morning", waiting, width=WIDE) == (
        "Started 06:00. Still 1 things due at 1 of 4 stations. Enter takes it up again."
    )
    assert state(session, "morning", [], width=WIDE) == "Started 06:00. Nothing more is due. Enter goes on."
    assert state(session, "morning", waiting, width=NARROW) == "Since 06:00: 1 due at 1 of 4. Enter goes on."
    walk = open_round(session, "morning")
    assert walk is not None
    close_round(session, walk, {})
    assert state(session, "morning", [], width=WIDE) == "This morning's round is closed. Nothing more is due."
    assert state(session, "morning", waiting, width=NARROW) == "Closed. 1 due at 1 of 4."


def test_another_round_that_is_due_and_one_that_was_left_open_are_named_with_their_keys(
    session: Session, clock: Any
) -> None:
    assert state(session, "dusk", [], width=WIDE).endswith("The morning round is due too: n shows it.")
    assert state(session, "dusk", [], width=NARROW).endswith("n: morning is due too.")
    start_round(session, "morning")
    clock.go_on(days=1)
    assert "was left open: c closes it." in state(session, "morning", [], width=WIDE)
    assert state(session, "morning", [], width=NARROW).endswith("c: morning of 25 Nov is open.")


def test_the_heading_is_shorter_where_there_is_little_room(session: Session) -> None:
    assert heading(session.now(), "morning", width=NARROW) == "25 Nov · morning 06:00"
    assert heading(session.now() + timedelta(hours=1), "morning", width=WIDE).endswith(" · morning 07:00")
    assert heading(session.now(), "morning", width=WIDE) != heading(session.now(), "morning", width=NARROW)


@pytest.mark.parametrize(
    ("station", "late", "width", "line"),
    [
        ("res-1", None, 80, "✓ Reservoir one" + " " * 27),
        ("res-1", (0, 0), 80, "• Reservoir one" + " " * 27 + "  2 due"),
        ("res-1", (0, 1), 80, "• Reservoir one" + " " * 27 + "  2 due   overdue by 1 day"),
        ("res-1", (3, 1), 80, "• Reservoir one" + " " * 27 + "  2 due   overdue by 3 days"),
        ("res-1", (3,), 40, "• Reservoir one" + " " * 7 + "  1 due 3 d late"),
        ("res-1", (0,), 20, "• Reservoir…" + " " * 2 + "  1 due"),
        ("ch-2", None, 80, "✓ Channel two (sick: last)" + " " * 16),
        ("ch-2", None, 65, "✓ Channel two (sick)" + " " * 22), ("ch-2", (0,), 20, "• Cha… (sick)" + " " + "  1 due"),
    ],
)  # fmt: skip
def test_a_station_is_told_in_one_line_whose_name_gives_way(
    session: Session, station: str, late: tuple[int, ...] | None, width: int, line: str
) -> None:
    """At most 40 letters for the name, at least 12; four beside it and what is due."""
    waiting = due(session, *late) if late else None
    assert station_line(session.farm.station(station), "✓", waiting, width=width) == line


@pytest.mark.parametrize(
    ("text", "length", "short"),
    [
        ("Reservoir", 9, "Reservoir"),
        ("Reservoir", 8, "Reservo…"),
        ("Bed of kale", 8, "Bed of…"),
        ("Bed", 1, "…"),
        ("Bed", 0, "…"),
    ],
)
def test_a_long_text_is_cut_with_a_mark(text: str, length: int, short: str) -> None:
    assert shortened(text, length) == short
