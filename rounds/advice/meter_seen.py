"""What a pH meter showed of its own error: dips in buffer, and two readings in turn of the same water."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from itertools import pairwise

from rounds.advice.buffers import buffer_at, is_usual
from rounds.book.entries import BUFFER_4, Reading, only
from rounds.book.entry import Entry
from rounds.book.ledger import Ledger
from rounds.book.offer import Readings

LATELY = 12
"""So many dips, and so many double readings, tell how far a meter is off. [-]"""
SAME_WATER = timedelta(minutes=30)
"""Two readings so near each other are of the same water. [-]"""
_USUAL_C = 20.0


def in_buffer(entries: Sequence[Entry], readings: Readings) -> list[float]:
    """How far off the pH meter was in buffers lately. [-]"""
    dips = [
        r for r in only(Reading, entries) if is_a_dip(r) and r.measured_at <= readings.at and made_with(r, readings)
    ]
    usual = [r for r in dips[-LATELY:] if is_usual(r.buffer_ph)]
    return [(r.number or 0.0) - buffer_at(r.buffer_ph, r.temperature_c or _USUAL_C) for r in usual]


def is_a_dip(reading: Reading) -> bool:
    """Whether it is a dip of the pH probe in a buffer."""
    return reading.item in ("buffer", BUFFER_4) and reading.number is not None


def made_with(reading: Reading, readings: Readings) -> bool:
    """Whether it was made with the meter of now, as far as both are named."""
    return None in (reading.meter, readings.ph_meter) or reading.meter == readings.ph_meter


def between_two(ledger: Ledger) -> list[float]:
    """Differences of two readings in turn within half an hour, with nothing poured in between. [-]"""
    events = [e for e in ledger.events if e.what in ("ph", "dose", "water", "renewed")]
    return [
        z.value - a.value for a, z in pairwise(events)
        if a.what == z.what == "ph" and z.at - a.at <= SAME_WATER
    ][-LATELY:]  # fmt: skip
