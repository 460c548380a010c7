"""The door to corrections: what they are made of, and the one function that works one out."""

from __future__ import annotations

from rounds.advice.steps import (
    FORMAT,
    POURED,
    Action,
    After,
    Assumed,
    Correction,
    Finding,
    Interval,
    Readings,
    RecordLike,
    Refusal,
    Severity,
    Step,
)

__all__ = [
    "FORMAT",
    "POURED",
    "Action",
    "After",
    "Assumed",
    "Correction",
    "Finding",
    "Interval",
    "Readings",
    "RecordLike",
    "Refusal",
    "Severity",
    "Step",
]
