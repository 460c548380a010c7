"""Readings of one thing over time: what was read, and which of it may be compared."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from functools import cached_property
from itertools import pairwise
from statistics import median

from rounds.checklist.model import Item
from rounds.farm.field_types import Band
from rounds.walk.slow_change.point import Point

LONGEST_LOOK_BACK = timedelta(days=200)
SHORTEST_LOOK_BACK = timedelta(days=28)
GAPS = 12
"""So many of its own intervals back a reading is looked at: four weeks where it is daily, twelve where it is weekly."""
MISSED, MISSED_LEAST = 2.5, timedelta(days=7)
"""What was not read for so many of its intervals, and for a week, is out of date."""
_DAY = timedelta(days=1)


@dataclass(frozen=True, kw_only=True)
class Series:
    """One figure of one station over time."""

    station_id: str
    """Empty for what is read once for the whole farm, such as a probe in its buffer."""
    place: str
    item: Item
    figure: str
    """As in the checklist: value, drift, drunk."""
    label: str
    unit: str
    decimals: int
    band: Band | None
    tolerance: float
    """How far one reading may be off, as far as the farm's files say. [unit]"""
    points: tuple[Point, ...]
    """All there are, the oldest first."""
    as_of: datetime
    """The moment from which it is looked at."""
    seen_at: datetime | None = None
    """When somebody last looked at its change and left it at that."""

    @property
    def key(self) -> tuple[str, str, str]:
        """Tells it from all others of the farm."""
        return self.station_id, self.item.id, self.figure

    @property
    def is_watched(self) -> bool:
        """Whether the checklist says what a slow change of it would mean."""
        return self.item.slow is not None and self.item.slow.figure == self.figure

    @cached_property
    def compared(self) -> tuple[Point, ...]:
        """The points that may be compared: one a day, at its usual time, since it was last put right, not too old."""
        points = [point for point in self.points if point.counts]
        if len(points) < 2:
            return tuple(points)
        return tuple(point for point in points if point.at >= points[-1].at - self.look_back)

    @cached_property
    def rhythm(self) -> timedelta:
        """How often it is read, as a rule; a day at least."""
        lately = [point for point in self.points if point.counts][-2 * GAPS :]
        days = [(b.at - a.at) / _DAY for a, b in pairwise(lately)]
        return max(1.0, median(days)) * _DAY if days else _DAY

    @cached_property
    def look_back(self) -> timedelta:
        """How far back it is looked at: so many of its own intervals."""
        return min(max(GAPS * self.rhythm, SHORTEST_LOOK_BACK), LONGEST_LOOK_BACK)

    @property
    def is_fresh(self) -> bool:
        """Whether the last reading is of today's concern: what was read all summer says nothing in winter."""
        last = self.compared[-1].at if self.compared else self.as_of - LONGEST_LOOK_BACK
        return self.as_of - last <= max(MISSED * self.rhythm, MISSED_LEAST)

    def before(self, moment: datetime) -> Series:
        """The same as it stood at a moment."""
        return replace(self, as_of=moment, points=tuple(point for point in self.points if point.at < moment))
