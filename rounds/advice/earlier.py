"""What was read here before: the last value, whether anything was poured since, whether it was read a second time."""

from __future__ import annotations

from datetime import datetime

from rounds.advice.case import Case
from rounds.book.entries import Dose, Reading, only
from rounds.book.last_answers import KEPT

LEAST_DAYS, MOST_DAYS = 0.25, 3.0
"""A reading between so many days ago is the one before: younger ones belong to this round. [d]"""

APART_S = 5.0
"""Sooner after the first, the same is the same line once more, and no second look. [s]"""


def read_before(case: Case, item: str) -> float | None:
    """The reading of an earlier round, where one is on record."""
    for reading in reversed(_read_here(case, item)):
        if KEPT not in reading.marks and LEAST_DAYS <= _age_s(case, reading) / 86400.0 <= MOST_DAYS:
            return reading.number
    return None


def ph_before(case: Case, moment: datetime) -> float | None:
    """The last pH of the book up to a moment, such as that of a dose; None where there is none. [-]"""
    read = [event.value for event in case.ledger.events if event.what == "ph" and event.at <= moment]
    return read[-1] if read else None


def poured_since(case: Case, item: str = "ec") -> bool:
    """Whether anything went in since the reading before."""
    before = [r.measured_at for r in _read_here(case, item) if _age_s(case, r) / 86400.0 >= LEAST_DAYS]
    return bool(before) and any(before[-1] < dose.measured_at <= case.now for dose in only(Dose, case.here))


def read_twice(case: Case, item: str, value: float, within: float) -> bool:
    """Whether the same was read before on this round, and nothing was poured in between."""
    on_record = {"ph": case.readings.ph_at, "ec": case.readings.ec_at}.get(item)
    read_at = on_record or case.readings.at
    poured = max((dose.measured_at for dose in only(Dose, case.here) if dose.measured_at <= case.now), default=None)
    return any(
        APART_S <= (read_at - reading.measured_at).total_seconds() < LEAST_DAYS * 86400.0
        and (poured is None or reading.measured_at > poured)
        and reading.number is not None
        and abs(reading.number - value) < within
        for reading in _read_here(case, item)
    )


def _read_here(case: Case, item: str) -> list[Reading]:
    return [reading for reading in only(Reading, case.here) if reading.item == item]


def _age_s(case: Case, reading: Reading) -> float:
    return (case.readings.at - reading.measured_at).total_seconds()
