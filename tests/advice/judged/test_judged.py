"""The judge: a table from end to end, the same twice, another make plugged in, and bad advice seen as bad."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any

import pytest

pytest.importorskip("phreeqc")

from tests.advice.judged.__main__ import judgement, main
from tests.advice.judged.bath import Bath
from tests.advice.judged.contact import first_contact
from tests.advice.judged.grower import Grower
from tests.advice.judged.make import Line, Question
from tests.advice.judged.running import TOOL, Task
from tests.advice.judged.second.chemistry import speciated
from tests.advice.judged.second.reservoir import Second
from tests.advice.judged.stories import STORIES
from tests.advice.judged.tool import Advice, Tool, Visit, note_answer, questions

HERE = "tests.advice.judged.test_judged"


class TenTimes(Tool):
    """A tool that means ten times the acid and base."""

    def advise(self, record: Sequence[Line], visit: Visit, now: datetime) -> Advice:
        found = super().advise(record, visit, now)
        steps = [
            {**step, "amount": 10.0 * step["amount"]} if step["action"] in ("acid", "base") else step
            for step in found["steps"]
        ]
        return {**found, "steps": steps}


class SaysNothing(Tool):
    """A tool that calls everything well."""

    def advise(self, record: Sequence[Line], visit: Visit, now: datetime) -> Advice:
        found = super().advise(record, visit, now)
        return {**found, "steps": [], "findings": [], "refusals": []}


class AsksForAJar(Tool):
    """A tool that asks for a jar test before the first dose, as questions are asked in its JSON form."""

    def advise(self, record: Sequence[Line], visit: Visit, now: datetime) -> Advice:
        found = super().advise(record, visit, now)
        if any(line.item == "jar" for line in record):
            return {**found, "questions": []}
        jar = {"code": "jar", "text": "Try it in a litre.", "answers": ["a pH"], "product": "acid", "ml_per_l": 0.2}
        return {**found, "questions": [jar]}


class BreaksDown(Tool):
    def advise(self, record: Sequence[Line], visit: Visit, now: datetime) -> Advice:
        raise ZeroDivisionError("on purpose")


def figures(advisor: str = TOOL, count: int = 7, **how: Any) -> Mapping[str, Any]:
    return judgement([Task("second", advisor, seed, "healthy", **how) for seed in range(100, 100 + count)])


@pytest.mark.long
def test_a_run_from_end_to_end_prints_every_part(capsys):
    code = main(["--make", "second", "--n", "4", "--days", "2", "--seed", "3", "--json"])
    found = json.loads(capsys.readouterr().out)
    assert code == 0 and found["broke_down"] == []
    assert found["first_contact"]["reservoirs"] == 4
    assert set(found["first_contact"]["rechecks"]) == {"median", "p95", "p99"}
    assert set(found["stories"]) == set(STORIES)
    assert found["daily_life"]["mornings"] == 1


def test_a_run_of_one_story_prints_it_and_breaks_down_nowhere(capsys):
    code = main(["--make", "second", "--n", "2", "--story", "healthy", "--seed", "3", "--json"])
    found = json.loads(capsys.readouterr().out)
    assert code == 0 and found["broke_down"] == []
    assert found["first_contact"]["reservoirs"] == 2
    assert set(found["first_contact"]["rechecks"]) == {"median", "p95", "p99"}
    assert set(found["stories"]) == {"healthy"}


def test_without_json_it_is_a_table(capsys):
    assert main(["--n", "2", "--story", "bottle-x3"]) == 0
    shown = capsys.readouterr().out
    assert "bottle-x3" in shown and "< 4.5" in shown and "{" not in shown


def test_the_same_seed_gives_the_same_figures_and_another_does_not():
    one, same = figures(count=2), figures(count=2)
    assert one == same
    assert judgement([Task("second", TOOL, seed, "healthy") for seed in range(2)]) != one


@pytest.mark.parametrize("story", STORIES)
def test_every_story_can_be_built_and_its_files_are_sound(story):
    make = Second(8, story)
    advice = Tool(make.farm_files(), "r").advise(make.record(), Grower(make, Tool).read(), make.now)  # type: ignore[arg-type]
    assert not any(refusal["code"] == "bad-input" for refusal in advice["refusals"])


def test_ten_times_the_dose_is_seen_as_bad():
    good, bad = (figures(advisor)["first_contact"] for advisor in (TOOL, f"{HERE}:TenTimes"))
    past = "past_far_edge_per_1000"
    assert good[past]["over_0_3"] < 100.0 < 300.0 < bad[past]["over_0_3"]
    assert bad["lowest_ph"] < 4.5
    assert bad["in_band_first_day_percent"] < good["in_band_first_day_percent"]
    assert bad["recheck_within_interval_percent"] < good["recheck_within_interval_percent"] - 15.0


def test_a_tool_that_calls_everything_well_is_seen_as_bad():
    found = figures(f"{HERE}:SaysNothing")["first_contact"]
    assert found["called_in_band_percent"] == 100.0
    assert found["called_in_band_though_out_by_0_1_percent"] > 30.0
    assert found["in_band_first_day_percent"] < 60.0


def test_a_crash_is_told_with_its_seed_and_the_rest_goes_on():
    tasks = [Task("second", f"{HERE}:BreaksDown", 7, "healthy"), Task("second", TOOL, 7, "healthy")]
    found = judgement(tasks)
    assert [(each["seed"], each["error"]) for each in found["broke_down"]] == [(7, "ZeroDivisionError: on purpose")]
    assert found["first_contact"]["reservoirs"] == 1


def test_another_make_is_plugged_in_by_its_name(capsys):
    assert main(["--make", "tests.advice.judged.bath:Bath", "--n", "3", "--story", "healthy", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)["first_contact"]
    assert found["reservoirs"] == 3 and found["in_band_first_day_percent"] == 100.0


def test_a_bath_is_asked_for_the_buffer_and_answers_once():
    bath = Bath(2, "healthy")
    met = first_contact(bath, Tool)
    assert met.called_in_band and met.poured
    assert bath.asked.count("buffer-dip") == 1


def test_who_refuses_is_asked_and_nothing_is_written_down():
    make = Second(100, "healthy")
    grower = Grower(make, Tool(make.farm_files(), "r"), refuses=True)
    grower.put_right()
    assert grower.asked["buffer-dip"] > 0
    assert not any(line.item == "buffer" for line in grower.lines)


def test_a_question_of_the_json_form_is_answered_and_kept_in_the_record():
    make = Second(100, "healthy")
    before = make.ph_in_tank()
    grower = Grower(make, AsksForAJar(make.farm_files(), "r"))
    grower.put_right()
    (jar,) = [line for line in grower.lines if line.item == "jar"]
    assert jar.kind == "reading" and isinstance(jar.value, float)
    assert jar.data == {"product": "acid", "ml_per_l": 0.2}
    assert jar.value < before + 3.0 * make.meter.noise
    assert first_contact(Second(100, "healthy"), AsksForAJar).jars == 1


def test_a_jar_shows_what_the_dose_would_do_to_the_reservoir_within_the_error_of_the_syringe():
    make = Second(104, "healthy")
    make.meter = replace(make.meter, offset=0.0, slope=1.0, noise=0.0)
    ml_per_l = 0.3
    question = Question(code="jar-test", details={"product": "acid", "ml_per_l": ml_per_l})
    shown = sorted(float(make.answer(question) or 0.0) for _ in range(9))[4]
    totals, acid = make.circuit.tank.totals, make.litre_of("acid")

    def dosed(times: float) -> float:
        return speciated({e: totals[e] + acid.get(e, 0.0) * times * ml_per_l / 1000.0 for e in totals}, 20.0).ph

    assert dosed(1.2) - 0.1 <= shown <= dosed(0.8) + 0.1


def test_what_nobody_can_answer_is_left():
    assert Second(100, "healthy").answer(Question(code="favourite-colour")) is None


@pytest.mark.parametrize(("story", "right"), [("healthy", True), ("bottle-x3", True), ("swapped", False)])
def test_bottles_are_answered_for_by_what_looking_at_them_shows(story, right):
    assert Second(100, story).answer(Question(code="bottles")) is right


def test_what_the_tool_asks_is_put_by_the_names_that_the_makes_know():
    asked = [
        {"code": "buffer", "text": "Dip", "answers": ["a pH"], "buffer": 7.0},
        {"code": "buffer-4", "text": "Dip", "answers": ["a pH"], "buffer": 4.01},
        {"code": "jar", "text": "Stir", "answers": ["a pH"], "product": "acid", "ml_per_l": 0.3, "of_water": "well"},
        {"code": "bottles", "text": "Look", "answers": ["yes", "no"]},
        {"code": "second-meter", "text": "Read", "answers": ["a pH"]},
    ]
    found = questions({"questions": asked, "refusals": [], "findings": [], "steps": []})
    assert [each.code for each in found] == ["buffer-dip", "buffer-dip", "jar-test", "bottles", "second-meter"]
    assert [each.details.get("buffer") for each in found[:2]] == [7.0, 4.01]
    assert found[2].details["of_water"] == "well" and found[2].details["ml_per_l"] == 0.3


def test_a_second_meter_is_only_read_where_it_is_asked_for():
    """What stands in a sentence is no question: only `questions` are answered."""
    refusal = {"code": "too-small", "text": "Confirm it on a second meter first.", "instead": ""}
    assert questions({"refusals": [refusal], "findings": [], "steps": []}) == []


def test_an_answer_stands_where_the_tool_looks_for_it():
    make = Bath(1, "healthy")
    visit = Visit(at=make.now, read={"ph": 6.4, "t": 18.0})
    (dip,) = note_answer(Question(code="buffer-dip", details={"buffer": 7.0}), 7.3, visit, "r", "n1")
    assert (dip.kind, dip.item, dip.value, dip.data) == (
        "reading",
        "buffer",
        7.3,
        {"buffer": 7.0, "temperature_c": 18.0},
    )
    tool = Tool(make.farm_files(), "r")
    refused = tool.advise([dip], Visit(at=make.now, read={"ph": 6.6, "ec": 1.8, "t": 18.0}), make.now)
    assert "buffer-off" in {refusal["code"] for refusal in refused["refusals"]}
    note_answer(Question(code="second-meter"), 6.1, visit, "r", "n2")
    assert visit.second_ph == 6.1


@pytest.mark.long
def test_some_hundred_reservoirs_are_judged_and_nothing_breaks_down(capsys):
    code = main(["--n", "200", "--n-story", "20", "--n-life", "10", "--seed", "2", "--processes", "2"])
    with capsys.disabled():
        print("\n" + capsys.readouterr().out)
    assert code == 0
