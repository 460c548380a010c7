"""The rows of the walk on paper, what is normal there, and how old a feed will be when the grower is back."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from rounds.history.record import Draft
from rounds.relief.easier import easier
from rounds.relief.model import Grid, ReliefSheet
from rounds.relief.sheet import relief_for, relief_sheet
from rounds.walk.session import Session

FIRST, LAST = date(2026, 11, 26), date(2026, 12, 2)
NOW = datetime(2026, 11, 25, 6, 0, tzinfo=UTC)
POURED = "poured: water L / A mL / B mL"
Open = Callable[..., Session]


def sheet_of(session: Session) -> ReliefSheet:
    return relief_sheet(session, relief_for(session, "ben", FIRST, LAST))


def headed(sheet: ReliefSheet) -> dict[str, Grid]:
    """The grids of the walk with a station's name at their head."""
    return {grid.rows[0][0]: grid for section in sheet.sections for grid in section.grids if grid.headed}


def read(session: Session, item: str, value: float) -> None:
    session.history.save(Draft(kind="reading", station="res-1", item=item, value=value, measured_at=session.now()))


def test_a_reservoir_has_room_for_what_was_poured_and_no_other_station_has(farm_folder: Path, opened: Open) -> None:
    grids = headed(sheet_of(opened(farm_folder)))
    assert len(grids) > 1
    with_room = [name for name, grid in grids.items() if POURED in [row[0] for row in grid.rows]]
    assert with_room == ["Reservoir one"]


def test_a_week_fills_the_width_of_the_page(farm_folder: Path, opened: Open) -> None:
    for grid in headed(sheet_of(opened(farm_folder))).values():
        assert len(grid.widths) == 8
        assert sum(grid.widths) == pytest.approx(100.0)
        assert all(row[0] == grid.rows[0][0] or len(row) == 8 for row in grid.rows)


def test_a_row_names_its_band_and_the_last_reading_where_there_is_one(farm_folder: Path, opened: Open) -> None:
    session = opened(farm_folder)
    read(session, "ph", 6.02)
    read(session, "dip", 35.0)
    labels = [row[0] for row in headed(sheet_of(session))["Reservoir one"].rows]
    assert "pH (5.60 to 6.20, last 6.02)" in labels
    assert "EC, mS/cm (1.50 to 1.90)" in labels
    assert any(label.startswith("Dip, cm (last 35") for label in labels)


def test_a_reading_that_has_neither_stands_without_brackets(farm_folder: Path, opened: Open) -> None:
    labels = [row[0] for row in headed(sheet_of(opened(farm_folder)))["Reservoir one"].rows]
    assert "Dip, cm" in labels


def test_how_a_reading_is_taken_stands_in_the_list_of_what_is_normal(farm_folder: Path, opened: Open) -> None:
    session = opened(farm_folder)
    (section,) = [s for s in sheet_of(session).sections if s.title.startswith("What is normal")]
    told = " ".join(cell for grid in section.grids for row in grid.rows for cell in row)
    eggs = session.item(session.farm.station("hens"), "eggs")
    assert eggs.how
    assert f"**{eggs.label}** {eggs.how.rstrip('.')}. **IF NOT:** {eggs.off}" in told


@pytest.mark.parametrize(
    ("days_ago", "told"),
    [
        (None, "No change-out is on record in these weeks: renew it before you leave."),
        (2, "The feed will be 9 days old on the last day: it will do."),
        (7, "The feed will be 14 days old on the last day: it will do."),
        (8, "The feed will be 15 days old on the last day: renew it before you leave."),
    ],
)
def test_the_grower_is_told_how_old_the_feed_will_be(
    farm_folder: Path, opened: Open, days_ago: int | None, told: str
) -> None:
    session = opened(farm_folder)
    if days_ago is not None:
        renewed = Draft(
            kind="dose", station="res-1", item="well", value=180.0, unit="L",
            measured_at=NOW - timedelta(days=days_ago), data={"action": "change_out", "litres": 180.0},
        )  # fmt: skip
        session.history.save(renewed)
    (plan,) = easier(session, relief_for(session, "ben", FIRST, LAST))
    assert told in plan.said
