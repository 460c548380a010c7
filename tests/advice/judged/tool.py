"""The tool as a grower uses it: the farm's files, the record, today's readings; and the advice in its JSON form.

This is the only module of the judge that knows the package. What the tool asks is gathered here as questions, and what
is answered is put where the tool looks for it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, Protocol

from rounds.advice.correction import Readings, correct
from rounds.book.offer import form_of
from rounds.errors import RoundsError
from rounds.farm.farm import Farm
from rounds.farm.load import load_farm
from tests.advice.judged.make import Given, Line, Question

Advice = Mapping[str, Any]
"""A correction as `rounds correct --json` prints it, with the `prediction` that its record keeps."""
_ASKED_AS = {"buffer": "buffer-dip", "buffer-4": "buffer-dip", "jar": "jar-test", "calibrated": "calibrate"}
"""What the tool asks under another name than the makes know."""


@dataclass(kw_only=True)
class Visit:
    """What was read just now, and what a second meter showed."""

    at: datetime
    read: dict[str, float] = field(default_factory=dict)
    second_ph: float | None = None


class Advisor(Protocol):
    """Whoever advises: the tool, or a fake that shows whether the judge sees a bad one."""

    def __init__(self, files: Mapping[str, str], reservoir_id: str) -> None: ...

    def advise(self, record: Sequence[Line], visit: Visit, now: datetime) -> Advice: ...


class Tool:
    """The tool itself."""

    def __init__(self, files: Mapping[str, str], reservoir_id: str) -> None:
        self.farm = _loaded(files)
        self.reservoir_id = reservoir_id

    def advise(self, record: Sequence[Line], visit: Visit, now: datetime) -> Advice:
        """The correction, as the walk works it out."""
        readings = Readings(
            at=visit.at, ph=visit.read.get("ph"), ec_ms_cm=visit.read.get("ec"), temperature_c=visit.read.get("t"),
            dip_cm=visit.read.get("dip"), second_meter_ph=visit.second_ph,
        )  # fmt: skip
        found = correct(self.farm, record, self.reservoir_id, readings, now)
        return {**form_of(found), "prediction": found.prediction}


def _loaded(files: Mapping[str, str]) -> Farm:
    with TemporaryDirectory() as folder:
        for name, text in files.items():
            (Path(folder) / name).write_text(text, encoding="utf-8")
        farm = load_farm(Path(folder))
    wrong = [mistake for mistake in farm.mistakes if not mistake.key.endswith(".percent")]
    if wrong:
        raise RoundsError(f"the farm that the make tells of has mistakes: {wrong[0]}")
    return farm


def questions(advice: Advice) -> list[Question]:
    """All that the advice asks of the grower beside the usual readings."""
    return [_as_asked(each) for each in advice.get("questions", ())]


def _as_asked(asked: Mapping[str, Any]) -> Question:
    answers = asked.get("answers", ())
    details = {key: value for key, value in asked.items() if key not in ("text", "answers")}
    return Question(
        code=_ASKED_AS.get(str(asked["code"]), str(asked["code"])), text=str(asked.get("text", "")), details=details,
        answers=tuple(answers) if isinstance(answers, list | tuple) else (),
    )  # fmt: skip


def note_answer(question: Question, given: Given, visit: Visit, station: str, name: str) -> list[Line]:
    """The lines of the record that an answer makes; a second meter's pH goes beside today's readings instead."""
    if question.code == "second-meter":
        visit.second_ph = float(given)
        return []

    def line(kind: str, item: str, value: Given | None, at: str = station, **data: Any) -> Line:
        return Line(kind=kind, measured_at=visit.at, id=f"{name}-{item}", station=at, item=item, value=value, data=data)

    if question.code == "buffer-dip":
        buffer = float(question.details.get("buffer", 7.0))
        item = "buffer" if abs(buffer - 7.0) < 0.5 else "buffer-4"
        return [line("reading", item, given, "", buffer=buffer, temperature_c=visit.read.get("t", 20.0))]
    if question.code == "jar-test":
        about = {"product": question.details.get("product"), "ml_per_l": question.details.get("ml_per_l")}
        water = question.details.get("of_water")
        return [line("reading", "jar", given, **about, **({"water": water} if water else {}))]
    if question.code == "strip":
        return [line("reading", "strip", given)]
    if question.code == "filled-how":
        return [line("check", "filled-how", given)]
    if question.code == "calibrate":
        return [line("check", "calibrated", given)]
    if question.code == "look":
        return [line("step", "looked", None, action="look"), line("check", "roots", True)]
    return [line("check" if isinstance(given, bool) else "answer", question.code, given)]
