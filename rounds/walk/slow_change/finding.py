"""Whether a series changes slowly: only where chance does not do the like, and where it matters."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from itertools import pairwise
from statistics import median
from typing import Literal

from rounds.science.slow_change import Slope, mann_kendall, serial_factor, theil_sen
from rounds.walk.slow_change.point import Point
from rounds.walk.slow_change.series import Series

CHANCE, CHANCE_DAILY = 0.01, 0.005
"""A change that chance makes more often is not told; what is read daily is looked at so much oftener. [-]"""
FEWEST = 5
SHORTEST_D, GAPS = 14.0, 3.0
"""Slow is what takes two weeks at least, and three of the reading's own intervals. [d], [-]"""
SHARE_OF_BAND = 0.2
"""A change by less than this share of the band's width does not matter. Practice. [-]"""
SHARE_OF_LEVEL = 0.15
"""Without a band, or away from the edge it moves to: by less than this share of what it was. Practice. [-]"""
FORGOTTEN = timedelta(days=4)
"""Readings so far apart hang no longer on one another: weather has changed, a tank was filled. Practice."""
PLAIN, MOST_OF_IT = 0.05, 2.0 / 3.0
"""The later half is told by itself where chance makes its change less often, and where it holds so much of it. [-]"""
STILL = 1.0 / 3.0
"""Where the later half moves at less than this share of the pace, it has come to rest. [-]"""
FARTHEST_D = 90.0
"""What would leave its band later than this is not foretold. [d]"""
LATEST = 3
"""The median of so many last readings has to bear the change out."""
_DAY = timedelta(days=1)


@dataclass(frozen=True, kw_only=True)
class SlowChange:
    """A reading that changes slowly: from what to what since when, and where it leads."""

    series: Series
    direction: Literal["falling", "rising"]
    start: float
    end: float
    """What the fitted line says at the first and the last reading compared. [unit]"""
    since: datetime
    until: datetime
    readings: int
    slope: Slope
    p: float
    goes_on: bool
    """Whether it still moves, as far as its later half tells."""
    edge: float | None = None
    """The end of the band that it moves to. [unit]"""
    days_left: float | None = None
    """Until the line is at that edge at this pace; 0 where it is past it, None where it is far or at rest. [d]"""
    days_left_range: tuple[float, float | None] | None = None
    """The same for the fastest and the slowest believable pace; None where the slowest does not get there. [d]"""

    @property
    def look_at(self) -> str:
        """What the checklist says to look at."""
        slow = self.series.item.slow
        return getattr(slow, self.direction) if slow is not None else ""

    @property
    def changed(self) -> float:
        """By how much, with its sign. [unit]"""
        return self.end - self.start


def finding_of(series: Series) -> SlowChange | None:
    """What a series says, or None where it holds, cannot be told from chance, or does not matter."""
    points = series.compared
    if not series.is_watched or not series.is_fresh or not _are_enough(points):
        return None
    whole = _fit(points, series)
    if not whole.p < (CHANCE_DAILY if series.rhythm < FORGOTTEN else CHANCE):
        return None
    told = _where_it_happened(whole, series)
    finding = SlowChange(
        series=series, direction="falling" if told.slope.per_day < 0.0 else "rising", start=told.start, end=told.end,
        since=told.points[0].at, until=told.points[-1].at, readings=len(points), slope=told.slope, p=whole.p,
        goes_on=_goes_on(told),
    )  # fmt: skip
    if not finding.look_at or not _matters(finding) or not _is_still_so(finding):
        return None
    return _with_its_end(finding)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Fit:
    """A line through some points, and the chance that there is none."""

    points: tuple[Point, ...]
    slope: Slope
    p: float
    start: float
    end: float


def _fit(points: tuple[Point, ...], series: Series) -> _Fit:
    times = [(point.at - points[0].at) / _DAY for point in points]
    values = [point.value for point in points]
    line = theil_sen(times, values)
    serial = 1.0
    if series.rhythm < FORGOTTEN:
        serial = serial_factor([value - line.at(time) for time, value in zip(times, values, strict=True)])
    slope = theil_sen(times, values, serial=serial) if serial > 1.0 else line
    p = mann_kendall(values, serial=serial).p
    return _Fit(points=points, slope=slope, p=p, start=slope.at(0.0), end=slope.at(times[-1]))


def _where_it_happened(whole: _Fit, series: Series) -> _Fit:
    """The later half, where it held most of the change: what was steady and then fell has the pace of the fall."""
    later = whole.points[len(whole.points) // 2 :]
    if not _are_enough(later):
        return whole
    half = _fit(later, series)
    changed, most = half.end - half.start, whole.end - whole.start
    return half if half.p < PLAIN and changed * most > 0.0 and abs(changed) >= MOST_OF_IT * abs(most) else whole


def _are_enough(points: tuple[Point, ...]) -> bool:
    if len(points) < FEWEST:
        return False
    gaps = [(b.at - a.at) / _DAY for a, b in pairwise(points)]
    return sum(gaps) >= max(SHORTEST_D, GAPS * median(gaps))


def _matters(finding: SlowChange) -> bool:
    """Beyond what the meter can tell, and a good part of the band towards its edge, or of what it was."""
    series, size = finding.series, abs(finding.changed)
    if series.figure == "drift" and finding.end * finding.changed <= 0.0:
        return False  # it comes to rest
    of_level = SHARE_OF_LEVEL * max(abs(finding.start), abs(finding.end))
    slow = series.item.slow
    least = slow.least if slow is not None and slow.least is not None else None
    band = series.band
    if least is None:
        nears = band is not None and abs(finding.end - _middle(band)) > abs(finding.start - _middle(band))
        least = SHARE_OF_BAND * (band[1] - band[0]) if band is not None and nears else of_level
    return size >= max(least, series.tolerance, 2.0 * 10.0**-series.decimals)


def _middle(band: tuple[float, float]) -> float:
    return sum(band) / 2.0


def _is_still_so(finding: SlowChange) -> bool:
    """Whether the last readings lie on the far side: what has come back by itself is no finding."""
    last = median(point.value for point in finding.series.compared[-LATEST:])
    return (last - (finding.start + finding.end) / 2.0) * finding.changed > 0.0


def _goes_on(told: _Fit) -> bool:
    half = max(FEWEST, len(told.points) // 2)
    later = told.points[-half:]
    if len(later) == len(told.points):
        return True
    times = [(point.at - later[0].at) / _DAY for point in later]
    pace = theil_sen(times, [point.value for point in later]).per_day
    return pace * told.slope.per_day > 0.0 and abs(pace) >= STILL * abs(told.slope.per_day)


def _with_its_end(finding: SlowChange) -> SlowChange:
    band = finding.series.band
    if band is None:
        return finding
    edge = band[0] if finding.direction == "falling" else band[1]
    found = replace(finding, edge=edge)
    reach, pace = edge - finding.end, finding.slope.per_day
    if reach * pace <= 0.0:
        return replace(found, days_left=0.0, days_left_range=(0.0, 0.0))
    if not finding.goes_on or reach / pace > FARTHEST_D:
        return found
    slow, fast = sorted((finding.slope.low_per_day, finding.slope.high_per_day), key=abs)
    gone = (finding.series.as_of - finding.until) / _DAY
    soonest, middle = (max(1.0, reach / each - gone) for each in (fast, pace))
    latest = max(1.0, reach / slow - gone) if slow * fast > 0.0 else None
    return replace(found, days_left=middle, days_left_range=(soonest, latest))
