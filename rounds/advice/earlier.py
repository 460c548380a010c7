"""What was read here before: the last value, whether anything was poured since, whether it was read a second time."""

from __future__ import annotations

from rounds.advice.case import Case
from rounds.book.measures import number

LEAST_DAYS, MOST_DAYS = 0.25, 3.0
"""A reading between so many days ago is the one before: younger ones belong to this round. [d]"""


def read_before(case: Case, item: str) -> float | None:
    """The reading of an earlier round, where one is on record."""
    for record in reversed(case.records):
        if (
            record.kind == "reading" and record.station == case.reservoir.id and record.item == item
            and LEAST_DAYS <= (case.readings.at - record.measured_at).total_seconds() / 86400.0 <= MOST_DAYS
        ):  # fmt: skip
            return number(record.value)
    return None


def poured_since(case: Case, item: str = "ec") -> bool:
    """Whether anything went in since the reading before."""
    before = [
        r.measured_at for r in case.records
        if r.kind == "reading" and r.station == case.reservoir.id and r.item == item
        and (case.readings.at - r.measured_at).total_seconds() / 86400.0 >= LEAST_DAYS
    ]  # fmt: skip
    return bool(before) and any(
        r.kind == "dose" and r.station == case.reservoir.id and before[-1] < r.measured_at <= case.now
        for r in case.records
    )


def read_twice(case: Case, item: str, value: float, within: float) -> bool:
    """Whether the same was read before within the hour."""
    return any(
        r.kind == "reading" and r.station == case.reservoir.id and r.item == item
        and 30.0 < (case.readings.at - r.measured_at).total_seconds() < 3600.0
        and (before := number(r.value)) is not None and abs(before - value) < within
        for r in case.records
    )  # fmt: skip
