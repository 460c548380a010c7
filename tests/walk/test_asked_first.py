"""What a correction asks before acid or base: answered by a pH, skipped, or typed at the station."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from rounds.history.record import Draft, Record
from rounds.walk.answering import take_back
from rounds.walk.at_correction import AtCorrection
from rounds.walk.correction_text import assumed_text, commands_of, line_text, step_details
from rounds.walk.daybook.sentences import record_text
from rounds.walk.dialogue import Anew, ToStation
from rounds.walk.fresh import readings_of
from rounds.walk.guide import Guide
from rounds.walk.offering import offer
from rounds.walk.open_corrections import OpenCorrection, open_correction_of, wants_offer
from rounds.walk.session import Session
from rounds.walk.stops import stop_at
from rounds.walk.visit import Taken, Visit

JAR = {"action": "jar_test", "product": "nitric-8", "amount": 0.25, "unit": "mL/L", "text": "Jar test.",
       "cautions": ["Acid into water.", "Goggles.", "No bleach."], "why": "Held down."}  # fmt: skip
ACID = {"action": "acid", "product": "nitric-8", "amount": 5.0, "unit": "mL", "wait_min": 20.0}
WATER = {"action": "top_up", "product": "well", "amount": 20.0, "unit": "L"}


@pytest.fixture
def session(farm_folder: Path, clock: Any) -> Session:
    return Session.open(farm_folder, clock=clock)


def read(session: Session, **values: float) -> None:
    for item, value in ({"ph": 6.9, "ec": 1.7, "t": 21.0, "dip": 36.0, "buffer": 7.02} | values).items():
        session.save(Draft(kind="reading", station="res-1", item=item, value=value, measured_at=session.now()))


def offered(session: Session, *steps: dict[str, Any]) -> OpenCorrection:
    session.save(Draft(kind="correction", station="res-1", measured_at=session.now(), data={"steps": list(steps)}))
    found = open_correction_of(session, "res-1")
    assert found is not None
    return found


def truly_offered(session: Session) -> OpenCorrection:
    found = offer(session, session.farm.reservoir("res-1"), None)
    assert found is not None
    return found


def at(session: Session, *steps: dict[str, Any]) -> AtCorrection:
    return AtCorrection(session, offered(session, *steps), "r1")


def here(session: Session) -> Visit:
    return Visit(session=session, stop=stop_at(session, "morning", "res-1", everything=True))


def typed(session: Session, line: str) -> Taken:
    return here(session).take_line(line)


def answered(session: Session, item: str) -> Record:
    (record,) = session.history.records(item=item, kind="reading")
    return record


@pytest.mark.parametrize(("step", "item", "meter", "data"), [
    (JAR, "jar", "pen-1", {"product": "nitric-8", "ml_per_l": 0.25}),
    (JAR | {"of_water": "well"}, "jar", "pen-1", {"product": "nitric-8", "ml_per_l": 0.25, "water": "well"}),
    ({"action": "buffer_4"}, "buffer-4", "pen-1", {"buffer": 4.01, "temperature_c": 21.0}),
    ({"action": "strip"}, "strip", None, {}),
    ({"action": "buffer_dip"}, "buffer", "pen-1", {"buffer": 7.0, "temperature_c": 21.0}),
])  # fmt: skip
def test_the_number_alone_is_the_answer_with_all_that_belongs_to_it(
    session: Session, clock: Any, step: dict[str, Any], item: str, meter: str | None, data: dict[str, Any]
) -> None:
    session.save(Draft(kind="reading", station="res-1", item="t", value=21.0, measured_at=clock()))
    reply = at(session, step, ACID).take("5,8")
    assert reply.way == Anew("res-1")
    found = answered(session, item)
    assert (found.value, found.typed, found.meter, found.data) == (5.8, "5,8", meter, data)
    assert (found.station, found.person, found.round_id, found.measured_at) == ("res-1", "ada", "r1", clock())


@pytest.mark.parametrize("action", ["jar_test", "strip", "buffer_4"])
@pytest.mark.parametrize("text", ["58", "-1", "5.8.1"])
def test_what_is_no_ph_is_refused_in_a_sentence_and_stays_on_the_line(session: Session, action: str, text: str) -> None:
    reply = at(session, {"action": action}, ACID).take(text)
    assert not reply.accepted and reply.message.startswith("✗ ") and reply.message.endswith(".")
    assert session.history.records(kind="reading") == []


def test_a_ph_that_no_strip_can_show_is_refused_too(session: Session) -> None:
    reply = at(session, {"action": "strip"}, ACID).take("0.4")
    assert not reply.accepted and "cannot be 0.4" in reply.message
    assert session.history.records(kind="reading") == []


def test_enter_alone_asks_what_was_shown_until_it_is_a_ph(session: Session) -> None:
    page = at(session, JAR, ACID)
    page.answer("")
    assert (page.question.code, page.question.text) == ("shown", "Jar test.")
    assert page.question.settle, "what was typed before the question was there is no answer"
    assert not page.answer("58").accepted and page.question.code == "shown"
    assert page.answer("5.8").way == Anew("res-1")
    assert answered(session, "jar").value == 5.8


def test_s_skips_the_question_and_the_dose_behind_it_is_next(session: Session) -> None:
    page = at(session, JAR, ACID)
    assert ("s Enter", "skip") in page.commands()
    reply = page.take("S")
    assert reply.way is None and "safe even so" in reply.message
    assert page.step is not None and page.step.action == "acid"
    (step,) = session.history.records(kind="step")
    assert (step.item, step.marks, step.data["step"]) == ("jar_test", ("skipped",), 1)
    again = open_correction_of(session, "res-1")
    assert again is not None and again.next_step is not None and again.next_step.action == "acid"
    assert session.history.records(kind="reading") == []


def test_a_question_that_is_last_is_skipped_to_the_end(session: Session) -> None:
    page = at(session, JAR)
    assert "Enter walks on" in page.take("s").message and page.step is None


@pytest.mark.parametrize("step", [ACID, {"action": "buffer_dip"}, {"action": "look"}])
def test_nothing_but_a_question_is_skipped(session: Session, step: dict[str, Any]) -> None:
    page = at(session, step)
    assert "Only a question can be skipped" in page.take("s").message
    assert session.history.records(kind="step") == [] and ("s Enter", "skip") not in page.commands()


def test_a_skipped_strip_is_no_reading_of_it_and_the_next_one_still_counts(session: Session) -> None:
    at(session, {"action": "strip"}, ACID).take("s")
    assert session.history.latest("res-1", "strip") is None
    assert typed(session, "strip 6.0").saved and answered(session, "strip").value == 6.0


def test_where_something_was_poured_the_steps_go_on_behind_the_answer(session: Session, clock: Any) -> None:
    page = at(session, WATER, JAR, ACID)
    page.take("")
    clock.go_on(minutes=40)
    assert page.take("5.8").way == Anew("res-1")
    left = Guide(session, None).lead(Anew("res-1"))
    assert isinstance(left, OpenCorrection) and left.next_step is not None and left.next_step.action == "acid"
    assert answered(session, "jar").value == 5.8


def test_the_line_of_a_question_says_what_it_takes(session: Session) -> None:
    jar, strip, buffer_4 = offered(session, JAR, {"action": "strip"}, {"action": "buffer_4"}).steps
    told = [line_text(step) for step in (jar, strip, buffer_4)]
    assert [each.split(",")[0] for each in told] == ["The pH in the jar", "The pH by the strip", "What the meter shows"]
    assert all("s, then Enter: skip" in each for each in told)
    assert commands_of(jar)[0] == ("Enter", "what it shows")
    assert step_details(jar).splitlines()[0] == "Why: Held down."


def test_what_becomes_of_the_jar_stands_behind_the_two_cautions_needed_most(session: Session) -> None:
    read(session)
    jar = next(step for step in truly_offered(session).steps if step.action == "jar_test")
    lines = [line for line in step_details(jar).splitlines() if line.startswith("!")]
    assert "never water into acid" in lines[0] and "Goggles" in lines[1] and "poured away" in lines[2]
    assert len(lines) == len(jar.cautions)


# A jar of the reservoir's own water that shows what the label promises: the bottle is as told, and more may go in.
def test_the_answer_to_a_jar_test_allows_a_larger_dose(session: Session, clock: Any) -> None:
    read(session)
    first = truly_offered(session)
    small = next(step.amount for step in first.steps if step.action == "acid")
    clock.go_on(minutes=6)
    assert AtCorrection(session, first, None).take("6.2").way == Anew("res-1")
    anew = Guide(session, None).lead(Anew("res-1"))
    assert isinstance(anew, OpenCorrection)
    assert "jar_test" not in [step.action for step in anew.steps]
    assert next(step.amount for step in anew.steps if step.action == "acid") > 2 * small


def test_a_jar_belongs_to_the_readings_before_it_and_an_old_one_does_not(session: Session, clock: Any) -> None:
    session.save(Draft(kind="reading", station="res-1", item="strip", value=6.0, measured_at=clock()))
    clock.go_on(hours=1)
    read(session)
    when = clock()
    before = readings_of(session, "res-1")
    clock.go_on(minutes=6)
    session.save(Draft(kind="reading", station="res-1", item="jar", value=5.8, measured_at=clock()))
    after = readings_of(session, "res-1")
    assert before is not None and before.at == when and after is not None and after.at == clock()


@pytest.mark.parametrize("line", ["jar 5.8", "strip 6.0", "buffer-4 4.05", "buffer 7.0", "bottles y", "calibrated y",
                                  "chlorine", "rinsed y", "filled splashed"])  # fmt: skip
def test_an_answer_at_the_station_ends_the_offer_that_did_not_know_it(session: Session, clock: Any, line: str) -> None:
    read(session)
    first = truly_offered(session)
    clock.go_on(minutes=6)
    assert typed(session, line).problems == ()
    assert open_correction_of(session, "res-1") is None and wants_offer(session, "res-1")
    again = truly_offered(session)
    assert again.id != first.id and not wants_offer(session, "res-1")


def test_an_answer_that_is_taken_back_ends_the_offer_that_hangs_on_it(session: Session, clock: Any) -> None:
    read(session)
    truly_offered(session)
    clock.go_on(minutes=6)
    typed(session, "jar 6.3")
    truly_offered(session)
    assert open_correction_of(session, "res-1") is not None
    take_back(session, answered(session, "jar"))
    assert open_correction_of(session, "res-1") is None and wants_offer(session, "res-1")


def test_a_correction_that_is_begun_goes_on_whatever_is_answered(session: Session, clock: Any) -> None:
    read(session, dip=30.0, ph=6.0)
    page = AtCorrection(session, truly_offered(session), None)
    while page.step is not None and page.step.action != "top_up":
        page.take("s" if page.step.action == "jar_test" else "")
    page.take("")
    clock.go_on(minutes=6)
    typed(session, "strip 6.0")
    assert open_correction_of(session, "res-1") is not None


def test_a_jar_typed_at_the_station_gets_what_the_correction_told(session: Session, clock: Any) -> None:
    offered(session, JAR | {"of_water": "well"}, ACID)
    visit = here(session)
    assert visit.take_line("jar 5.8").problems == ()
    data = {"product": "nitric-8", "ml_per_l": 0.25, "water": "well"}
    assert answered(session, "jar").data == data
    clock.go_on(minutes=1)
    visit.take_line("jar 5.9")
    assert (answered(session, "jar").value, answered(session, "jar").data) == (5.9, data), (
        "put right, it is the same jar"
    )


def test_a_jar_without_a_correction_is_refused_and_the_rest_of_the_line_is_kept(session: Session) -> None:
    taken = typed(session, "jar 5.8 ec 1.7")
    (problem,) = taken.problems
    assert problem.startswith("A jar test belongs to a correction") and "Read pH, EC and dip" in problem
    assert [record.item for record, _ in taken.saved] == ["ec"] and session.history.records(item="jar") == []
    jar = session.item(session.farm.station("res-1"), "jar")
    assert here(session).take_field(jar, "5.8").problems == (problem,)


@pytest.mark.parametrize("line", ["jar 5.8", "JAR 5,8"])
def test_a_jar_by_its_name_answers_the_step_that_asks_for_it(session: Session, line: str) -> None:
    assert at(session, JAR, ACID).take(line).way == Anew("res-1")
    assert answered(session, "jar").data == {"product": "nitric-8", "ml_per_l": 0.25}


def test_another_reading_at_a_question_goes_to_the_station(session: Session) -> None:
    assert at(session, JAR, ACID).take("strip 6.0").way == ToStation("res-1", "strip 6.0")
    assert at(session, {"action": "buffer_dip"}, JAR).take("jar 5.8").way == ToStation("res-1", "jar 5.8")


def test_what_was_asked_is_told_in_words(session: Session) -> None:
    at(session, JAR | {"of_water": "well"}, ACID).take("5.8")
    told = record_text(session, answered(session, "jar"))
    assert told == "Reservoir one: Jar test 5.80 with 0.25 mL/L of Working nitric acid in Well water"
    skipped = at(session, {"action": "strip"}, ACID)
    skipped.take("s")
    (step,) = session.history.records(kind="step")
    assert record_text(session, step) == "Reservoir one: pH by strip asked for (skipped)"


def test_a_correction_says_which_answers_it_was_worked_out_from(session: Session, clock: Any) -> None:
    typed(session, "strip 6.1")
    clock.go_on(hours=1)
    read(session)
    assert assumed_text(truly_offered(session)).splitlines()[0].endswith("water's alkalinity 4.0 meq/L"), "an old strip"
    clock.go_on(minutes=6)
    typed(session, "strip 6.8 buffer-4 4.02")
    told = assumed_text(truly_offered(session)).splitlines()[0]
    assert told.endswith("water's alkalinity 4.0 meq/L · strip 6.80 · buffer of 4.01 shows 4.02")


def test_an_offer_of_an_earlier_version_holds_though_it_kept_no_answers(session: Session, clock: Any) -> None:
    offered(session, ACID)
    clock.go_on(minutes=5)
    session.save(Draft(kind="reading", station="res-1", item="strip", value=6.0, measured_at=clock()))
    assert open_correction_of(session, "res-1") is not None


def test_an_answer_from_the_future_ends_nothing_yet(session: Session, clock: Any) -> None:
    read(session)
    truly_offered(session)
    later = clock() + timedelta(hours=1)
    session.save(Draft(kind="reading", station="res-1", item="strip", value=6.0, measured_at=later))
    assert open_correction_of(session, "res-1") is not None
