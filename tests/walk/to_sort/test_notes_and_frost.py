"""A note that names a day stands from that day on; before a night of frost there is one matter with all its jobs."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from rounds.history.record import Draft
from rounds.walk.at_station import AtStation
from rounds.walk.matters import Ahead
from rounds.walk.session import Session
from rounds.walk.stops import stop_at
from rounds.walk.telling import told
from rounds.walk.to_sort.day_said import day_said
from rounds.walk.to_sort.listing import open_matters
from rounds.walk.to_sort.model import OpenMatter
from rounds.walk.to_sort.settle import closing
from rounds.walk.visit import Visit

WEDNESDAY = date(2026, 11, 25)
Write = Callable[..., Any]


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("order bran tomorrow", "2026-11-26"),
        ("look again the day after tomorrow", "2026-11-27"),
        ("vet comes on Thursday", "2026-11-26"),
        ("thursday: vet", "2026-11-26"),
        ("sow again next wed", "2026-12-02"),
        ("shut until Friday", "2026-11-27"),
        ("pick by sat, they are ready", "2026-11-28"),
        ("2 dec market", "2026-12-02"),
        ("market on Dec 2nd", "2026-12-02"),
        ("cut on the 5th of january", "2027-01-05"),
        ("new film 2 oct 2027", "2027-10-02"),
        ("filter 2026-12-02", "2026-12-02"),
        ("look in 3 days", "2026-11-28"),
        ("in two weeks harvest", "2026-12-09"),
        ("on Friday, or in 10 days", "2026-11-27"),
    ],
)
def test_the_day_that_a_note_names(text: str, day: str) -> None:
    assert day_said(text, WEDNESDAY) == date.fromisoformat(day)


@pytest.mark.parametrize(
    "text",
    [
        "roots fine", "yesterday it dripped", "dripped since Thursday", "last Friday it was worse", "2 oct was wet",
        "3 days ago", "every Monday", "the sun was on it", "2 may be sick", "hen sat on 2 eggs", "today", "2026-11-20",
        "second of 2 marked", "no dew", "31 feb", "in the afternoon", "at 7:30", "mar 7:30",
    ],
)  # fmt: skip
def test_words_without_a_day_to_come_name_none(text: str) -> None:
    assert day_said(text, WEDNESDAY) is None


@pytest.fixture
def note(session: Session) -> Write:
    """Write a note at the hens, by the key."""

    def write(text: str) -> None:
        dialogue = AtStation(Visit(session=session, stop=stop_at(session, "morning", "hens"), round_id="r1"))
        dialogue.press("*")
        assert dialogue.answer(text).accepted

    return write


def matters(session: Session, code: str) -> list[OpenMatter]:
    return [each for each in open_matters(session) if each.code == code]


def test_it_is_to_come_before_its_day_and_to_sort_from_then_on(session: Session, note: Write, clock: Any) -> None:
    def to_come() -> list[str]:
        return [each.text for each in told(session, "ahead") if isinstance(each, Ahead) and each.code == "note"]

    note("vet comes on Friday")
    clock.go_on(hours=41)  # Thursday 23:00
    assert to_come() == ["vet comes on Friday"] and matters(session, "note") == []
    clock.go_on(hours=2)
    (found,) = matters(session, "note")
    assert to_come() == []
    assert (found.station, found.what) == ("hens", "Do what was noted for today: vet comes on Friday")
    clock.go_on(days=60)
    (found,) = matters(session, "note")
    assert found.what == "Do what was noted for Friday 27 Nov 2026: vet comes on Friday"


def test_a_reason_closes_it_and_another_note_stays(session: Session, note: Write, clock: Any) -> None:
    note("vet tomorrow")
    note("bran tomorrow")
    clock.go_on(days=1)
    one, other = sorted(matters(session, "note"), key=lambda each: each.what)
    session.save(*closing(session, other, "the vet was here"))
    assert [each.id for each in matters(session, "note")] == [one.id]
    clock.go_on(days=30)
    assert [each.id for each in matters(session, "note")] == [one.id]


def test_a_note_that_is_taken_back_is_none(session: Session, clock: Any) -> None:
    dialogue = AtStation(Visit(session=session, stop=stop_at(session, "morning", "hens"), round_id="r1"))
    dialogue.press("*")
    dialogue.answer("vet tomorrow")
    dialogue.press("f6")
    clock.go_on(days=1)
    assert matters(session, "note") == []


# Frost.


@pytest.fixture
def cold(farm_folder: Path, clock: Any) -> Session:
    """The small farm with its greenhouse air."""
    path = farm_folder / "farm.toml"
    path.write_text(f'{path.read_text(encoding="utf-8")}\n[[stations]]\nkind = "air"\nid = "air"\nname = "House"\n')
    return Session.open(farm_folder, clock=clock)


def lowest(session: Session, value: float) -> None:
    draft = Draft(kind="reading", station="air", item="min", value=value, unit="°C", measured_at=session.now())
    session.save(draft)


def answer(session: Session, station: str, item: str) -> None:
    session.save(Draft(kind="check", station=station, item=item, value=True, measured_at=session.now()))


def test_a_cold_night_makes_one_matter_of_tonight_with_all_its_jobs(cold: Session, clock: Any) -> None:
    lowest(cold, 1.4)
    (found,) = matters(cold, "frost")
    assert (found.loses, found.parkable) == ("tonight", False)
    assert found.what == (
        "Get ready for frost tonight (1.4 °C last night): vents set for the night; fleece on where frost is forecast; "
        "levels enough for the night, valves dry"
    )
    clock.go_on(hours=10)  # dusk
    for station, item in (("air", "vents-night"), ("air", "fleece")):
        answer(cold, station, item)
    (found,) = matters(cold, "frost")
    assert found.what.endswith("last night): levels enough for the night, valves dry")
    answer(cold, "res-1", "levels-night")
    assert matters(cold, "frost") == []


def test_a_mild_night_makes_none_and_that_of_yesterday_neither(cold: Session, clock: Any) -> None:
    lowest(cold, 2.0)
    assert matters(cold, "frost") == []
    lowest(cold, 1.9)
    assert len(matters(cold, "frost")) == 1
    clock.go_on(days=1)
    assert matters(cold, "frost") == []


def test_a_note_of_today_says_it_too(cold: Session) -> None:
    draft = Draft(kind="note", station="", note="radio: frost tonight", measured_at=cold.now())
    cold.save(draft)
    (found,) = matters(cold, "frost")
    assert "as noted today" in found.what


def test_a_reason_closes_it_for_tonight_only(cold: Session, clock: Any) -> None:
    lowest(cold, -3.0)
    (found,) = matters(cold, "frost")
    clock.go_on(minutes=1)
    cold.save(*closing(cold, found, "all done at noon"))
    assert matters(cold, "frost") == []
    clock.go_on(days=1)
    lowest(cold, -4.0)
    assert len(matters(cold, "frost")) == 1
