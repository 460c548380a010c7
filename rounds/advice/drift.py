"""How the conductivity moves by itself from one round to the next: plants that eat more than they drink, or less."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from itertools import pairwise
from statistics import median

from rounds.advice.case import Case

FEWEST = 3
"""Rounds with nothing poured between that must have been seen. [-]"""
LATEST = timedelta(days=14)
_LEAST_H, _MOST_H = 8.0, 72.0
_MOST_PER_DAY = 0.5
"""A conductivity that moves by more in a day was read wrong, or something was poured that nobody wrote down. [mS/cm]"""


def ec_per_day(case: Case) -> float | None:
    """What the conductivity usually does in a day with nothing poured; None where too little was seen. [mS/cm/day]"""
    found = [per_day for per_day in _undisturbed_per_day(case) if abs(per_day) <= _MOST_PER_DAY]
    return median(found) if len(found) >= FEWEST else None


def _undisturbed_per_day(case: Case) -> Iterator[float]:
    """What it did from one round to the next with nothing poured in between. [mS/cm/day]"""
    events = [e for e in case.ledger.events if e.what != "ph" and case.readings.at - e.at <= LATEST]
    for before, after in pairwise(events):
        hours = (after.at - before.at).total_seconds() / 3600.0
        if before.what == after.what == "ec" and _LEAST_H <= hours <= _MOST_H:
            yield (after.value - before.value) * 24.0 / hours


def ec_by_next_round(case: Case, ec_ms_cm: float) -> float | None:
    """Where a conductivity will be when the grower comes again, by its usual drift; None where too little was seen."""
    per_day = ec_per_day(case)
    return None if per_day is None else ec_ms_cm + per_day * case.next_round_h / 24.0
