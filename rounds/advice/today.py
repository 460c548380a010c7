"""What counts as today for a correction: see `rounds.book.day`."""

from __future__ import annotations

from datetime import datetime

from rounds.advice.case import Case
from rounds.book import day


def day_began(case: Case, at: datetime) -> datetime:
    """When the day of a moment began, by the farm's own clock."""
    return day.begin_of_day(at, day.zone_of(case.farm.place.timezone), day.morning_rounds(case.entries))


def limits_since(case: Case, at: datetime) -> datetime:
    """From when on what was poured counts against the limits of the day."""
    return day.limits_since(at, day.zone_of(case.farm.place.timezone), day.morning_rounds(case.entries))
