"""How the level went: whether far more is gone than the plants of a reservoir usually drink."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from statistics import median

from rounds.advice.case import Case
from rounds.book.entries import Done, Dose, Reading, only
from rounds.book.level import litres_of
from rounds.book.levels import BETWEEN, FEWEST, LEAST_DAYS, LOOK_BACK, most_l_day
from rounds.book.message import Message, say
from rounds.book.offer import Finding, act

_THIS_ROUND = timedelta(minutes=10)
_ANOTHER_ROUND = timedelta(hours=3)
_OLDEST = timedelta(days=3)


@dataclass(frozen=True, slots=True, kw_only=True)
class Fall:
    """Litres that are gone since the level before, beyond what was drained off."""

    litres: float
    days: float
    usual_l_day: float | None
    """What the plants here usually take in a day; None where too little is on record. [L/d]"""
    added_l: float = 0.0
    """What was poured in since that level. [L]"""


def far_fall(case: Case) -> Fall | None:
    """The fall of the level, where it is far more than the plants drink; None otherwise."""
    mine: list[Reading | Dose] = [
        entry for entry in case.here
        if isinstance(entry, Reading | Dose) and case.readings.at - LOOK_BACK <= entry.measured_at <= case.readings.at
    ]  # fmt: skip
    before = _level_before(case, mine)
    if before is None or not case.was_dipped:
        return None
    added = _added_l(mine, before)
    if added is None:
        return None
    fallen = (litres_of(case.reservoir, before) or 0.0) + added - case.inside_l
    days = max(LEAST_DAYS, (case.readings.at - before.measured_at) / timedelta(days=1))
    usual = usual_l_day(case, mine)
    if fallen <= most_l_day(case.reservoir, usual) * days + 2.0 * case.inside_error_l:
        return None
    return Fall(litres=fallen, days=days, usual_l_day=usual, added_l=added)


def usual_l_day(case: Case, mine: Sequence[Reading | Dose]) -> float | None:
    """The median of what was gone in a day between earlier levels; None below three of them. [L/d]"""
    levels = [r for r in only(Reading, mine) if _is_level(case, r) and r.measured_at <= case.readings.at - _THIS_ROUND]
    rates: list[float] = []
    last: Reading | None = None
    for record in levels:
        if last is None:
            last = record
        elif record.measured_at - last.measured_at >= BETWEEN:
            rate = _rate(case, mine, last, record)
            rates += [rate] if rate is not None else []
            last = record
    return max(0.0, median(rates)) if len(rates) >= FEWEST else None


def level_fell(case: Case) -> Finding | None:
    """The finding where far more is gone than was drunk."""
    fall = far_fall(case)
    if fall is None:
        return None
    many = fall.usual_l_day
    usual = say("more-than-plants-drink") if many is None else say("more-than-usual-here", l_day=many)
    counted = (say("poured-in-between", litres=fall.added_l),) if fall.added_l >= 1.0 else ()
    return act("level-fell", litres=fall.litres, time=_time(fall.days), counted=counted, usual=usual)


def looked_lately(case: Case) -> bool:
    """Whether somebody has just looked for the leak: it is not asked again on the next reading."""
    return any(
        done.action == "look" and timedelta() <= case.now - done.measured_at <= _ANOTHER_ROUND
        for done in only(Done, case.here)
    )


def _time(days: float) -> Message:
    return say("hours", hours=days * 24.0) if days < 1.5 else say("days", days=days)


def _is_level(case: Case, reading: Reading) -> bool:
    return litres_of(case.reservoir, reading) is not None


def _level_before(case: Case, mine: Sequence[Reading | Dose]) -> Reading | None:
    """The last level of another round, or of this one where something was poured on it."""
    poured = False
    for record in reversed(mine):
        age = case.readings.at - record.measured_at
        if age > _OLDEST:
            return None
        if isinstance(record, Dose):
            poured = True
        elif _is_level(case, record) and age >= (_THIS_ROUND if poured else _ANOTHER_ROUND):
            return record
    return None


def _rate(case: Case, mine: Sequence[Reading | Dose], first: Reading, last: Reading) -> float | None:
    between = [r for r in mine if first.measured_at < r.measured_at <= last.measured_at]
    added = _added_l(between, first)
    if added is None:
        return None
    gone = (litres_of(case.reservoir, first) or 0.0) + added - (litres_of(case.reservoir, last) or 0.0)
    return gone / ((last.measured_at - first.measured_at) / timedelta(days=1))


def _added_l(records: Sequence[Reading | Dose], since: Reading) -> float | None:
    """Litres poured in since a level, less what was drained off; None where all was renewed. [L]"""
    doses = [dose for dose in only(Dose, records) if dose.measured_at >= since.measured_at]
    if any(dose.renews for dose in doses):
        return None
    return sum(-dose.litres if dose.drains else dose.litres for dose in doses)
