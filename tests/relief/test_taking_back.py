"""The time away on one page, and a filled sheet typed in afterwards."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from rounds.errors import BadInput
from rounds.history.record import Draft
from rounds.relief.days import due_by_day
from rounds.relief.sheet import relief_for
from rounds.relief.taking_back import QUESTION, ask_helper, report
from rounds.relief.typed_in import PaperDay, as_person, at_time, paper_days, pour
from rounds.walk.session import Session

DAY = date(2026, 11, 23)
NOON = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
Open = Callable[..., Session]


def at(day: int, hour: int = 7, minute: int = 0) -> datetime:
    return datetime(2026, 11, day, hour, minute, tzinfo=UTC)


def paper(session: Session) -> list[PaperDay]:
    return paper_days(session, (DAY, DAY + timedelta(days=1)))


@pytest.fixture
def away(farm_folder: Path, opened: Open) -> Session:
    """Two days in which ben walked once, dosed once, and wrote something."""
    session = opened(farm_folder, at=NOON)
    mixed = {"ph": {"low": 5.7, "high": 6.1, "value": 5.9}, "ec_ms_cm": {"low": 1.6, "high": 1.8, "value": 1.7}}
    (offer,) = session.save(
        Draft(kind="correction", station="res-1", measured_at=at(23, 7, 10), person="ben",
              data={"steps": [], "prediction": {"mixed": mixed}})
    )  # fmt: skip
    session.save(
        Draft(kind="reading", station="res-1", item="ph", value=7.4, measured_at=at(23), person="ben"),
        Draft(kind="reading", station="res-1", item="ec", value=1.3, unit="mS/cm", measured_at=at(23), person="ben"),
        Draft(kind="dose", station="res-1", item="leaf-a", value=200.0, unit="mL", measured_at=at(23, 7, 15),
              person="ben", data={"action": "concentrate_a", "correction": offer.id, "step": 1},
              marks=("beyond the helper's limit, warned: 200 mL",)),
        Draft(kind="reading", station="res-1", item="ec", value=1.71, measured_at=at(23, 9), person="ben"),
        Draft(kind="reading", station="res-1", item="ph", value=6.4, measured_at=at(23, 9), person="ben"),
        Draft(kind="note", station="hens", note="one limps [red]", measured_at=at(23, 9, 30), person="ben"),
        Draft(kind="round", item="morning", value="closed", round_id="r", measured_at=at(23, 10), person="ben"),
    )  # fmt: skip
    return session


def test_one_page_says_what_was_off_poured_used_and_noted(away: Session) -> None:
    made = report(away, DAY, DAY + timedelta(days=1))
    assert any("pH 7.4 ▲" in line for line in made.off)
    assert any("EC 1.3 mS/cm ▼" in line for line in made.off)
    (dose,) = made.poured
    assert "Leaf A 200 mL" in dose
    assert "beyond the helper's limit" in dose
    assert made.used == ("Leaf A: 0.2 L used, 7.8 L left",)
    assert any("one limps [red]" in note and "(ben)" in note for note in made.notes)
    assert made.rounds == ("Mon 23 Nov 10:00 morning round closed by ben",)


def test_what_is_still_to_sort_stands_first_the_worst_before_the_rest(away: Session) -> None:
    away.save(Draft(kind="check", station="hens", item="perch", value=11, measured_at=at(23, 16), person="ben"))
    title, lines = report(away, DAY, DAY + timedelta(days=1)).blocks()[0]
    assert title == "Still to sort"
    assert "1 bird missing" in lines[0] and lines[0].startswith("Hen house: ")
    assert any("beyond the helper's limit" in line for line in lines[1:])


def test_predictions_are_held_against_the_next_reading(away: Session) -> None:
    ph, ec = report(away, DAY, DAY).held
    assert "pH 6.40, foreseen 5.70 to 6.10: did not hold" in ph
    assert "EC 1.71, foreseen 1.60 to 1.80: held" in ec


def times(lines: tuple[str, ...], name: str) -> int:
    return int(next(line for line in lines if line.startswith(name)).split(": ")[1].split()[0])


def test_a_day_without_a_walk_is_not_done(away: Session) -> None:
    both = report(away, DAY, DAY + timedelta(days=1)).not_done
    walked = report(away, DAY, DAY).not_done
    assert times(both, "Reservoir one") > times(walked, "Reservoir one") > 0, (
        "temperature and dip were not read on the first day, nothing on the second"
    )
    assert any(line.startswith("Hen house") for line in both)
    morning = due_by_day(replace(away, clock=lambda: at(23, 6)), (DAY,))
    asked = {
        d.item.id for d in morning if d.station_id == "res-1" and d.item.type == "reading" and d.item.ask == "always"
    }
    assert asked >= {"ph", "ec", "t", "dip"}
    assert times(walked, "Reservoir one") == len(asked) - 2, "pH and EC were read, checks count as looked at"


def test_a_question_to_the_helper_is_a_marked_note_and_stands_by_itself(away: Session) -> None:
    ask_helper(away, "res-1", "Was the tank stirred?")
    made = report(away, DAY, DAY + timedelta(days=2))
    assert [line for line in made.questions if "Was the tank stirred?" in line]
    assert not [line for line in made.notes if "Was the tank stirred?" in line]
    (kept,) = [r for r in away.history.records(kind="note") if QUESTION in r.marks]
    assert kept.station == "res-1"


def test_a_filled_sheet_is_written_down_for_the_day_the_time_and_the_person(farm_folder: Path, opened: Open) -> None:
    session = opened(farm_folder, at=NOON)
    helper = as_person(session, relief_for(session, "ben", DAY, DAY).person)
    first, second = paper(helper)
    assert at_time(first, "0710", helper) == at(23, 7, 10)
    at_time(second, "8.05", helper)
    visit = next(d for d in first.visits if d.stop.station_id == "res-1")
    ph = next(line.item for line in visit.stop.lines if line.item.id == "ph")
    visit.take_field(ph, "6,1")
    next(d for d in second.visits if d.stop.station_id == "res-1").take_field(ph, "6.2")
    one, other = session.history.records(item="ph")
    assert (one.value, one.measured_at, one.person, one.typed) == (6.1, at(23, 7, 10), "ben", "6,1")
    assert (other.value, other.measured_at) == (6.2, at(24, 8, 5))


def test_what_is_typed_as_off_is_off_and_the_rest_of_the_day_is_well(farm_folder: Path, opened: Open) -> None:
    helper = opened(farm_folder, "ben", NOON)
    first, _ = paper(helper)
    at_time(first, "07:00", helper)
    visit = next(d for d in first.visits if d.stop.station_id == "ch-1")
    taken = visit.take_line("wilt")
    assert taken.saved[0][1].is_off
    for each in first.visits:
        each.all_well()
    (well,) = helper.history.records(station="ch-1", item="all-well")
    assert "wilt" not in well.data["covers"]
    assert "outlet" in well.data["covers"]
    assert well.measured_at == at(23)


def test_what_was_poured_is_booked_as_water_a_and_b(
    farm_folder: Path, opened: Open, allow: Callable[..., None]
) -> None:
    allow(farm_folder, '"leaf-a", "leaf-b"', step_ml=300)
    helper = opened(farm_folder, "ben", NOON)
    reservoir = helper.farm.reservoir("res-1")
    pour(helper, reservoir, "40 200 200", at(23))
    pour(helper, reservoir, "25", at(24))
    found = [(r.item, r.value, r.unit, r.data["action"]) for r in helper.history.records(kind="dose")]
    assert found == [
        ("well", 40.0, "L", "top_up"), ("leaf-a", 200.0, "mL", "concentrate_a"), 
        ("leaf-b", 200.0, "mL", "concentrate_b"),
        ("well", 25.0, "L", "top_up"),
    ]  # fmt: skip
    (high,) = pour(helper, reservoir, "0 500", at(24, 9))
    assert "from paper" in high.marks[0]


@pytest.mark.parametrize(
    ("text", "poured"), [("220", [220.0]), ("0.4 - 0.5", [0.4, 0.5]), ("- 20000", [20_000.0]), ("0", []), ("- - -", [])]
)
def test_amounts_that_can_be_are_booked_up_to_the_brim_and_a_drum(
    farm_folder: Path, opened: Open, text: str, poured: list[float]
) -> None:
    grower = opened(farm_folder, at=NOON)
    assert [r.value for r in pour(grower, grower.farm.reservoir("res-1"), text, at(23))] == poured


@pytest.mark.parametrize(
    "text", ["221", "- 20001", "", "40 200 200 1", "forty", "40 -5", "9999", "40 99999", "nan", "40;200"]
)
def test_amounts_that_cannot_be_are_refused_and_nothing_is_booked(farm_folder: Path, opened: Open, text: str) -> None:
    helper = opened(farm_folder, "ben", NOON)
    with pytest.raises(BadInput):
        pour(helper, helper.farm.reservoir("res-1"), text, at(23))
    assert helper.history.records() == []


@pytest.mark.parametrize("text", ["", "25:00", "seven", "7", "07:61", "070", "nan"])
def test_a_time_that_is_none_is_refused(farm_folder: Path, opened: Open, text: str) -> None:
    helper = opened(farm_folder, "ben", NOON)
    with pytest.raises(BadInput):
        at_time(paper(helper)[0], text, helper)


def test_what_has_not_come_yet_cannot_be_typed_in(farm_folder: Path, opened: Open) -> None:
    helper = opened(farm_folder, "ben", NOON)
    (day,) = paper_days(helper, (date(2026, 11, 25),))
    with pytest.raises(BadInput, match="has not come yet"):
        at_time(day, "13:00", helper)


def test_a_station_that_no_longer_exists_does_not_stop_the_report(
    away: Session, farm_folder: Path, opened: Open
) -> None:
    away.history.close()
    text = (farm_folder / "farm.toml").read_text(encoding="utf-8")
    gone = text.replace('id = "hens"', 'id = "ducks"')
    (farm_folder / "farm.toml").write_text(gone, encoding="utf-8")
    made = report(opened(farm_folder, at=NOON), DAY, DAY + timedelta(days=1))
    assert any("one limps" in note for note in made.notes)
