"""Water topped up and drained off unasked, birds that died: understood, shown, saved, felt, taken back."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from rounds.book.composition import feed_known, water_known
from rounds.book.ledger import ledger_of
from rounds.farm.stations import Flock
from rounds.walk.daybook.sentences import record_text
from rounds.walk.dialogue import Reply
from rounds.walk.doings.water import litres_now
from rounds.walk.fresh import fresh_records, readings_of
from rounds.walk.offering import offer
from rounds.walk.open_corrections import open_correction_of
from rounds.walk.session import Session

Does = Callable[..., Reply]


def birds(session: Session) -> int:
    flock = session.farm.station("hens")
    assert isinstance(flock, Flock)
    return flock.birds


def litres(session: Session) -> float:
    found = litres_now(session, session.farm.reservoir("res-1"))
    assert found is not None
    return found


def test_a_doing_is_shown_before_it_is_saved(session: Session, does: Does) -> None:
    said = does(session, "hens", "dead 1")
    assert said.message == "understood: 1 bird dead; flock 11 now. Enter saves it, Esc leaves it."
    assert session.history.records(kind="doing") == [] and birds(session) == 12


def test_after_dead_1_the_flock_is_one_less(session: Session, does: Does) -> None:
    assert "flock 11 now" in does(session, "hens", "dead 1", "").message
    assert birds(session) == 11
    assert session.filed.station("hens").birds == 12  # type: ignore[attr-defined]  # a flock
    (record,) = session.history.records(kind="doing")
    assert (record.item, record.value, record.person, record.round_id) == ("dead", 1, "ada", "r1")
    assert record.data["touches"] == ["flock"]
    assert record_text(session, record) == "Hen house: 1 bird dead"


def test_the_count_at_dusk_is_judged_by_the_flock_of_now(session: Session, does: Does) -> None:
    assert "Nothing is off" in does(session, "hens", "dead 1", "", "perch 11").message
    assert "Nothing is off" not in does(session, "hens", "perch 12").message


def test_taking_it_back_gives_the_bird_back(session: Session, does: Does) -> None:
    does(session, "hens", "dead 1", "", "f6")
    assert birds(session) == 12
    assert session.history.records(kind="doing") == []


def test_a_choice_that_is_asked_for_is_an_answer_and_no_doing(session: Session, does: Does, at: Any) -> None:
    dialogue = at(session, "hens")
    dialogue.conversation.questions.ask(session.item(session.farm.station("hens"), "birds"))
    dialogue.answer("dead")
    assert [(r.kind, r.item, r.value) for r in session.history.records()] == [("check", "birds", "dead")]
    dialogue.conversation.questions.ask(session.item(session.farm.station("hens"), "birds"))
    assert dialogue.answer("dead 1").message.startswith("understood: 1 bird dead")


def test_esc_leaves_it(session: Session, does: Does) -> None:
    assert does(session, "hens", "dead 1", "esc").message == "Left: nothing is written."
    assert session.history.records(kind="doing") == []


def test_a_line_typed_while_it_is_not_saved_is_not_lost(session: Session, does: Does) -> None:
    said = does(session, "hens", "dead 1", "eggs 9")
    assert not said.accepted and "Not saved yet: 1 bird dead" in said.message
    assert session.history.records() == []


def test_all_well_does_not_save_it_by_accident(session: Session, does: Does) -> None:
    said = does(session, "hens", "dead 1", "+")
    assert not said.accepted and "not saved yet" in said.message
    assert session.history.records() == []


def test_how_many_is_asked(session: Session, does: Does) -> None:
    assert does(session, "hens", "dead").message == "? How many died?"
    assert "flock 10 now" in does(session, "hens", "dead", "2", "").message
    assert birds(session) == 10


@pytest.mark.parametrize(("line", "sentence"), [
    ("dead 40", "✗ There are only 12 birds, not 40. Nothing is written."),
    ("dead -3", "✗ -3 is not a count of birds. A whole number from 1 on is expected. Nothing is written."),
    ("dead 1.5", "✗ 1.5 is not a count of birds. A whole number from 1 on is expected. Nothing is written."),
    ("dead 1 2", "✗ Two numbers, 1 and 2: which is meant? Type one, such as dead 1. Nothing is written."),
    ("dead 1 2026-12-05", "✗ 5 December 2026 12:00 has not come yet. Only what was done already is written down."),
    ("daed 1", "✗ “daed” is nothing that can be typed here. Did you mean `dead`? Nothing is written."),
    ("topped 20", "✗ `topped` makes no sense at Hen house. It is typed at Reservoir one. Nothing is written."),
])  # fmt: skip
def test_what_cannot_be_is_one_sentence_and_stays_on_the_line(
    session: Session, does: Does, line: str, sentence: str
) -> None:
    said = does(session, "hens", line)
    assert said.message == sentence and not said.accepted
    assert session.history.records() == []


def test_a_flock_written_anew_in_the_file_is_newer(session: Session, does: Does, farm_folder: Path, clock: Any) -> None:
    does(session, "hens", "dead 1", "")
    path = farm_folder / "farm.toml"
    path.write_text(path.read_text(encoding="utf-8").replace("birds = 12", "birds = 11"), encoding="utf-8")
    again = Session.open(farm_folder, clock=clock)
    assert birds(again) == 11
    does(again, "hens", "hatched 4", "")
    assert birds(again) == 15


def test_the_flock_is_known_at_the_next_start(session: Session, does: Does, farm_folder: Path, clock: Any) -> None:
    does(session, "hens", "fox 2", "")
    session.history.close()
    assert birds(Session.open(farm_folder, clock=clock)) == 10


def test_what_was_topped_up_stands_in_the_reservoir(session: Session, does: Does) -> None:
    does(session, "res-1", "dip 30")  # 150 L by the table: 5 L to a centimetre
    said = does(session, "res-1", "topped 20", "")
    assert said.message == "Saved: 20 L of Well water topped up; 170 L in it then."
    (dose,) = session.history.records(kind="dose")
    assert (dose.item, dose.value, dose.unit) == ("well", 20.0, "L")
    assert dose.data["action"] == "top_up" and dose.data["own"] is True
    assert litres(session) == 170.0
    does(session, "res-1", "drained 40", "")
    assert litres(session) == 130.0
    read = readings_of(session, "res-1")
    assert read is None  # neither pH nor EC was read since


def test_what_was_topped_up_thins_the_book(session: Session, does: Does) -> None:
    """150 L inside and 18 outside of a feed; 42 L of well water make it four fifths feed, one fifth water."""
    farm, reservoir = session.farm, session.farm.reservoir("res-1")
    does(session, "res-1", "dip 30")

    def nitrate() -> float:
        feed = feed_known(farm, farm.feeds[reservoir.feed])
        return ledger_of(farm, reservoir, feed, session.history.records(), session.now()).solution.no3

    before, of_water = nitrate(), water_known(farm, "well", session.now().date()).solution.no3
    does(session, "res-1", "topped 42", "")
    assert nitrate() == pytest.approx(0.8 * before + 0.2 * of_water)


def test_which_water_is_asked_where_there_are_two(two_waters: Session, does: Does) -> None:
    asked = does(two_waters, "res-1", "topped 20")
    assert asked.message == "? Which water? 1 Well water · 2 Rain water"
    assert "Rain water" in does(two_waters, "res-1", "topped 20", "2", "").message
    assert "Rain water" in does(two_waters, "res-1", "topped 20 rain water", "").message
    assert [record.item for record in two_waters.history.records(kind="dose")] == ["rain", "rain"]


def test_readings_from_before_do_not_count_any_more(session: Session, does: Does) -> None:
    does(session, "res-1", "ph 6.9 ec 1.2 t 20 dip 30")
    assert {"ph", "ec"} <= set(fresh_records(session, "res-1"))
    does(session, "res-1", "topped 20", "")
    assert set(fresh_records(session, "res-1")) & {"ph", "ec"} == set()


def test_a_correction_that_was_offered_before_no_longer_holds(session: Session, does: Does) -> None:
    does(session, "res-1", "ph 6.9 ec 1.2 t 20 dip 30")
    assert offer(session, session.farm.reservoir("res-1"), None) is not None
    assert open_correction_of(session, "res-1") is not None
    does(session, "res-1", "topped 20", "")
    assert open_correction_of(session, "res-1") is None


@pytest.mark.parametrize(("line", "sentence"), [
    ("topped 400", "✗ 400 L cannot be. More than 0 and at most 220 L is expected. Nothing is written."),
    ("topped -3", "✗ -3 L cannot be. More than 0 and at most 220 L is expected. Nothing is written."),
    ("topped 20 kg", "✗ 20 kg: in which unit? Type it with L, such as 20 L. Nothing is written."),
    ("topped 20 rain", "✗ “rain” is no water at Reservoir one."),
    ("drained 200", "✗ 200 L cannot be drained: about 150 L stand in Reservoir one. Nothing is written."),
    ("dead 1", "✗ `dead` makes no sense at Reservoir one. It is typed at Hen house. Nothing is written."),
])  # fmt: skip
def test_what_cannot_be_of_water_is_one_sentence(session: Session, does: Does, line: str, sentence: str) -> None:
    does(session, "res-1", "dip 30")
    said = does(session, "res-1", line)
    assert said.message.startswith(sentence) and not said.accepted
    assert session.history.records(kind="dose") == []
