"""A station as it is shown: what to know before looking, and a row for each item before and after it is answered."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from rounds.history.record import Draft
from rounds.walk.session import Session
from rounds.walk.station_text import RowText, how_and_why, row_of, sign_of, subtitle_of, title_of
from rounds.walk.stops import stop_at


@pytest.fixture
def session(farm_folder: Path, clock: Any) -> Session:
    return Session.open(farm_folder, clock=clock)


def put(session: Session, kind: str, item: str, value: Any, **more: Any) -> None:
    session.save(Draft(kind=kind, station="res-1", item=item, value=value, measured_at=session.now(), **more))


def row(session: Session, item: str, station: str = "res-1") -> RowText:
    stop = stop_at(session, "morning", station)
    return row_of(session, stop, next(line for line in stop.lines if line.item.id == item))


def test_a_sick_station_says_what_to_do_after_it_and_a_reservoir_its_feed_and_level(session: Session) -> None:
    assert title_of(stop_at(session, "morning", "ch-1")) == "Channel one"
    assert title_of(stop_at(session, "morning", "ch-2")) == "Channel two · sick: wash hands and tools after it"
    assert subtitle_of(session, stop_at(session, "morning", "res-1")).startswith(
        "Leaf feed · working level 36 cm, 180 L"
    )
    assert "lettuce" in subtitle_of(session, stop_at(session, "morning", "ch-1"))


def test_a_reading_says_its_band_before_it_is_read_and_how_it_lies_afterwards(session: Session, clock: Any) -> None:
    before = row(session, "ph")
    assert (before.said, before.before, before.expects) == ("5.60 to 6.20", "–", "")
    assert row(session, "ec").expects == "mS/cm"
    assert row(session, "dip").said == ""
    assert before.line == f"{before.sign} pH  5.60 to 6.20"
    put(session, "reading", "ph", 6.0)
    put(session, "reading", "ec", 2.5, unit="mS/cm")
    put(session, "skip", "dip", None, note="stick is gone")
    clock.go_on(minutes=1)
    well, off, left = (row(session, item) for item in ("ph", "ec", "dip"))
    assert (well.sign, off.sign) == ("✓", "▲")
    assert well.before.startswith("6")
    assert (left.sign, left.said) == ("–", "left out")


def test_what_all_well_covered_is_well_and_what_waits_too_long_says_so(session: Session, clock: Any) -> None:
    put(session, "check", "all-well", True, data={"covers": ["strainer"]})
    clock.go_on(minutes=1)
    assert (row(session, "strainer").sign, row(session, "strainer").said) == ("✓", "well")
    clock.go_on(days=9)
    assert row(session, "strainer").said == "overdue by 2 d"


def test_an_item_is_explained_whole_with_the_word_it_is_typed_by(session: Session) -> None:
    lines = {line.item.id: line for line in stop_at(session, "morning", "res-1").lines}
    ec = lines["ec"].item
    assert how_and_why(lines["ec"]) == f"EC (mS/cm). {ec.how} {ec.why} Typed as ec."
    assert how_and_why(lines["ph"]).startswith("pH. Probe rinsed")
    assert how_and_why(None) == ""
    assert sign_of(lines["ph"]) != sign_of(next(each for each in lines.values() if not each.asked_outright))
