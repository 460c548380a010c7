"""The drawing in terminal characters: elevation and plan, plain enough for any font."""

from __future__ import annotations

from itertools import pairwise

from rounds.markout.plan import ChannelPlan

_ELEVATION_ROWS = 7
_DIMENSION_ROWS = 3
_LEGEND = ("o site  x empty  i inspection  D outlet", "= channel  # packer  . ground")


def draw(plan: ChannelPlan, width: int = 80, height: int = 24) -> list[str]:
    """Draw a channel in lines of plain characters, inlet at the left.

    Parameters
    ----------
    plan : Plan
        What to draw.
    width, height : int
        Room in columns and rows; at least 40 by 16.

    Returns
    -------
    list of str
        At most `height` lines of at most `width` characters. Lengths are to scale; heights have their own, stated.

    Examples
    --------
    >>> from rounds.markout.plan import plan
    >>> from rounds.markout.typed import read
    >>> typed = {"length": "3m", "section": "100x50mm", "slope": "1:40", "spacing": "500", "hole": "45", "flow": "1"}
    >>> draw(plan(read(typed)), 40)[0]
    'Fall 75 mm; column 79, row 12 mm'
    """
    canvas_width = max(40, width) - 1
    rows = max(3, min(_ELEVATION_ROWS, height - 14))
    lines = [*_elevation(plan, canvas_width, rows), "", *_from_above(plan, canvas_width), *_legend(canvas_width)]
    return [line[:canvas_width].rstrip() for line in lines][:height]


def _legend(width: int) -> list[str]:
    one_line = "  ".join(_LEGEND)
    return [one_line] if len(one_line) <= width else list(_LEGEND)


def _column(at_mm: float, length_mm: float, width: int) -> int:
    return round(at_mm / length_mm * (width - 1))


def _elevation(plan: ChannelPlan, width: int, rows: int) -> list[str]:
    supports, length = plan.bearing.supports, plan.inputs.length_mm
    inlet = supports[0].ground_mm + supports[0].packer_mm + supports[0].at_mm / plan.inputs.run_per_rise
    floor = [(0.0, inlet), (length, inlet - plan.fall_mm)]
    ground = [(float(s.at_mm), s.ground_mm) for s in supports]
    low = min(inlet - plan.fall_mm, *(level for _, level in ground))
    span = max(max(level for _, level in floor) - low, 1.0)
    canvas = [[" "] * width for _ in range(rows + 1)]

    def row(level: float) -> int:
        return rows - 1 - round((level - low) / span * (rows - 1))

    for column in range(width):
        at = column / (width - 1) * length
        canvas[row(_between(floor, at)) + 1][column] = "."
        canvas[row(_between(ground, at)) + 1][column] = "."
        canvas[row(_between(floor, at))][column] = "="
    for support in supports:
        column = _column(support.at_mm, length, width)
        for y in range(row(support.ground_mm + support.packer_mm) + 1, row(support.ground_mm) + 2):
            canvas[y][column] = "#"
    _clear_floor_dots(canvas)
    across, up = length / (width - 1), span / max(1, rows - 1)
    title = f"Fall {plan.fall_mm:.0f} mm; column {across:.0f}, row {up:.0f} mm"
    packers = _labels([(_column(s.at_mm, length, width), str(s.packer_mm)) for s in supports], width, 1)[0]
    return [title, *("".join(line) for line in canvas), *packers, "packers in mm, from the inlet"]


def _clear_floor_dots(canvas: list[list[str]]) -> None:
    """Keep the ground's dots only where they are the lowest mark of their column."""
    for column in range(len(canvas[0])):
        marks = [y for y in range(len(canvas)) if canvas[y][column] == "."]
        for y in marks[:-1]:
            canvas[y][column] = " "


def _between(points: list[tuple[float, float]], at_mm: float) -> float:
    """Height on the straight lines through the points; level beyond the first and the last."""
    for (left, high), (right, low) in pairwise(points):
        if at_mm <= right or (right, low) == points[-1]:
            share = min(max((at_mm - left) / (right - left), 0.0), 1.0)
            return high + (low - high) * share
    return points[0][1]


def _from_above(plan: ChannelPlan, width: int) -> list[str]:
    length = plan.inputs.length_mm
    line = [" "] * width
    for hole in plan.sites.holes:
        sign = "D" if hole.face == "floor" else "o"
        sign = {"site, left empty": "x", "inspection opening": "i"}.get(hole.what, sign)
        line[_column(hole.at_mm, length, width)] = sign
    edge = "+" + "-" * (width - 2) + "+"
    marks = [(_column(at, length, width), str(at)) for at in plan.sites.sites_mm]
    dimensions, left_out = _labels(marks, width, _DIMENSION_ROWS)
    title = f"Mm from the inlet; holes {plan.inputs.hole_mm:g} mm"
    more = f"; {left_out} more listed" if left_out else ""
    return [title + more, edge, "".join(line), edge, *dimensions]


def _labels(marks: list[tuple[int, str]], width: int, rows: int) -> tuple[list[str], int]:
    """Write each label under its column in the first row with room; say how many found none."""
    lines = [[" "] * width for _ in range(rows)]
    missed = 0
    for column, text in marks:
        start = min(column, width - len(text))
        free = (line for line in lines if not "".join(line[max(0, start - 1) : start + len(text) + 1]).strip(" "))
        line = next(free, None)
        if line is None:
            missed += 1
        else:
            line[start : start + len(text)] = text
    return ["".join(line) for line in lines if any(char != " " for char in line)] or [""], missed
