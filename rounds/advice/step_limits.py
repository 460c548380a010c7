"""What a step and a day may move, and how far a dose may grow on the last one."""

from __future__ import annotations

import math
from datetime import datetime

from rounds.advice.bottle_effect import doses_of_this_feed, doses_today
from rounds.advice.case import Case
from rounds.advice.gates import Direction, Gates
from rounds.belief import state as b
from rounds.book.composition import agent_of
from rounds.book.measures import SMALLEST_ML
from rounds.farm.shelf import Acid, Base
from rounds.science.acids_bases import Agent

MOST_GROWTH = 4.0
"""Most that a dose may grow from one to the next on the same day. [-]"""
IDLE_EVIDENCE = 0.7
"""From e to this power on (two to one for "nothing was poured") the last dose does not count as seen to work. [-]"""
WORKED_SHARE = 0.6
"""So much of the meter's error the pH must be believed to have moved for a bottle to be seen to work. [-]"""
LEAST_LEFT_PH, _ABOVE_LOWEST = 0.12, 0.15
_YOUNG = 0.5


def step_cap(case: Case, gates: Gates) -> float:
    """How far one step may move the pH. [-]"""
    cap = case.farm.limits.step_ph * (_YOUNG if case.stage.young else 1.0)
    return min(cap, gates.most_ph) if gates.most_ph is not None else cap


def left_today(case: Case, direction: Direction) -> float:
    """How far the pH may still be moved today; nothing where that is too little to be worth a dose. [-]

    From below the lowest pH it may always be brought back to a little above it: roots do not live there till tomorrow.
    """
    day = case.farm.limits.day_ph * (_YOUNG if case.stage.young else 1.0)
    moved = moved_today(case)
    left = day - moved
    if direction == "base" and case.state is not None:
        left = max(left, case.farm.limits.lowest_ph + _ABOVE_LOWEST - case.state.mean[b.PH])
    return left if left >= LEAST_LEFT_PH or not moved else 0.0


def moved_today(case: Case) -> float:
    """How far acid and base are believed to have moved the pH today already. [-]"""
    doses = doses_of_this_feed(case)
    if not doses or case.state is None:
        return 0.0
    first = min(r.measured_at for r in doses)
    before = [e.value for e in case.ledger.events if e.what == "ph" and e.at <= first]
    return abs(before[-1] - case.state.mean[b.PH]) if before else 0.0


def from_last_dose(case: Case, agent: Agent) -> float:
    """A dose grows only so far from one to the next: the last one must have been seen to work. [mL]"""
    last = [r for r in doses_today(case) if r.item in case.farm.shelf and r.ml]
    if not last:
        return math.inf
    product = case.farm.shelf[last[-1].item]
    if not isinstance(product, Acid | Base) or product.agent != agent.kind.name:
        return math.inf
    worth = agent_of(product).mol_per_l * last[-1].ml
    growth = 1.0 if _seems_idle(case, last[-1].measured_at, agent) else MOST_GROWTH
    return max(growth * worth / agent.mol_per_l, SMALLEST_ML)


def worked_today(case: Case, direction: Direction) -> bool:
    """Whether the pH is believed to have gone the way of the doses of today."""
    doses = doses_of_this_feed(case)
    if not doses or case.state is None:
        return False
    before = [e.value for e in case.ledger.events if e.what == "ph" and e.at <= doses[0].measured_at]
    moved = case.state.mean[b.PH] - before[-1] if before else 0.0
    return (-moved if direction == "acid" else moved) > WORKED_SHARE * case.ph_sd


def _seems_idle(case: Case, dosed_at: datetime, agent: Agent) -> bool:
    """Whether the last dose was not seen to move the pH, and the readings look more as if nothing had been poured."""
    before = [e.value for e in case.ledger.events if e.what == "ph" and e.at <= dosed_at]
    if not before or case.readings.ph is None:
        return False
    moved = case.readings.ph - before[-1]
    if (-moved if agent.kind.is_acid else moved) > case.ph_sd:
        return False
    surprised = any(s.after_dose and s.at >= dosed_at for s in case.answer.surprises)
    return surprised or any(r.name == "nothing" and r.evidence > IDLE_EVIDENCE for r in case.answer.rivals)
