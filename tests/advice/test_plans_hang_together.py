"""Plans of random first days, each step and each next plan held against what stood there before.

The days are those of the second make of `tests.advice.judged`: PHREEQC is the truth, the grower answers what is asked.
What must hold is the order of work that the README of the advice states, and no more than sense: nothing is read twice
in a row, nobody is told two things of the same reading.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Any

import pytest

from tests.advice.judged.grower import Grower
from tests.advice.judged.tool import Tool, Visit

SEEDS = [range(first, first + 4) for first in range(41_000_000, 41_000_024, 4)]
READS = {"read_again", "recheck"}
POURS = {"top_up", "drain_off", "change_out", "acid", "base", "concentrate_a", "concentrate_b"}
WATERS = {"top_up", "drain_off", "change_out"}
NEVER_BOTH = {"acid", "base"}
ANSWERS = {"jar", "strip", "buffer", "buffer-4", "calibrated", "filled-how", "bottles"}
AHEAD = "by the next round: better moved now"
"""So a dose is explained that is for what plants will do until then; it may be inside the band."""


class Witness(Grower):
    """A grower who keeps each plan beside the reading it was made for and how much had been poured by then."""

    def advise(self, visit: Visit) -> None:
        super().advise(visit)
        poured = sum(line.kind == "dose" for line in self.lines)
        answered = tuple(line.id for line in self.lines if line.item in ANSWERS)
        self.plans.append((dict(visit.read), poured, answered, self.advice))

    @property
    def plans(self) -> list[tuple[dict[str, float], int, tuple[str, ...], dict[str, Any]]]:
        return self.__dict__.setdefault("_plans", [])


def first_day(seed: int) -> Witness:
    pytest.importorskip("phreeqc")
    from tests.advice.judged.second.reservoir import Second

    make = Second(seed, "healthy")
    grower = Witness(make, Tool(make.farm_files(), make.reservoir_id))
    grower.put_right()
    return grower


def actions(plan: dict[str, Any]) -> list[str]:
    return [step["action"] for step in plan["steps"]]


def faults_of_one(plan: dict[str, Any], ph: float, band: tuple[float, float]) -> Iterator[str]:
    """What does not hang together in one plan."""
    found = actions(plan)
    if set(found) >= NEVER_BOTH:
        yield "acid and base in one plan"
    seen = [each for each in found if each in READS | POURS]
    if any(set(pair) <= READS for pair in pairwise(seen)):
        yield f"read twice in a row: {found}"
    for place, step in enumerate(plan["steps"]):
        if "the pH now shows" in step["text"] and not (place and "read the pH" in plan["steps"][place - 1]["text"]):
            yield f"nothing before says to read the pH that {step['action']} hangs on"
        if step["action"] in POURS and not step["amount"] > 0.0:
            yield f"{step['action']} of nothing"
    inside = band[0] + 0.1 < ph < band[1] - 0.1 and not any(AHEAD in step["why"] for step in plan["steps"])
    if inside and "base" in found and not set(found) & (POURS - NEVER_BOTH):
        yield f"base at {ph}, well inside {band}"
    names = [each["code"] for each in plan["refusals"]]
    if len(names) != len(set(names)):
        yield f"refused twice: {names}"


def faults_of_two(before: dict[str, Any], after: dict[str, Any]) -> Iterator[str]:
    """What one plan takes back of the other, though nothing was read, answered or poured in between."""
    if actions(before) != actions(after):
        yield f"{actions(before)}, then {actions(after)}"


@pytest.mark.parametrize("seeds", SEEDS, ids=lambda seeds: str(seeds.start))
def test_the_plans_of_a_first_day_hang_together(seeds: range) -> None:
    found = []
    for seed in seeds:
        day = first_day(seed)
        for read, _, _, plan in day.plans:
            found += [(seed, fault) for fault in faults_of_one(plan, read["ph"], day.make.band)]
        for one, two in pairwise(day.plans):
            if one[:3] == two[:3]:
                found += [(seed, fault) for fault in faults_of_two(one[3], two[3])]
            opposite = set(actions(one[3])) & NEVER_BOTH, set(actions(two[3])) & NEVER_BOTH
            if one[:2] == two[:2] and all(opposite) and opposite[0] != opposite[1]:
                found.append((seed, f"{opposite[0]} and then {opposite[1]} for one reading"))
    assert found == []


def test_a_plan_that_does_not_hang_together_is_noticed() -> None:
    acid = {"action": "acid", "amount": 2.0, "text": "Pour it. Only if the pH now shows 6.2 or more.", "why": ""}
    base = {"action": "base", "amount": 0.0, "text": "Pour it.", "why": ""}
    odd = {
        "steps": [acid, *({"action": each, "text": "", "why": ""} for each in READS), base],
        "refusals": [],
    }
    assert len(list(faults_of_one(odd, 5.8, (5.5, 6.1)))) == 5
