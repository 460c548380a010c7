"""The plain-text picture of a series: it fits, its axes say what they show, and nothing a reading says can break it."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rounds.checklist.load import load_checklists
from rounds.walk.slow_change.finding import finding_of
from rounds.walk.slow_change.plot import draw
from rounds.walk.slow_change.point import Point
from rounds.walk.slow_change.series import Series

ITEM = load_checklists(None).item("channel", "flow")
NOW = datetime(2026, 11, 25, 6, 0, tzinfo=UTC)


def series(
    values: list[float], *, every_days: float = 7, band: tuple[float, float] | None = (0.85, 1.15), aside: int = 0
) -> Series:
    assert ITEM is not None
    points = [
        Point(at=NOW - timedelta(days=every_days * (len(values) - 1 - n)), value=value, counts=n >= aside)
        for n, value in enumerate(values)
    ]
    return Series(
        station_id="c", place="Channel", item=ITEM, figure="value", label="Flow", unit="L/min", decimals=2, band=band,
        tolerance=0.0, points=tuple(points), as_of=NOW,
    )  # fmt: skip


def picture(of: Series, width: int = 78, height: int = 12) -> list[str]:
    return draw(of, finding_of(of), width=width, height=height, zone=UTC)


def test_a_fall_shows_its_values_its_band_its_line_and_its_dates() -> None:
    lines = picture(series([1.10, 1.05, 1.01, 0.98, 0.96, 0.93, 0.90, 0.88]))
    assert lines[0].startswith("1.15 │┄┄┄┄")
    assert any(line.startswith("0.85 │┄┄┄┄") for line in lines)
    assert sum(line.count("●") for line in lines[:-1]) == 8
    assert sum(line.count("·") for line in lines[:-1]) > 20
    assert lines[-2].split() == ["7", "Oct", "19", "Oct", "31", "Oct", "13", "Nov", "25", "Nov"]
    assert lines[-1] == "● read  · slow change  ┄ band 0.85 to 1.15  (L/min)"


def test_each_value_stands_in_the_row_of_its_height_and_the_column_of_its_day() -> None:
    """Nine rows from 1.15 down to 0.75: 0.05 each. By hand: 1.00 is the fourth, 0.75 the last, 0.90 the sixth."""
    lines = picture(series([1.00, 0.75, 0.90], band=(0.85, 1.15)))
    rows = {n: line.index("●") for n, line in enumerate(lines[:9]) if "●" in line}
    assert set(rows) == {3, 5, 8}
    left = lines[0].index("│") + 1
    assert (rows[3], rows[5]) == (left, 77)
    assert abs(rows[8] - (left + 77) / 2) <= 1


def test_what_is_not_compared_looks_otherwise() -> None:
    lines = picture(series([1.0, 1.02, 0.98, 1.01, 1.0], aside=2))
    assert sum(line.count("○") for line in lines[:-1]) == 2
    assert sum(line.count("●") for line in lines[:-1]) == 3
    assert "○ not compared" in lines[-1]


def test_a_typing_error_stands_at_the_rim_and_does_not_press_the_others_flat() -> None:
    lines = picture(series([1.00, 1.02, 9.9, 1.01, 0.99, 0.05, 1.00], band=None))
    text = "\n".join(lines)
    assert text.count("▲") == 2 and text.count("▼") == 2, "one in the picture, one in the legend"
    assert "9.9" not in text
    assert lines[0].startswith("1.0")


def test_a_band_far_away_is_named_but_not_drawn() -> None:
    lines = picture(series([1.00, 1.01, 1.00, 0.99], band=(-200.0, 300.0)))
    assert not any("┄" in line for line in lines)
    assert "band -200.00 to 300.00" in lines[-1]


@pytest.mark.parametrize("values", [[1.0], [1.0, 1.0], [0.0, 0.0, 0.0]])
def test_few_or_equal_readings_are_drawn_too(values: list[float]) -> None:
    lines = picture(series(values))
    assert sum(line.count("●") for line in lines[:-1]) >= 1


def test_nothing_read_is_said() -> None:
    assert picture(series([])) == ["Nothing was read here yet."]


@given(
    st.lists(st.floats(-1e9, 1e9), min_size=1, max_size=60),
    st.integers(1, 200),
    st.integers(1, 60),
    st.sampled_from([0.001, 1.0, 7.0, 30.0]),
)
def test_it_never_breaks_and_never_leaves_its_frame(values: list[float], width: int, height: int, every: float) -> None:
    lines = picture(series(values, every_days=every), width, height)
    assert len(lines) == max(height, 5)
    body = lines[:-1]
    long_numbers = max(line.index("│") for line in body[:-2]) if len(body) > 2 else 0
    assert all(len(line) <= max(width, 30, long_numbers + 31) for line in body)
