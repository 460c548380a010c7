"""Measuring the farm: what is asked, what is kept through a kill, what counts afterwards, and what is refused."""

from __future__ import annotations

import math
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from rounds.book.composition import water_known
from rounds.book.feed_tests import feed_tests_of
from rounds.book.measured import whole_table
from rounds.book.measurements import BUCKET, JAR_TEST, PUMP, PUMP_OFF, TITRATION, TUB, Measured
from rounds.book.offer import Readings
from rounds.cli import main
from rounds.errors import Refused, RoundsError
from rounds.farm.stations import LyingCylinder, Tank
from rounds.farm.volumes import dip_to_litres
from rounds.history.record import Draft
from rounds.walk.answering import take_back
from rounds.walk.at_correction import AtCorrection
from rounds.walk.at_station import AtStation
from rounds.walk.daybook.sentences import record_text
from rounds.walk.dialogue import Anew, ToMeasure, ToStation, ToWalk
from rounds.walk.measuring.at_measurement import AtMeasurement
from rounds.walk.measuring.differences import differences
from rounds.walk.measuring.hints import guess_text
from rounds.walk.measuring.kinds import kind_named, subject_of
from rounds.walk.measuring.leading import at_measurement, led_to, measured_with
from rounds.walk.measuring.listing import numbers
from rounds.walk.offering import buckets_before, work_out
from rounds.walk.open_corrections import open_correction_of
from rounds.walk.session import Session
from rounds.walk.stops import stop_at
from rounds.walk.visit import Visit

TITRATED = ("4.03", "1", "7.5", "2 6.3", "3 5.6", "3.5 4.52")
"""Answers of a titration: buffer, litres, start, and acid in all with the pH it shows."""


def at(session: Session, what: str, of: str = "") -> AtMeasurement:
    kind = kind_named(what)
    return AtMeasurement(session, kind, subject_of(session.farm, kind, of))


def entered(session: Session, what: str, *lines: str, of: str = "") -> AtMeasurement:
    dialogue = at(session, what, of)
    for line in lines:
        said = dialogue.answer(line)
        assert said.accepted, said.message
    return dialogue


def refused(dialogue: AtMeasurement, line: str) -> str:
    """What is said to a line that is refused: what was entered stays, and the same is asked again."""
    before, question = list(dialogue.entered), dialogue.question
    said = dialogue.answer(line)
    assert not said.accepted and dialogue.entered == before and dialogue.question == question
    return said.message


# The titration.


def test_a_titration_gives_the_alkalinity_with_its_doubt_and_goes_before_the_analysis(session: Session) -> None:
    """3.5 mL x 1.324 mol/L = 4.63 meq/L to pH 4.50 by the buffer, where the file says 4.0."""
    before = water_known(session.farm, "well", date(2026, 11, 25))
    dialogue = entered(session, TITRATION, *TITRATED)
    assert (
        dialogue.question.lines[0] == ("Well water: alkalinity 4.63 meq/L, give or take 0.29 (232 mg/L as CaCO3).")
        and dialogue.question.lines[-1] == "Before: 4.00 meq/L, by farm.toml."
    )
    assert dialogue.answer("").way == ToWalk()
    after = water_known(session.farm, "well", date(2026, 11, 25))
    assert before.alkalinity_meq_l == 4.0 and before.doubt > 0.3
    assert after.alkalinity_meq_l == pytest.approx(4.63, abs=0.01) and after.doubt == pytest.approx(0.04)
    assert session.farm.source_of("well", TITRATION) == "measured 25 November by titration"
    assert session.filed.waters["well"].alkalinity_meq_l == 4.0


def test_the_record_names_the_meter_and_what_it_was_worked_out_from(session: Session) -> None:
    entered(session, TITRATION, *TITRATED, "")
    (record,) = session.history.records(kind="measured")
    assert (record.station, record.item, record.unit, record.meter) == ("", "measured:titration:well", "meq/L", "pen-1")
    assert record.data["rows"] == [[0.0, 7.48], [2.0, 6.28], [3.0, 5.58], [3.5, 4.5]]
    assert record.data["touches"] == [], "an older program pours on all the same: the water itself has not changed"
    assert session.history.records(kind="measuring") == []
    assert (
        record_text(session, record) == "alkalinity of Well water by titration: 4.633 meq/L (replaces an earlier entry)"
    )


@pytest.mark.parametrize(
    ("before", "line", "said"),
    [
        ((), "3.2", "more than 0.3 off"), ((), "ph", "not a number"), ((), "", "no number"),
        ((), "15", "not believable"),
        (("4.01",), "0", "A sample of 0 L"), (("4.01",), "100 L", "not believable"),
        (("4.01", "1"), "4.4", "no alkalinity"),
        (("4.01", "1", "7.5"), "2", "Two numbers"), (("4.01", "1", "7.5"), "2 3 4", "Two numbers"),
        (("4.01", "1", "7.5"), "0 7.5", "below its start"), (("4.01", "1", "7.5"), "-1 6", "below its start"),
        (("4.01", "1", "7.5", "2 6.3"), "1.5 6.0", "ends below its start"),
        (("4.01", "1", "7.5", "2 6.3"), "2.5 6.9", "acid takes it down"),
        (("4.01", "1", "7.5", "2 6.3"), "5 3.1", "past the end"),
        (("4.01", "1", "7.5"), "200 5", "at most 100 mL"),
    ],
)  # fmt: skip
def test_what_is_no_titration_is_a_sentence_and_what_was_entered_is_kept(
    session: Session, before: tuple[str, ...], line: str, said: str
) -> None:
    dialogue = entered(session, TITRATION, *before)
    assert said in refused(dialogue, line)
    assert at(session, TITRATION).entered == dialogue.entered


def test_without_an_acid_that_titrates_it_says_what_to_enter(farm_folder: Path, clock: Any) -> None:
    shelf = farm_folder / "shelf.toml"
    shelf.write_text(
        shelf.read_text(encoding="utf-8").replace('agent = "nitric"', 'agent = "citric"'), encoding="utf-8"
    )
    with pytest.raises(RoundsError, match="no acid on the shelf"):
        at(Session.open(farm_folder, clock=clock), TITRATION)


def test_a_newer_analysis_goes_before_an_older_titration(farm_folder: Path, clock: Any) -> None:
    entered(Session.open(farm_folder, clock=clock), TITRATION, *TITRATED, "")
    farm = farm_folder / "farm.toml"
    text = farm.read_text(encoding="utf-8")
    for day, meq_l in (("2026-11-24", 4.63), ("2026-11-26", 4.0)):
        farm.write_text(text.replace("ph = 7.5\n", f"ph = 7.5\nanalysed_on = {day}\n", 1), encoding="utf-8")
        known = water_known(Session.open(farm_folder, clock=clock).farm, "well", date(2026, 11, 27))
        assert known.alkalinity_meq_l == pytest.approx(meq_l, abs=0.01)


# The tub.

A_TUB = ("", "", "2.1", "4", "6 10", "10.5 20", "end")
"""Empty, ten litres at a time: 10 L at 2.1 cm, 20 at 4, 30 at 6, 50 at 10.5."""


def test_a_tub_by_jug_is_a_dip_table_from_which_every_volume_follows(session: Session) -> None:
    """At 5 cm half-way between 20 and 30 L: 25 L, where the file's even table says 5/44 x 220 = 25 L; at 10.5 cm 50 L,
    where it says 52.5."""
    reservoir = session.farm.reservoir("res-1")
    assert dip_to_litres(reservoir, 10.5)[0] == pytest.approx(52.5)
    dialogue = entered(session, TUB, *A_TUB)
    assert dialogue.question.lines[0] == "Reservoir one: 5 dips, to 10.5 cm and 50 L."
    dialogue.answer("")
    measured = session.farm.reservoir("res-1")
    assert [round(dip_to_litres(measured, cm)[0], 6) for cm in (0.0, 2.1, 5.0, 10.5)] == [0.0, 10.0, 25.0, 50.0]
    (record,) = session.history.records(kind="measured")
    assert (record.station, record.item, record.value, record.unit) == ("res-1", "measured:tub", 50.0, "L")
    assert record.data["rows"] == [[0.0, 0.0], [2.1, 10.0], [4.0, 20.0], [6.0, 30.0], [10.5, 50.0]]


def test_above_the_last_dip_the_table_goes_on_to_the_brim(session: Session) -> None:
    """From 10 L at 2.1 cm to 50 L at 10.5 cm: 0.21 cm a litre; 170 L more are 35.7 cm, at 46.2 cm full."""
    entered(session, TUB, *A_TUB, "")
    measured = session.farm.reservoir("res-1")
    assert measured.dip_table[-1] == (46.2, 220.0) and measured.full_volume_l == 220.0


def test_a_tub_that_holds_more_than_the_file_says_holds_more(session: Session) -> None:
    entered(session, TUB, "", "100", "20", "40", "50 40", "end", "")
    assert session.farm.reservoir("res-1").full_volume_l == 240.0
    assert dip_to_litres(session.farm.reservoir("res-1"), 50.0)[0] == 240.0


def test_a_lying_drum_measured_half_full_goes_on_as_its_form_says() -> None:
    """A drum of 100 cm and 127.3 cm length holds 1000 L; measured up to the middle, its upper half mirrors it."""
    form = LyingCylinder(diameter_cm=100.0, length_cm=400.0 / 3.14159265)
    drum = Tank(id="a", name="A", water="w", full_volume_l=1000.0, shape=form)
    rows = [(cm, dip_to_litres(drum, cm)[0]) for cm in (0.0, 10.0, 20.0, 30.0, 40.0, 50.0)]
    top_cm, top_l = whole_table(drum, rows)[-1]
    assert top_l == 1000.0 and top_cm == pytest.approx(100.0, abs=3.0)


@pytest.mark.parametrize(
    ("before", "line", "said"),
    [
        ((), "500", "A start of 500 L"), ((), "-1", "not believable"), ((), "much", "not a number"),
        (("",), "0", "A jug of 0 L"),
        (("", ""), "", "dip is expected"), (("", ""), "1 2 3", "dip is expected"), (("", ""), "deep", "not a number"),
        (("", "", "2.1", "4"), "3.5", "The dip fell from 4 to 3.5 cm while water was poured in"),
        (("", "", "2.1", "4"), "4", "still 4 cm"), (("", "", "2.1"), "end", "no table yet"),
        (("", "", "2.1", "4"), "6 -3", "not believable"), (("", "", "2.1", "4"), "5000", "not believable"),
    ],
)  # fmt: skip
def test_a_tub_whose_dips_fall_is_a_sentence_and_what_was_entered_is_kept(
    session: Session, before: tuple[str, ...], line: str, said: str
) -> None:
    dialogue = entered(session, TUB, *before)
    assert said in refused(dialogue, line)
    assert at(session, TUB).entered == dialogue.entered


def test_it_is_written_into_the_file_only_after_the_difference_was_shown(session: Session, farm_folder: Path) -> None:
    path = farm_folder / "farm.toml"
    path.write_text("# mine\n" + path.read_text(encoding="utf-8"), encoding="utf-8")
    before = path.read_text(encoding="utf-8")
    dialogue = entered(session, TUB, *A_TUB, "")
    assert dialogue.question.code == "into-file" and path.read_text(encoding="utf-8") == before
    assert "-dip_table = [[0, 0], [44, 220]]" in dialogue.question.lines
    assert "+dip_table = [[0, 0], [2.1, 10], [4, 20], [6, 30], [10.5, 50], [46.2, 220]]" in dialogue.question.lines
    assert "w writes it" in refused_at_the_file(dialogue, "yes")
    assert dialogue.answer("w").way == ToWalk()
    after = path.read_text(encoding="utf-8")
    assert after == before.replace(
        "[[0, 0], [44, 220]]", "[[0, 0], [2.1, 10], [4, 20], [6, 30], [10.5, 50], [46.2, 220]]"
    )
    assert at(session, TUB).question.choices[-1].key == "esc"
    assert "w" not in [each.key for each in at(session, TUB).question.choices], "nothing is left to be written"


def refused_at_the_file(dialogue: AtMeasurement, line: str) -> str:
    said = dialogue.answer(line)
    assert not said.accepted and said.way is None
    return said.message


def test_left_out_of_the_file_it_counts_and_can_be_written_later(session: Session, farm_folder: Path) -> None:
    path = farm_folder / "farm.toml"
    before = path.read_text(encoding="utf-8")
    dialogue = entered(session, TUB, *A_TUB, "")
    assert dialogue.answer("").way == ToWalk() and path.read_text(encoding="utf-8") == before
    again = at(session, TUB)
    assert "w" in [each.key for each in again.question.choices]
    assert again.answer("w").message == "This would change in farm.toml." and path.read_text(encoding="utf-8") == before
    assert again.answer("w").way == ToWalk() and "46.2" in path.read_text(encoding="utf-8")


def test_a_file_that_was_changed_meanwhile_is_not_overwritten(session: Session, farm_folder: Path) -> None:
    path = farm_folder / "farm.toml"
    dialogue = entered(session, TUB, *A_TUB, "")
    path.write_text(path.read_text(encoding="utf-8") + "# changed\n", encoding="utf-8")
    assert "has changed since the preview" in refused_at_the_file(dialogue, "w")


# The pump.


def test_a_pump_by_jug_and_clock_is_used_wherever_its_flow_is(session: Session) -> None:
    """10 L in 40, 41 and 39 s: 15.00, 14.63 and 15.38 L/min, the mean 15.01."""
    dialogue = entered(session, PUMP, "10 40", "10 41", "10 39")
    assert dialogue.question.lines[0].startswith("Reservoir one: 15.0 L/min, between 14.")
    dialogue.answer("")
    assert session.farm.reservoir("res-1").pump_l_min == pytest.approx(15.01, abs=0.01)
    assert session.farm.source_of("res-1", PUMP) == "measured 25 November by jug and clock"
    minutes = [step.wait_min for step in correction_of(session).steps if step.action == "circulate"]
    assert minutes and min(minutes) >= round(150.0 / 15.0)


def correction_of(session: Session) -> Any:
    at = session.now()
    return work_out(session, "res-1", Readings(at=at, ph=6.9, ec_ms_cm=1.1, temperature_c=20.0, dip_cm=34.0))


def test_the_one_that_is_not_like_the_others_is_caught_once_more_and_left_out(session: Session) -> None:
    dialogue = entered(session, PUMP, "10 40", "10 41", "10 20")
    assert "once more" in dialogue.question.text
    assert dialogue.answer("10 39").accepted
    assert dialogue.question.lines[1] == "One by one: 15.0 · 14.6 · 15.4."


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("10", "Two numbers"), ("", "Two numbers"), ("10 30 20", "Two numbers"), ("10 x", "not a number"),
        ("0 30", "A jug of 0 L"), ("10 0", "A time of 0 s"), ("10 -30", "A time of -30 s"),
        ("900 30", "A jug of 900 L"),
    ],
)  # fmt: skip
def test_what_is_no_flow_is_a_sentence_and_what_was_entered_is_kept(session: Session, line: str, said: str) -> None:
    assert said in refused(entered(session, PUMP, "10 40"), line)


# The pump off.


def test_what_runs_back_replaces_what_was_guessed_of_pipes_and_channels(session: Session, clock: Any) -> None:
    """The table has 5 L a cm: from 34 to 37 cm 15 L ran back, where 6 + 4 + 4 = 14 L are guessed; 4 L in the roots."""
    assert session.farm.outside_volume_l(session.farm.reservoir("res-1")) == 18.0
    dialogue = entered(session, PUMP_OFF, "34", "")
    assert "It is too early: 5:00 to go." in refused(dialogue, "37")
    clock.go_on(minutes=4, seconds=59)
    assert dialogue.question.lines[-1] == "0:01 to go."
    clock.go_on(seconds=1)
    for line in ("37", ""):
        assert dialogue.answer(line).accepted
    assert dialogue.question.lines[0] == "Reservoir one: 15.0 L ran back, give or take 3.5."
    dialogue.answer("")
    reservoir = session.farm.reservoir("res-1")
    assert session.farm.outside_volume_l(reservoir) == pytest.approx(15.0 + 4.0)
    assert reservoir.pipes_l == pytest.approx(6.0 * 15.0 / 14.0)
    assert session.farm.outside_sd_l(reservoir) == pytest.approx(math.hypot(2.15, 0.6), abs=0.01)
    assert "measured 25 November with the pump off" in " ".join(correction_of(session).explain)


def test_the_five_minutes_go_on_through_a_kill(farm_folder: Path, clock: Any) -> None:
    entered(Session.open(farm_folder, clock=clock), PUMP_OFF, "34", "")
    clock.go_on(minutes=3)
    again = at(Session.open(farm_folder, clock=clock), PUMP_OFF)
    assert again.seconds_left == 120.0
    clock.go_on(minutes=2)
    assert again.answer("37").accepted


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("33", "fell from 34 to 33 cm: water is leaving"),
        ("60", "cannot be dipped"),
        ("", "no number"),
        ("-2", "not believable"),
    ],
)
def test_a_dip_that_falls_with_the_pump_off_is_a_sentence(session: Session, clock: Any, line: str, said: str) -> None:
    dialogue = entered(session, PUMP_OFF, "34", "")
    clock.go_on(minutes=6)
    assert said in refused(dialogue, line)


def test_a_titration_goes_before_a_strip_and_what_else_was_read_of_the_water_stays(
    farm_folder: Path, clock: Any
) -> None:
    path = farm_folder / "farm.toml"
    text = path.read_text(encoding="utf-8").replace("format = 1", "format = 2", 1)
    i, j = text.index("alkalinity_meq_l = 4.0"), text.index("[[stations]]")
    strip = '{ value = 12, unit = "dH", by = "strip" }'
    text = f"{text[:i]}hardness = {strip}\nalkalinity = {strip}\n\n{text[j:]}"
    path.write_text(text, encoding="utf-8")
    session = Session.open(farm_folder, clock=clock)
    before = water_known(session.farm, "well", date(2026, 11, 25))
    entered(session, TITRATION, *TITRATED, "")
    after = water_known(session.farm, "well", date(2026, 11, 25))
    assert before.by_strip and not after.by_strip and after.doubt < before.doubt
    assert after.alkalinity_meq_l == pytest.approx(4.63, abs=0.01)
    assert session.farm.waters["well"].hardness == session.filed.waters["well"].hardness


def test_a_bucket_of_longer_ago_still_teaches_what_its_bottles_do(session: Session, clock: Any) -> None:
    entered(session, BUCKET, *A_BUCKET, "25 1.6", "25 1.9 6.1", "")
    clock.go_on(days=200)
    assert [record.kind for record in buckets_before(session, session.now())] == ["measured"]
    assert buckets_before(session, session.now().replace(year=2025)) == []


# Kept, taken up, taken back.


def test_whatever_was_entered_is_taken_up_after_a_kill(farm_folder: Path, clock: Any) -> None:
    killed = entered(Session.open(farm_folder, clock=clock), TITRATION, *TITRATED[:4])
    clock.go_on(minutes=20)
    again = at(Session.open(farm_folder, clock=clock), TITRATION)
    assert again.entered == killed.entered and again.question == killed.question
    assert again.taken_up.startswith("Taken up where it stood on 25 November at 06:00")
    for line in (*TITRATED[4:], ""):
        assert again.answer(line).accepted
    assert Session.open(farm_folder, clock=clock).farm.source_of("well", TITRATION) != ""


def test_a_kill_before_the_number_counts_asks_again_whether_it_does(farm_folder: Path, clock: Any) -> None:
    entered(Session.open(farm_folder, clock=clock), TITRATION, *TITRATED)
    again = Session.open(farm_folder, clock=clock)
    assert again.farm.measured == {} and at(again, TITRATION).question.code == "outcome"


def test_the_last_answer_is_taken_back_and_all_of_them_by_anew(session: Session) -> None:
    dialogue = entered(session, TITRATION, *TITRATED[:4])
    assert dialogue.press("f6").message.startswith("Taken back")
    assert len(dialogue.entered) == 3 and dialogue.question.code == "measure-poured"
    assert dialogue.answer("anew").message == "From the start."
    assert dialogue.entered == [] and at(session, TITRATION).entered == []
    assert dialogue.press("f6").message == "Nothing was entered yet."
    assert dialogue.press("esc").way == ToWalk()
    assert [r.data["answers"] for r in session.history.records(kind="measuring")] == [[]]


def test_taken_back_in_the_daybook_the_file_counts_again_and_what_was_entered_stands(session: Session) -> None:
    entered(session, TITRATION, *TITRATED, "")
    (record,) = session.history.records(kind="measured")
    take_back(session, record)
    assert session.farm.measured == {} and session.farm.waters["well"].alkalinity_meq_l == 4.0
    assert len(at(session, TITRATION).entered) == len(TITRATED)


def test_the_newest_measurement_counts(session: Session, clock: Any) -> None:
    entered(session, TITRATION, *TITRATED, "")
    clock.go_on(days=1)
    dialogue = entered(session, TITRATION, "4.01", "1", "7.5", "4 4.5")
    assert dialogue.question.lines[-1] == "Before: 4.63 meq/L, measured 25 November by titration."
    dialogue.answer("")
    assert session.farm.measured["well", TITRATION].value == pytest.approx(4 * 1.324, abs=0.02)
    assert session.farm.source_of("well", TITRATION) == "measured 26 November by titration"


def test_what_was_measured_years_ago_still_counts(farm_folder: Path, clock: Any) -> None:
    entered(Session.open(farm_folder, clock=clock), TITRATION, *TITRATED, "")
    clock.go_on(days=900)
    later = Session.open(farm_folder, clock=clock)
    later.numbers.read_all()
    assert later.farm.measured["well", TITRATION].at.year == 2026
    assert water_known(later.farm, "well", later.now().date()).doubt == 0.15, "a water is not the same after years"


def test_what_is_old_still_counts_beside_what_was_measured_just_now(farm_folder: Path, clock: Any) -> None:
    entered(Session.open(farm_folder, clock=clock), TITRATION, *TITRATED, "")
    clock.go_on(days=900)
    later = Session.open(farm_folder, clock=clock)
    later.numbers.read_all()
    entered(later, PUMP, "10 40", "10 41", "10 39", "")
    assert {what for _, what in later.farm.measured} == {TITRATION, PUMP}


def test_another_window_sees_what_was_measured(farm_folder: Path, clock: Any) -> None:
    mine, other = Session.open(farm_folder, clock=clock), Session.open(farm_folder, clock=clock)
    assert mine.farm.measured == {}
    entered(other, TITRATION, *TITRATED, "")
    mine.gate.refresh()
    assert mine.farm.measured["well", TITRATION].unit == "meq/L"


@pytest.mark.parametrize(
    ("station", "item", "value", "rows"),
    [
        ("gone", "measured:pump", 9.0, []), ("hens", "measured:pump", 9.0, []), ("res-1", "measured:pump", 0.0, []),
        ("res-1", "measured:pump", -3.0, []), ("res-1", "measured:pump", 1e8, []),
        ("", "measured:titration:gone", 2.0, []),
        ("", "measured:titration:well", -2.0, []), ("", "measured:titration:well", 1e6, []),
        ("res-1", "measured:pump-off", -1.0, []), ("res-1", "measured:pump-off", 1e8, []),
        ("res-1", "measured:tub", 50.0, []), ("res-1", "measured:tub", 50.0, [[0.0, 0.0]]),
        ("res-1", "measured:tub", 50.0, [[0.0, 0.0], [5.0, 20.0], [4.0, 30.0]]),
        ("res-1", "measured:tub", 50.0, [[0.0], [5.0, 20.0]]),
        ("hens", "measured:tub", 50.0, [[0.0, 0.0], [5.0, 20.0]]),
        ("res-1", "measured:", 5.0, []), ("res-1", "measured:moonlight", 5.0, []),
    ],
)  # fmt: skip
def test_a_record_that_does_not_fit_the_farm_any_more_changes_nothing(
    session: Session, station: str, item: str, value: float, rows: list[list[float]]
) -> None:
    data = {"sd": 0.1, "how": "by hand", "rows": rows}
    session.save(Draft(kind="measured", station=station, item=item, value=value, measured_at=session.now(), data=data))
    farm, filed = session.farm, session.filed
    assert (farm.stations, farm.waters) == (filed.stations, filed.waters)
    assert not set(farm.measured) & {("res-1", PUMP), ("res-1", TUB), ("res-1", PUMP_OFF), ("well", TITRATION)}
    assert list(numbers(session)) and list(differences(session)) == []


# Where the files and what was measured are too far apart.


@pytest.mark.parametrize(
    ("what", "lines", "said"),
    [
        (PUMP, ("10 30", "10 30", "10 30"), ""),  # 20 L/min, as the file says
        (PUMP, ("10 33", "10 33", "10 33"), ""),  # 18.2, within 10 % of the file's guess and 2 % of the jug
        (PUMP, ("10 60", "10 61", "10 59"), "flow of the pump: farm.toml says 20 L/min, 10 L/min were measured"),
        (TITRATION, ("4.01", "1", "7.5", "3.1 4.5"), ""),
        (TITRATION, ("4.01", "1", "7.5", "12 4.5"), "alkalinity: farm.toml says 4 meq/L, 16 meq/L were measured"),
        (TUB, ("", "50", "10", "20.2", "29.8", "end"), ""),
        (TUB, ("", "50", "7", "14", "21", "28", "end"), "dip table: farm.toml says 140 L, 200 L were measured"),
    ],
)  # fmt: skip
def test_a_difference_beyond_both_doubts_is_said(
    session: Session, what: str, lines: tuple[str, ...], said: str
) -> None:
    entered(session, what, *lines, "")
    found = list(differences(session))
    assert len(found) == bool(said) and all(said in each for each in found)


def test_check_says_it(farm_folder: Path, clock: Any, capsys: pytest.CaptureFixture[str]) -> None:
    with (session := Session.open(farm_folder, clock=clock)).history:
        entered(session, PUMP, "10 60", "10 61", "10 59", "")
    main(["check", str(farm_folder)])
    assert "! Reservoir one, flow of the pump: farm.toml says 20 L/min" in capsys.readouterr().out


# Who, and from where.


def test_a_helper_measures_nothing(farm_folder: Path, clock: Any) -> None:
    with pytest.raises(Refused, match="grower's to measure"):
        at(Session.open(farm_folder, person_id="ben", clock=clock), TITRATION)


def test_a_line_at_a_station_leads_there_and_back(session: Session) -> None:
    to = led_to(session, "measure titration", "res-1")
    assert to == ToMeasure("titration", "well", "res-1")
    assert at_measurement(session, to, None).press("esc").way == ToStation("res-1")
    assert led_to(session, "measure titration well") == ToMeasure("titration", "well", "")
    assert led_to(session, "measure bucket", "res-1") == ToMeasure("bucket", "leaf", "res-1")


@pytest.mark.parametrize(
    ("line", "said"), [("measure moon", "nothing to measure"), ("measure titration sea", "one of these: well")]
)
def test_what_cannot_be_measured_is_a_sentence(session: Session, line: str, said: str) -> None:
    with pytest.raises(RoundsError, match=said):
        led_to(session, line)


# The bucket.

A_BUCKET = ("", "0.5", "25 0.9", "25 1.2 6.3")
"""Ten litres, plain water, and 2.5 mL of A and of B to the litre: 0.16 and 0.12 mS/cm for each."""


def test_a_bucket_tells_what_a_millilitre_of_each_part_does(session: Session) -> None:
    """First A 0.4 by 2.5 mL/L, then 0.16 by 1.4; B 0.3 by 2.5, then 0.19 by 1.4: 0.56/3.9 and 0.49/3.9 mS/cm per mL/L.
    The band of 1.5 to 1.9 has its middle at 1.7: 1.2 more than the water, of (0.1436 + 0.1256) x 5 = 1.35 at full.
    Two differences of 0.014 by the meter, 2 % by syringe and bucket: 0.006, at 90 % 0.010."""
    dialogue = entered(session, BUCKET, *A_BUCKET)
    assert dialogue.question.text == "Stir in 18 mL of Leaf A. mL and EC?", "(1.7 - 1.2) / 1.4 of 5 mL/L in 10 L"
    for line in ("14 1.36", "14 1.5 6.1"):
        assert dialogue.answer(line).accepted
    assert dialogue.question.code == "measure-bucket-part", "1.5 is not yet nine tenths of 1.7"
    dialogue.press("f6")
    assert dialogue.answer("14 1.55 6.1").accepted
    assert dialogue.question.lines[:4] == (
        "Leaf A: 0.144 mS/cm for each mL per litre, give or take 0.010.",
        "Leaf B: 0.126 mS/cm for each mL per litre, give or take 0.010.",
        "EC 1.7 in this water: 4.5 mL of Leaf A and 4.5 mL of Leaf B to the litre.",
        "The bucket ended at 1.55 mS/cm, pH 6.1.",
    )
    dialogue.answer("")
    (record,) = session.history.records(kind="measured")
    assert (record.item, record.meter) == ("measured:bucket:leaf", "pen-1")
    assert record.data["parts"]["leaf-a"]["per_ml_l"] == pytest.approx(0.56 / 3.9, abs=1e-4)
    assert record.data["parts"]["leaf-b"]["per_ml_l"] == pytest.approx(0.49 / 3.9, abs=1e-4)
    assert Measured(record).parts["leaf-a"][0] == pytest.approx(0.1436, abs=1e-4)
    (tried,) = feed_tests_of([Measured(record)]).buckets
    assert (tried.litres, tried.water, tried.ec_water_ms_cm) == (10.0, "well", 0.5)
    assert [(each.product, each.ml, each.ec_after_ms_cm) for each in tried.pours] == [
        ("leaf-a", 25.0, 0.9), ("leaf-b", 25.0, 1.2), ("leaf-a", 14.0, 1.36), ("leaf-b", 14.0, 1.55),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("before", "line", "said"),
    [
        ((), "0", "A bucket of 0 L"), (("",), "9", "A water's EC of 9"), (("",), "x", "not a number"),
        (("", "0.5"), "25", "Expected: mL and EC"), (("", "0.5"), "25 0.9 6", "Expected: mL and EC"),
        (("", "0.5"), "25 0.4", "The EC fell from 0.5 to 0.4 mS/cm with Leaf A in"),
        (("", "0.5"), "0.9 25", "mL come first"), (("", "0.5", "25 0.9"), "25 0.8 6", "The EC fell from 0.9 to 0.8"),
        (("", "0.5", "25 0.9"), "25", "Expected: mL, EC and pH"), (("", "0.5", "25 0.9"), "25 1.2 61", "A pH of 61"),
    ],
)  # fmt: skip
def test_a_bucket_whose_ec_falls_is_a_sentence_and_what_was_entered_is_kept(
    session: Session, before: tuple[str, ...], line: str, said: str
) -> None:
    dialogue = entered(session, BUCKET, *before)
    assert said in refused(dialogue, line)
    assert at(session, BUCKET).entered == dialogue.entered


# The jar.


def asks_for_a_jar(session: Session, clock: Any) -> None:
    clock.go_on(minutes=1)
    step = {"action": "jar_test", "product": "nitric-8", "amount": 0.5, "unit": "mL/L", "text": "Jar test: stir."}
    offer = Draft(kind="correction", station="res-1", measured_at=session.now(), data={"steps": [step]})
    session.save(offer)


def test_a_jar_is_read_a_minute_after_stirring_and_is_that_of_the_correction(session: Session, clock: Any) -> None:
    asks_for_a_jar(session, clock)
    dialogue = entered(session, JAR_TEST, "")
    assert "1:00 to go" in refused(dialogue, "5.8")
    clock.go_on(minutes=1)
    assert "cannot be" in refused(dialogue, "58")
    assert dialogue.answer("5.8").accepted
    assert dialogue.answer("").way == Anew("res-1")
    (record,) = session.history.records(item="jar")
    assert (record.kind, record.value, record.meter) == ("reading", 5.8, "pen-1")
    assert (record.data["product"], record.data["ml_per_l"]) == ("nitric-8", 0.5)
    assert session.history.records(kind="measured") == []


def test_without_a_correction_that_asks_there_is_no_jar(session: Session) -> None:
    with pytest.raises(RoundsError, match="none asks for it now"):
        at(session, JAR_TEST)


def test_what_was_stirred_for_another_correction_does_not_count_for_this_one(session: Session, clock: Any) -> None:
    asks_for_a_jar(session, clock)
    entered(session, JAR_TEST, "")
    asks_for_a_jar(session, clock)
    assert at(session, JAR_TEST).entered == []


# What is said of guesses.


def test_beside_an_item_it_says_what_is_a_guess_until_it_is_measured(session: Session) -> None:
    assert guess_text(session, "res-1", "pump") == "The pump's flow is a guess: measure it: `measure pump`."
    assert guess_text(session, "res-1", "dip") == (
        "The water in channels and pipes is a guess: measure it: `measure pump-off`."
    ), "there is a dip table in the file, which may well have been measured"
    entered(session, PUMP, "10 40", "10 41", "10 39", "")
    assert guess_text(session, "res-1", "pump") == ""
    assert guess_text(session, "res-1", "jar") == "`measure jar` guides through it."
    assert guess_text(session, "hens", "dip") == guess_text(session, "res-1", "ph") == ""


def test_measure_alone_lists_what_there_is_with_what_is_known(session: Session) -> None:
    entered(session, PUMP, "10 40", "10 41", "10 39", "")
    assert led_to(session, "measure", "res-1") == (
        "Type `measure` and one of: pump (measured 25 November by jug and clock), tub (2 dips, by farm.toml), "
        "pump-off (14 L in pipes and channels, a guess in farm.toml), titration (4.00 meq/L, by farm.toml), "
        "bucket (not known), jar (the reservoir's own water with its dose)."
    )
    assert "titration (a litre of water, working acid to pH 4.5)" in str(led_to(session, "measure", "hens"))


def test_a_product_of_the_shelf_leads_to_what_is_measured_with_it(session: Session) -> None:
    shelf = session.farm.shelf
    assert measured_with(session.farm, shelf["leaf-b"]) == ToMeasure(BUCKET, "leaf")
    assert measured_with(session.farm, shelf["nitric-8"]) == ToMeasure(TITRATION, "well")
    assert "acids are what is measured with" in str(measured_with(session.farm, shelf["koh-5"]))


def test_the_list_says_what_was_measured_and_what_is_a_guess(session: Session) -> None:
    entered(session, PUMP, "10 40", "10 41", "10 39", "")
    entered(session, TITRATION, *TITRATED[:2])
    told = [each.text for each in numbers(session)]
    assert told == [
        "pump       Reservoir one: 15 L/min (give or take 0.68), measured 25 November by jug and clock",
        "tub        Reservoir one: 2 dips, by farm.toml",
        "pump-off   Reservoir one: 14 L in pipes and channels, a guess in farm.toml",
        "titration  Well water: 4.00 meq/L, by farm.toml; a measurement is begun",
        "bucket     Leaf feed: not known",
    ]


def test_a_correction_leads_to_its_jar_and_stays_open(session: Session, clock: Any) -> None:
    asks_for_a_jar(session, clock)
    found = open_correction_of(session, "res-1")
    assert found is not None
    said = AtCorrection(session, found, None).answer("measure jar")
    assert said.way == ToMeasure(JAR_TEST, "res-1", "res-1") and open_correction_of(session, "res-1") is not None
    assert "nothing to measure" in AtCorrection(session, found, None).answer("measure moon").message


def test_a_station_warns_of_what_is_not_written_down_before_it_leads_away(session: Session) -> None:
    station = AtStation(Visit(session=session, stop=stop_at(session, "morning", "res-1", everything=True)))
    assert not station.answer("ph 60").accepted or station.not_saved
    assert station.answer("measure pump").way is None
    assert station.answer("measure pump").way == ToMeasure(PUMP, "res-1", "res-1")
