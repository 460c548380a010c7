"""A hose that runs, a drain that is open: open until its opposite, asked about before anybody goes; the hose's clock.

The reservoir is 44 cm high for 220 L: 5 L a centimetre. A dip of 32 cm is 160 L, which leaves room for 60 L.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from rounds.walk.at_station import AtStation
from rounds.walk.at_summary import AtSummary
from rounds.walk.bell import Bell
from rounds.walk.daybook.sentences import record_text
from rounds.walk.dialogue import Reply
from rounds.walk.doings.water import litres_now
from rounds.walk.round import start_round
from rounds.walk.session import Session
from rounds.walk.stops import stop_at
from rounds.walk.to_sort.listing import open_matters
from rounds.walk.to_sort.model import OpenMatter
from rounds.walk.visit import Visit

ROOM_FOR_60_L = "dip 32"
Does = Callable[..., Reply]


def at(session: Session, station: str) -> AtStation:
    return AtStation(Visit(session=session, stop=stop_at(session, "morning", station), round_id="r1"))


@pytest.fixture
def does(clock: Any) -> Does:
    """Type lines at a station, a minute apart; give the last reply."""

    def type_them(session: Session, station: str, *lines: str) -> Reply:
        dialogue, said = at(session, station), Reply()
        for line in lines:
            clock.go_on(minutes=1)
            said = dialogue.press(line) if line in ("esc", "f6", "+") else dialogue.answer(line)
        return said

    return type_them


@pytest.fixture
def two_waters(farm_folder: Path, clock: Any) -> Session:
    """Reservoir one has well water and rain water at hand."""
    path = farm_folder / "farm.toml"
    rain = '[[waters]]\nid = "rain"\nname = "Rain water"\nph = 6.4\nec_ms_cm = 0.02\nalkalinity_meq_l = 0.1\n'
    text = path.read_text(encoding="utf-8").replace("\n[[stations]]", f"\n{rain}\n[[stations]]", 1)
    path.write_text(text.replace('waters = ["well"]', 'waters = ["well", "rain"]'), encoding="utf-8")
    return Session.open(farm_folder, clock=clock)


def matter(session: Session, station: str = "res-1") -> OpenMatter | None:
    return next((each for each in open_matters(session) if each.code == "passing" and each.station == station), None)


LEFT_AND_OVER = [
    ("drain open", "drain shut", "res-1", "30 minutes"),
    ("pump off", "pump on", "res-1", "30 minutes"),
    ("alarm muted", "alarm on", "res-1", "tonight"),
    ("vent propped", "vent shut", "hens", "tonight"),
    ("bleach in", "bleach out", "res-1", "2 hours"),
    ("acid out", "acid away", "res-1", "people"),
    ("hose 12", "hose off 5", "res-1", "2 hours"),
]


@pytest.mark.parametrize(("left", "over", "station", "loses"), LEFT_AND_OVER)
def test_each_state_is_open_until_its_opposite(
    session: Session, does: Does, left: str, over: str, station: str, loses: str
) -> None:
    does(session, station, left, "")
    found = matter(session, station)
    assert found is not None and found.loses == loses and found.closes_by == ("undone", "reason")
    does(session, station, over, "")
    assert matter(session, station) is None


@pytest.mark.parametrize(("left", "over", "station", "loses"), LEFT_AND_OVER)
def test_all_well_never_ends_one_and_taking_its_end_back_opens_it_again(
    session: Session, does: Does, left: str, over: str, station: str, loses: str
) -> None:
    does(session, station, left, "", "+")
    assert matter(session, station) is not None
    does(session, station, over, "", "f6")
    assert matter(session, station) is not None


def test_a_reason_ends_one_too_and_said_anew_it_is_open_since_then(session: Session, does: Does, clock: Any) -> None:
    does(session, "res-1", "drain open", "")
    does(session, "res-1", "fixed drain shut by Ben", "")
    assert matter(session) is None
    clock.go_on(hours=1)
    does(session, "res-1", "drain open", "")
    found = matter(session)
    assert found is not None and (session.now() - found.since).total_seconds() < 300


def test_pump_off_is_no_answer_to_the_check_of_the_pump(session: Session, does: Does) -> None:
    assert does(session, "res-1", "pump off").message.startswith("understood: Pump off; ")
    does(session, "res-1", "pump n")
    checks = session.history.records(kind="check", station="res-1")
    assert [(each.item, each.value) for each in checks] == [("pump", False)]


# The clock of the hose.


def test_the_clock_says_when_it_is_full_by_dip_room_and_flow(session: Session, does: Does) -> None:
    said = does(session, "res-1", ROOM_FOR_60_L, "hose 12 l/min")  # turned on at 6:02
    assert said.message.splitlines()[-1] == (
        "understood: Hose on, 12 L/min; full about 6:07. Enter saves it, Esc leaves it."  # 60 L / 12 L/min = 5 min
    )


def test_what_was_topped_up_since_the_dip_takes_its_room(session: Session, does: Does) -> None:
    said = does(session, "res-1", ROOM_FOR_60_L, "topped 24", "", "hose 2")  # 36 L of room at 6:04, 18 minutes
    assert "full about 6:22" in said.message


def test_a_dip_while_it_runs_counts_from_the_dip(session: Session, does: Does, clock: Any) -> None:
    does(session, "res-1", ROOM_FOR_60_L, "hose 2", "")
    clock.go_on(minutes=10)
    does(session, "res-1", "dip 36")  # at 6:14 180 L are in it: 40 L of room, 20 minutes
    found = matter(session)
    assert found is not None and found.what == "Turn the hose off, full about 6:34"


def test_past_its_time_it_is_a_matter_of_half_an_hour(session: Session, does: Does, clock: Any) -> None:
    does(session, "res-1", ROOM_FOR_60_L, "hose 12", "")
    before = matter(session)
    clock.go_on(minutes=6)
    after = matter(session)
    assert before is not None and after is not None
    assert (before.loses, after.loses) == ("2 hours", "30 minutes")


def test_it_rings_some_minutes_before_and_once_more_when_it_is_full(session: Session, does: Does, clock: Any) -> None:
    does(session, "res-1", ROOM_FOR_60_L, "hose 2", "")  # on at 6:02, full at 6:32
    bell = Bell(session)
    assert bell.countdown() == "⧗ Reservoir one: the hose still runs, full about 6:32, look in 24:00"
    clock.go_on(minutes=23)
    assert bell.rung() == []
    clock.go_on(minutes=1)  # 6:27
    assert bell.rung() == ["Reservoir one: the hose still runs, full about 6:32."]
    clock.go_on(minutes=5)
    assert bell.rung() == ["Reservoir one: full by the clock: hose off."]


def test_a_hose_that_is_off_rings_no_more(session: Session, does: Does, clock: Any) -> None:
    bell = Bell(session)
    does(session, "res-1", ROOM_FOR_60_L, "hose 2", "")
    assert bell.countdown()
    does(session, "res-1", "hose off 4", "")
    clock.go_on(hours=1)
    assert bell.countdown() == "" and bell.rung() == []


@pytest.mark.parametrize(
    ("lines", "missing"),
    [((ROOM_FOR_60_L, "hose", ""), "its flow is not known"), (("hose 12", ""), "the level is not known")],
)
def test_without_flow_or_level_it_says_what_is_missing_and_rings_after_ten_minutes(
    session: Session, does: Does, clock: Any, lines: tuple[str, ...], missing: str
) -> None:
    assert missing in does(session, "res-1", *lines).message
    bell = Bell(session)
    bell.countdown()
    clock.go_on(minutes=9, seconds=30)  # a minute went by between the lines
    bell.countdown()
    clock.go_on(minutes=1)
    assert [sentence.partition(",")[0] for sentence in bell.rung()] == ["Reservoir one: the hose still runs"]
    found = matter(session)
    assert found is not None and found.loses == "30 minutes"


def test_off_tops_up_what_flow_and_time_tell_by_enter_alone(session: Session, does: Does, clock: Any) -> None:
    does(session, "res-1", ROOM_FOR_60_L, "hose 2", "")  # the line came at 6:02
    clock.go_on(minutes=9)
    said = does(session, "res-1", "hose off")  # the line comes at 6:13: 11 minutes at 2 L/min
    assert said.message == "? How many litres went in? Enter: 22, by flow and time"
    does(session, "res-1", "hose off", "", "")  # at 6:14
    assert litres_now(session, session.farm.reservoir("res-1")) == pytest.approx(160 + 24)
    (dose,) = session.history.records(kind="dose")
    assert (dose.item, dose.value, dose.unit, dose.data["action"], dose.data["own"]) == (
        "well",
        24,
        "L",
        "top_up",
        True,
    )


def test_off_with_litres_tells_the_flow_for_the_next_time(session: Session, does: Does, clock: Any) -> None:
    does(session, "res-1", ROOM_FOR_60_L, "hose", "")  # the line came at 6:02
    clock.go_on(minutes=6)
    said = does(session, "res-1", "hose off 28", "")  # the line comes at 6:10: 28 L in 8 minutes are 3.5 L/min
    assert said.message == "Saved: Hose off, 28 L in; 28 L of Well water topped up."
    assert "at 3.5 L/min as last time" in does(session, "res-1", "hose").message


def test_where_there_are_two_waters_it_asks_which(two_waters: Session, does: Does) -> None:
    said = does(two_waters, "res-1", "hose 12", "", "hose off 25")
    assert said.message.startswith("? Which water? 1 Well water · 2 Rain water")
    does(two_waters, "res-1", "hose off 25", "2", "")
    (dose,) = two_waters.history.records(kind="dose")
    assert (dose.item, dose.value) == ("rain", 25)


def test_the_water_may_be_said_when_it_is_turned_on(two_waters: Session, does: Does) -> None:
    does(two_waters, "res-1", "hose 12 rain", "", "hose off 25", "")
    (dose,) = two_waters.history.records(kind="dose")
    assert (dose.item, dose.value) == ("rain", 25)


def test_litres_nobody_knows_are_no_dose(session: Session, does: Does) -> None:
    said = does(session, "res-1", "hose", "", "hose off", "?", "")
    assert "read the dip" in said.message and session.history.records(kind="dose") == []
    assert matter(session) is None


@pytest.mark.parametrize("line", ["hose 0", "hose -3", "hose 1e9", "hose 3 4", "hose off 999", "hose off 3 4"])
def test_what_cannot_be_is_one_sentence_and_nothing_is_written(session: Session, does: Does, line: str) -> None:
    said = does(session, "res-1", line)
    assert not said.accepted and session.history.records(kind="doing") == []


# Before the station is left, and before the round is closed.


def test_it_is_asked_about_before_the_station_is_left(session: Session, does: Does) -> None:
    said = does(session, "hens", "vent propped", "", "esc")
    assert said.way is None
    assert said.message == "? The vent is still propped open here, since today 6:01: leave it so? y, or vent shut"
    said = does(session, "hens", "esc", "y")
    assert said.way is not None and matter(session, "hens") is not None


def test_what_ends_it_may_be_typed_in_place_of_y(session: Session, does: Does) -> None:
    said = does(session, "hens", "vent propped", "", "esc", "vent shut")
    assert said.way is not None and said.message.startswith("Saved: Vent shut")
    assert matter(session, "hens") is None


def test_the_hose_that_is_turned_off_then_asks_for_its_litres(session: Session, does: Does) -> None:
    said = does(session, "res-1", ROOM_FOR_60_L, "hose", "", "esc", "hose off")
    assert said.message == "? How many litres went in? ? where nobody knows"
    said = does(session, "res-1", "esc", "hose off", "12")
    assert said.way is not None and matter(session) is None


def test_another_answer_is_asked_again_and_where_nothing_is_left_so_nothing_is_asked(
    session: Session, does: Does
) -> None:
    said = does(session, "hens", "vent propped", "", "esc", "maybe")
    assert not said.accepted and "y, or vent shut" in said.message
    assert does(session, "res-1", "esc").way is not None


def test_it_is_asked_about_before_the_round_is_closed(session: Session, does: Does) -> None:
    walk = start_round(session, "morning")
    does(session, "hens", "vent propped", "")
    end = AtSummary(session, walk)
    end.answer("")
    assert "Hen house: the vent is still propped open (vent shut)" in end.question.text
    assert end.answer("vent shut").message == "Saved: Vent shut. Enter closes the round."
    assert matter(session, "hens") is None
    assert end.answer("").way is not None


def test_y_closes_the_round_with_what_is_left_so(session: Session, does: Does) -> None:
    walk = start_round(session, "morning")
    does(session, "hens", "vent propped", "")
    end = AtSummary(session, walk)
    end.answer("")
    assert not end.answer("what").accepted
    assert end.answer("y").way is not None
    assert matter(session, "hens") is not None


def test_the_daybook_says_it(session: Session, does: Does) -> None:
    does(session, "res-1", "pump off", "", "pump on", "")
    told = [record_text(session, each) for each in session.history.records(kind="doing")]
    assert told == ["Reservoir one: Pump off", "Reservoir one: Pump on again"]
