"""A grower who follows the advice and nothing else: reads, answers, pours, waits, reads again."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import timedelta
from typing import Any

from tests.advice.judged.make import Line, Make, Question
from tests.advice.judged.tool import Advice, Advisor, Visit, note_answer, questions

FIRST_DAY_MIN = 12.0 * 60.0
EC_ONLY = {"no-weak-water", "day-limit-ec", "feed-unknown"}
"""Refusals that say nothing of the pH."""
METER_OR_BOTTLE = {"buffer-dip", "buffer", "calibrate", "second-meter", "strip", "jar-test", "bottles", "label"}
MOVES_PH = {"acid", "base"}
_IN_TURN = {"surprise": 5.0, "base-after-acid": 120.0}
"""Refusals that ask for a reading some minutes later. [min]"""
_POURED = {"top_up", "concentrate_a", "concentrate_b", "acid", "base", "change_out"}
_MOST_TURNS, _MOST_AGAIN, _MOST_ASKED = 60, 6, 3
_READ_MIN, _POUR_MIN, _DIP_MIN = 3.0, 3.0, 2.0
_AGAIN, _STOP, _POUR = "again", "stop", "pour"
_SECOND_DIP = {"dip-twice", "too-small"}
"""What asks for one more dip of the probe."""
_SAME = {"ph": 0.2, "ec": 0.1}
"""A second reading agrees with the first within this. [-, mS/cm]"""


@dataclass(frozen=True)
class Seen:
    """A reading and the interval it was foreseen in."""

    read: float
    low: float
    high: float

    @property
    def held(self) -> bool:
        return self.low <= self.read <= self.high


@dataclass
class Grower:
    """One grower at one reservoir."""

    make: Make
    advisor: Advisor
    refuses: bool = False
    lines: list[Line] = field(default_factory=list)
    rechecks: int = 0
    """Readings after something was poured."""
    ph_rechecks: int = 0
    """Those after acid or base."""
    asked: Counter[str] = field(default_factory=Counter)
    codes: set[str] = field(default_factory=set)
    """All that the tool ever said."""
    seen: list[Seen] = field(default_factory=list)
    advice: Advice = field(default_factory=dict)
    foreseen: Mapping[str, Any] = field(default_factory=dict)
    """The prediction of the last correction that was done to its end, until it was tested."""
    poured: list[str] = field(default_factory=list)
    """Actions of all that went in on advice, in their order."""
    ended: str = ""

    def __post_init__(self) -> None:
        self.lines.extend(self.make.record())

    def put_right(self, most_min: float = FIRST_DAY_MIN) -> str:
        """Follow the advice until it says that all is well, stops, or the day is over.

        Returns
        -------
        str
            "in band", else why it ended.
        """
        began, again, asked_today = self.make.now, 0, Counter[str]()
        visit = self.read()
        for _ in range(_MOST_TURNS):
            self.advise(visit)
            answered = self._answer(visit, asked_today)
            if answered:
                if answered == _STOP:
                    return self.ended
                continue
            then = self._then(again)
            if then == _STOP:
                self.ended = self._why_ended()
                return self.ended
            if self.make.now - began > timedelta(minutes=most_min):
                break
            if isinstance(then, float):
                self.make.wait(then)
                visit, again = self.read(), again + 1
            else:
                visit, again = self._follow(visit), 0
        self.ended = "day over"
        return self.ended

    def _then(self, again: int) -> float | str:
        """What comes now: minutes to wait before it is read again, to pour, or to stop."""
        if self._second_dip_is_asked():
            return _DIP_MIN
        if any(step["action"] in _POURED or step["action"] == "drain_off" for step in self.advice["steps"]):
            return _POUR
        wait = self._wanted_wait()
        return _STOP if wait is None or again >= _MOST_AGAIN else wait

    def read(self) -> Visit:
        """All four instruments, written down; a recheck is held against what was foreseen."""
        self.make.wait(_READ_MIN)
        visit = Visit(at=self.make.now, read={what: self.make.read(what) for what in ("ph", "ec", "t", "dip")})
        for item, value in visit.read.items():
            self.note("reading", item=item, value=value)
        if self.foreseen:
            span = self.foreseen["mixed"]["ph"]
            self.seen.append(Seen(visit.read["ph"], span["low"], span["high"]))
            self.foreseen = {}
        return visit

    def advise(self, visit: Visit) -> None:
        """Ask the tool."""
        self.advice = self.advisor.advise(self.lines, visit, self.make.now)
        self.codes |= {str(each["code"]) for each in (*self.advice["refusals"], *self.advice["findings"])}

    def note(self, kind: str, **more: Any) -> Line:
        """A line of the record."""
        line = Line(
            kind=kind, measured_at=self.make.now, id=f"n{len(self.lines)}", station=self.make.reservoir_id, **more
        )
        self.lines.append(line)
        return line

    def _answer(self, visit: Visit, asked_today: Counter[str]) -> str:
        """Answer what is asked: again where that may change the advice, stop where it ends here, else nothing."""
        outcome = ""
        for question in questions(self.advice):
            if asked_today[question.code] >= _MOST_ASKED:
                continue
            if question.code == "second-meter" and visit.second_ph is not None:
                continue
            asked_today[question.code] += 1
            self.asked[question.code] += 1
            outcome = self._answer_one(question, visit) or outcome
            if outcome == _STOP:
                return outcome
        return outcome

    def _answer_one(self, question: Question, visit: Visit) -> str:
        given = None if self.refuses else self.make.answer(question)
        if given is None:
            return ""
        if given is False and question.code in ("bottles", "calibrate"):
            self.ended = f"found: {question.code}"
            return _STOP
        self.lines.extend(note_answer(question, given, visit, self.make.reservoir_id, f"n{len(self.lines)}"))
        if question.code == "calibrate":
            dip = Question(code="buffer-dip", details={"buffer": 7.0})
            shown = self.make.answer(dip)
            if shown is not None:
                self.lines.extend(note_answer(dip, shown, visit, self.make.reservoir_id, f"n{len(self.lines)}"))
            again = self.read()
            visit.at, visit.read, visit.second_ph = again.at, again.read, None
        return "" if question.code == "look" else _AGAIN

    def _follow(self, visit: Visit) -> Visit:
        """Step by step until a reading must come first; then, or at the end, the reservoir is read."""
        steps = self.advice["steps"]
        offer = self.note("correction", data={**self.advice})
        done: set[str] = set()
        for number, step in enumerate(steps, 1):
            if step["action"] == "read_again" and done:
                break
            if step["action"] == "read_again":
                second = self.read()
                if not all(abs(second.read[item] - visit.read[item]) < same for item, same in _SAME.items()):
                    return second
            elif step["action"] == "drain_off" or (step["action"] in _POURED and self._may_pour(step)):
                self._do(step, number, offer.id)
                done.add(step["action"])
                self.poured.append(step["action"])
            self.make.wait(float(step["wait_min"]))
        else:
            self.foreseen = self.advice["prediction"] if done else {}
            self._wait_for_recheck(steps)
        self.rechecks += bool(done)
        self.ph_rechecks += bool(done & MOVES_PH)
        return self.read()

    def _may_pour(self, step: Mapping[str, Any]) -> bool:
        """Whether a pour that hangs on the pH shown may be made."""
        above = re.search(r"Only if the pH now shows ([\d.]+) or more", step["text"])
        return above is None or self.make.read("ph") >= float(above.group(1))

    def _do(self, step: Mapping[str, Any], number: int, correction: str) -> None:
        amount, unit, action = float(step["amount"]), str(step["unit"]), str(step["action"])
        litres = amount / 1000.0 if unit == "mL" else amount
        if action == "drain_off":
            self.make.drain(litres)
        else:
            self.make.pour(str(step["product"]), litres, "instead" if action == "change_out" else "return")
        data = {"action": action, "correction": correction, "step": number, "advised": amount}
        self.note("dose", item=step["product"] or "", value=amount, unit=unit, data=data)
        self.make.wait(_POUR_MIN)

    def _wait_for_recheck(self, steps: Any) -> None:
        """Three turnovers after the last pour, as the recheck says, and the walk back to it."""
        last = steps[-1]
        minutes = re.search(r"in (\d+) minutes", last["text"]) if last["action"] == "recheck" else None
        waited = next((float(s["wait_min"]) for s in reversed(steps) if s["action"] in _POURED), 0.0)
        self.make.wait(max(0.0, float(minutes.group(1)) - waited if minutes else 0.0) + 1.0 + self.rechecks % 5 * 4.0)

    def _wanted_wait(self) -> float | None:
        """Minutes until it is to be read again; None where nothing is waited for."""
        codes = [refusal["code"] for refusal in self.advice["refusals"]]
        if "still-mixing" in codes:
            return float(self.advice["steps"][0]["wait_min"]) + 0.5
        if any(step["action"] == "read_again" for step in self.advice["steps"]):
            return 5.0
        return next((minutes for code, minutes in _IN_TURN.items() if code in codes), None)

    def _second_dip_is_asked(self) -> bool:
        """Whether one more dip would help, and there was one only."""
        said = {each["code"] for each in (*self.advice["findings"], *self.advice["refusals"])}
        return bool(said & _SECOND_DIP) and self._dips() < 2

    def _dips(self) -> int:
        """How often the pH was read since anything was poured."""
        count = 0
        for line in reversed(self.lines):
            if line.kind == "dose":
                break
            count += line.kind == "reading" and line.item == "ph"
        return count

    def _why_ended(self) -> str:
        codes = sorted({str(refusal["code"]) for refusal in self.advice["refusals"]} - EC_ONLY)
        return ",".join(codes) or "in band"
