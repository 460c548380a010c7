"""A series drawn in plain text: values and dates on its axes, the edges of the band, the trend; no colour needed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta, tzinfo

from rounds.walk.slow_change.finding import SlowChange
from rounds.walk.slow_change.point import Point
from rounds.walk.slow_change.series import Series
from rounds.walk.slow_change.words import day_text, number

READ, ASIDE, LINE, EDGE = "●", "○", "·", "┄"
ABOVE, BELOW = "▲", "▼"
"""Something so far off that it is drawn at the rim."""
LEAST_WIDTH, LEAST_HEIGHT = 30, 5
FAR_OUT = 4.0
"""Beyond so many times the spread of the rest a value is drawn at the rim. [-]"""
SHORTEST = timedelta(days=7)
"""A picture shows a week at least."""
_DAY_PLACES = 9
"""Columns that a date and the gap behind it take at least."""


@dataclass
class _Sheet:
    """Cells, and how values and times fall on them."""

    low: float
    high: float
    first: datetime
    last: datetime
    width: int
    height: int
    cells: list[list[str]] = field(init=False)

    def __post_init__(self) -> None:
        self.cells = [[" "] * self.width for _ in range(self.height)]

    def row(self, value: float) -> int:
        share = (self.high - value) / (self.high - self.low)
        return min(max(round(share * (self.height - 1)), 0), self.height - 1)

    def column(self, at: datetime) -> int:
        share = (at - self.first) / (self.last - self.first)
        return min(max(round(share * (self.width - 1)), 0), self.width - 1)


def draw(series: Series, finding: SlowChange | None, *, width: int, height: int, zone: tzinfo) -> list[str]:
    """Lines of at most `width` characters: the picture, its dates and its legend.

    Parameters
    ----------
    series : Series
        Drawn as far back as twice its look-back.
    finding : Finding or None
        Its line is drawn where there is one.
    width, height : int
        Columns and lines there are; at least 30 by 5 are used.
    """
    points = shown_points(series)
    if not points:
        return ["Nothing was read here yet."]
    low, high = _range(points, series, finding)
    labels = {round(value, 9): number(series, value) for value in (low, high, *_edges(series, low, high))}
    left = max(len(label) for label in labels.values()) + 1
    first, last = _times(points)
    sheet = _Sheet(low, high, first, last, max(width, LEAST_WIDTH) - left - 1, max(height, LEAST_HEIGHT) - 3)
    _fill(sheet, points, series, finding)
    rows = {sheet.row(value): text for value, text in labels.items()}
    body = [f"{rows.get(n, ''):>{left - 1}} │{''.join(row)}".rstrip() for n, row in enumerate(sheet.cells)]
    return [
        *body,
        f"{'':>{left}}└{'─' * sheet.width}",
        _dates(sheet, left, zone),
        _legend(points, series, finding, low, high),
    ]


def shown_points(series: Series) -> tuple[Point, ...]:
    """The points of a picture: as far back as twice the look-back."""
    if not series.points:
        return ()
    since = series.points[-1].at - 2 * series.look_back
    return tuple(point for point in series.points if point.at >= since)


def _range(points: Sequence[Point], series: Series, finding: SlowChange | None) -> tuple[float, float]:
    """From the lowest to the highest value that belongs there, and the edges of the band that are near."""
    values = sorted(point.value for point in points)
    q1, q3 = values[len(values) // 4], values[(3 * len(values)) // 4]
    reach = FAR_OUT * max(q3 - q1, 10.0**-series.decimals)
    near = [value for value in values if q1 - reach <= value <= q3 + reach]
    near += [finding.start, finding.end] if finding else []
    low, high = min(near), max(near)
    span = max(high - low, 4.0 * 10.0**-series.decimals)
    for edge in series.band or ():
        if low - 1.5 * span <= edge <= high + 1.5 * span:
            low, high = min(low, edge), max(high, edge)
    return (low, high) if high - low >= span else (low - span / 2, high + span / 2)


def _edges(series: Series, low: float, high: float) -> list[float]:
    return [edge for edge in series.band or () if low <= edge <= high]


def _times(points: Sequence[Point]) -> tuple[datetime, datetime]:
    first, last = points[0].at, points[-1].at
    return first, max(last, first + SHORTEST)


def _fill(sheet: _Sheet, points: Sequence[Point], series: Series, finding: SlowChange | None) -> None:
    for edge in _edges(series, sheet.low, sheet.high):
        sheet.cells[sheet.row(edge)] = [EDGE] * sheet.width
    if finding is not None:
        _draw_line(sheet, finding)
    compared = {point.at for point in series.compared}
    for point in sorted(points, key=lambda p: p.at in compared):
        sign = READ if point.at in compared else ASIDE
        sign = ABOVE if point.value > sheet.high else BELOW if point.value < sheet.low else sign
        sheet.cells[sheet.row(point.value)][sheet.column(point.at)] = sign


def _draw_line(sheet: _Sheet, finding: SlowChange) -> None:
    for column in range(sheet.column(finding.since), sheet.column(finding.until) + 1):
        share = column / (sheet.width - 1)
        at = sheet.first + share * (sheet.last - sheet.first)
        days = (at - finding.since) / timedelta(days=1)
        sheet.cells[sheet.row(finding.start + days * finding.slope.per_day)][column] = LINE


def _dates(sheet: _Sheet, left: int, zone: tzinfo) -> str:
    """As many dates as have room, each beginning under its own column; the last one ends at the rim."""
    count = max(2, min(6, sheet.width // (2 * _DAY_PLACES) + 1))
    line = [" "] * sheet.width
    for number_ in range(count):
        column = round(number_ * (sheet.width - 1) / (count - 1))
        text = day_text(sheet.first + (sheet.last - sheet.first) * (number_ / (count - 1)), zone)
        at = min(max(0, column - (len(text) // 2 if 0 < number_ < count - 1 else 0)), sheet.width - len(text))
        line[at : at + len(text)] = text
    return f"{'':>{left + 1}}{''.join(line)}".rstrip()


def _legend(points: Sequence[Point], series: Series, finding: SlowChange | None, low: float, high: float) -> str:
    compared = {point.at for point in series.compared}
    parts = [f"{READ} read"]
    if any(point.at not in compared for point in points):
        parts.append(f"{ASIDE} not compared")
    if any(not low <= point.value <= high for point in points):
        parts.append(f"{ABOVE}{BELOW} far off")
    parts += [f"{LINE} slow change"] if finding else []
    if series.band is not None:
        drawn = f"{EDGE} " if _edges(series, low, high) else ""
        parts.append(f"{drawn}band {number(series, series.band[0])} to {number(series, series.band[1])}")
    return "  ".join([*parts, f"({series.unit})" if series.unit else ""]).rstrip()
