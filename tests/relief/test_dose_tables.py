"""Dose tables for paper: every cell is what the app gives a helper for that reading, and fits its whole range."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import msgspec
import pytest

from rounds.book.offer import Readings, Step
from rounds.errors import Refused
from rounds.farm.volumes import litres_to_dip
from rounds.relief.doses import cell_text, dose_section
from rounds.relief.sheet import records_for_doses, relief_for, sheet_tables
from rounds.relief.table_ranges import ranges_outside
from rounds.relief.tables import DOUBTFUL, POURED, STOP, DoseTable, dose_table
from rounds.walk.helper import ML_POURED
from rounds.walk.offering import work_out
from rounds.walk.session import Session

AT = datetime(2026, 11, 25, 6, 0, tzinfo=UTC)
FIRST, LAST = date(2026, 11, 25), date(2026, 12, 1)
ALL = '"leaf-a", "leaf-b", "nitric-8", "koh-5"'
Open = Callable[..., Session]


def poured(steps: tuple[Step, ...]) -> dict[str, float]:
    return {f"{s.action} {s.product}": s.amount for s in steps if s.action in POURED or s.action == "drain_off"}


def table_of(session: Session, reservoir: str = "res-1") -> DoseTable:
    records = records_for_doses(session)
    return dose_table(session.farm, records, reservoir, session.now(), FIRST, LAST)


@pytest.fixture(scope="module")
def made(laid_out: Path) -> dict[str, DoseTable]:
    """The sample farm's tables, made once."""
    session = Session.open(laid_out, clock=lambda: AT)
    return {each: table_of(session, each) for each in ("reservoir-1", "reservoir-2", "reservoir-3")}


def rounding_ml(amount: float) -> float:
    """One step of what syringe, cylinder and jug show; see the steps of 0.1, 0.5, 1, 5 and 10 mL of the trade."""
    return next(step for most, step in ((5, 0.1), (20, 0.5), (100, 1), (500, 5), (1e9, 10)) if amount <= most)


@pytest.mark.parametrize("apart", [5, pytest.param(1, marks=pytest.mark.long)])
@pytest.mark.parametrize("reservoir", ["reservoir-1", "reservoir-2", "reservoir-3"])
def test_every_cell_is_what_the_app_gives_the_helper_for_that_reading(
    laid_out: Path, opened: Open, made: dict[str, DoseTable], reservoir: str, apart: int
) -> None:
    """Of all rows together each fifth cell, and in the long run every one."""
    table, helper = made[reservoir], opened(laid_out, "helper")
    for cell in [cell for row in table.ec_rows for cell in row.cells][::apart]:
        steps = work_out(helper, reservoir, cell.readings).steps
        if cell.call == DOUBTFUL:
            assert "read_again" in {step.action for step in steps}
            continue
        app = poured(steps)
        paper = poured(cell.steps)
        assert paper.keys() == app.keys()
        for key, amount in paper.items():
            assert amount == pytest.approx(app[key], abs=rounding_ml(amount) + 1e-9), cell.readings


@pytest.mark.parametrize("reservoir", ["reservoir-1", "reservoir-2", "reservoir-3"])
def test_a_weak_feed_is_never_called_nothing_nor_thinned_without_feed(
    laid_out: Path, opened: Open, made: dict[str, DoseTable], reservoir: str
) -> None:
    session, table = opened(laid_out), made[reservoir]
    lowest = session.farm.stage_of(table.reservoir).ec[0]
    weak = [cell for row in table.ec_rows if row.high < lowest for cell in row.cells]
    assert weak
    for cell in weak:
        assert cell.call or "concentrate_a" in {step.action for step in cell.poured}, cell.readings
        assert cell_text(session.farm, cell) != "nothing"


def test_with_acid_allowed_the_ph_rows_are_what_the_app_gives_too(
    farm_folder: Path, opened: Open, allow: Callable[..., None]
) -> None:
    allow(farm_folder, ALL)
    table = table_of(opened(farm_folder))
    helper = opened(farm_folder, "ben")
    doses = 0
    for row in table.ph_rows:
        for cell in row.cells:
            app = poured(work_out(helper, "res-1", cell.readings).steps)
            paper = poured(cell.steps)
            assert paper.keys() == app.keys()
            for key, amount in paper.items():
                assert amount == pytest.approx(app[key], abs=rounding_ml(amount) + 1e-9)
            doses += any(step.action in ("acid", "base") for step in cell.steps)
    assert doses > 5, "acid and base do stand in it"


def test_without_acid_allowed_there_are_no_ph_rows_but_what_to_do(farm_folder: Path, opened: Open) -> None:
    session = opened(farm_folder)
    table = table_of(session)
    assert table.ph_rows == ()
    section = dose_section(session.farm, table, session.farm.limits.helper)
    assert any("Outside it pour nothing" in line for line in section.after)


def test_anywhere_in_a_range_the_app_would_feed_about_as_much_or_more(
    farm_folder: Path, opened: Open, allow: Callable[..., None]
) -> None:
    allow(farm_folder, '"leaf-a", "leaf-b"', step_ml=5000, day_ml=10_000)
    table = table_of(opened(farm_folder))
    helper = opened(farm_folder, "ben")
    weak = [row for row in table.ec_rows if row.high < 1.5]
    assert weak
    for row in weak:
        for cell, (lowest, fullest) in zip(row.cells, table.levels_cm, strict=True):
            paper = poured(cell.steps).get("concentrate_a leaf-a", 0.0)
            for ec in (row.low, row.high):
                for dip in (lowest, fullest):
                    readings = msgspec.structs.replace(cell.readings, ec_ms_cm=ec, dip_cm=dip)
                    app = poured(work_out(helper, "res-1", readings).steps).get("concentrate_a leaf-a", 0.0)
                    if app:
                        # A range of levels is at most 7 % of the volume wide, and a dose goes with the volume.
                        assert paper <= 1.08 * app + rounding_ml(app)


def water_l(steps: tuple[Step, ...]) -> float:
    return sum(step.amount for step in steps if step.action in ("top_up", "drain_off"))


@pytest.mark.parametrize("reservoir", ["reservoir-1", "reservoir-3"])
def test_a_strong_feed_is_nowhere_thinned_more_than_the_app_does_at_either_end_of_a_level(
    laid_out: Path, opened: Open, made: dict[str, DoseTable], reservoir: str
) -> None:
    """From the lowest level it is far to the mark: as many litres at the highest would overfill and thin too much."""
    session = opened(laid_out)
    table, helper = made[reservoir], opened(laid_out, "helper")
    top = session.farm.stage_of(table.reservoir).ec[1]
    compared = 0
    for row in (row for row in table.ec_rows if row.low > top):
        for cell, ends in zip(row.cells, table.levels_cm, strict=True):
            app = [
                work_out(helper, reservoir, msgspec.structs.replace(cell.readings, dip_cm=dip)).steps for dip in ends
            ]
            assert cell.readings.dip_cm in ends
            assert water_l(cell.steps) <= min(map(water_l, app)) + 5.0, "as the app, but for what a jug shows"
            compared += water_l(app[0]) != water_l(app[1])
    assert compared, "the ends do differ"


def test_the_band_stands_in_two_halves_each_worked_out_at_its_own_upper_edge(made: dict[str, DoseTable]) -> None:
    """Water for a feed of 2.0 would thin one of 1.5 in a low reservoir to 1.5 x (300 - 55) / 300 = 1.23, by hand."""
    table = made["reservoir-1"]
    assert [(row.low, row.high) for row in table.ec_rows if row.low >= 1.5 and row.high <= 2.0] == [
        (1.5, 1.75),
        (1.76, 2.0),
    ]
    lower, upper = (row for row in table.ec_rows if row.low in (1.5, 1.76))
    assert {cell.readings.ec_ms_cm for cell in lower.cells} == {1.75}
    assert {cell.readings.ec_ms_cm for cell in upper.cells} == {2.0}


def test_a_table_holds_to_the_helpers_limits(farm_folder: Path, opened: Open, allow: Callable[..., None]) -> None:
    allow(farm_folder, ALL, step_ml=60, day_ml=90)
    table = table_of(opened(farm_folder))
    for row in (*table.ec_rows, *table.ph_rows):
        for cell in row.cells:
            doses = [step.amount for step in cell.steps if step.action in ML_POURED]
            assert all(amount <= 60 for amount in doses)
            assert sum(doses) <= 90


def test_the_ranges_leave_no_gap_and_do_not_overlap(farm_folder: Path, opened: Open) -> None:
    table = table_of(opened(farm_folder))
    for one, other in zip(table.ec_rows, table.ec_rows[1:], strict=False):
        assert other.low - one.high in (0.0, pytest.approx(0.01))
    for (low, high), (lower, upper) in zip(table.levels_cm, table.levels_cm[1:], strict=False):
        assert lower < upper < low < high
        assert low - upper == pytest.approx(0.5)
    mark = litres_to_dip(table.reservoir, table.reservoir.working_volume_l)
    assert table.levels_cm[0][0] < mark <= table.levels_cm[0][1]


@pytest.mark.parametrize(("working_l", "highest_cm"), [(180, 37.0), (218, 44.0)])
def test_the_highest_level_ends_a_centimetre_above_the_mark_and_never_above_the_brim(
    farm_folder: Path, opened: Open, working_l: int, highest_cm: float
) -> None:
    """220 L are 44 cm: the mark stands at 36 cm, or at 43.6."""
    path = farm_folder / "farm.toml"
    path.write_text(path.read_text("utf-8").replace("working_volume_l = 180", f"working_volume_l = {working_l}"))
    table = table_of(opened(farm_folder))
    assert table.levels_cm[0][1] == pytest.approx(highest_cm)
    assert all(cell.readings.dip_cm <= highest_cm for row in table.ec_rows for cell in row.cells)


def test_ranges_stop_at_nothing_in_the_water() -> None:
    assert all(low > 0 for low, _, _ in ranges_outside((0.2, 0.4), (0.0, 0.12, 0.25), (0.0, 0.2)))


def test_a_table_says_what_it_holds_for_and_when_to_stop(farm_folder: Path, opened: Open) -> None:
    session = opened(farm_folder)
    section = dose_section(session.farm, table_of(session), session.farm.limits.helper)
    text = " ".join([*section.lines, *section.after])
    for part in ("Leaf feed", "grown", "Well water", "25 Nov", "01 Dec 2026"):
        assert part in text
    assert STOP in text
    assert STOP == "Outside this table: do nothing, call."


def test_without_a_strength_there_is_no_table_but_a_sentence(
    farm_folder: Path, opened: Open, allow: Callable[..., None]
) -> None:
    allow(farm_folder, ALL)
    session = opened(farm_folder)
    weak = msgspec.structs.replace(session.farm.shelf["nitric-8"], percent=None)
    farm = replace(session.farm, shelf={**session.farm.shelf, "nitric-8": weak})
    with pytest.raises(Refused, match="no dose table for Reservoir one"):
        dose_table(farm, [], "res-1", AT, FIRST, LAST)
    refused = sheet_tables(replace(session, filed=farm), relief_for(session, "ben", FIRST, LAST))
    assert isinstance(refused[0], Refused)
    section = dose_section(farm, refused[0], farm.limits.helper)
    assert "Pour nothing here. Call." in section.lines


def test_an_unknown_salt_leaves_no_table(farm_folder: Path, opened: Open) -> None:
    session = opened(farm_folder)
    odd = msgspec.structs.replace(session.farm.shelf["leaf-a"], salts_g_l={"moon_dust": 50.0})
    with pytest.raises(Refused, match="moon_dust"):
        dose_table(replace(session.farm, shelf={**session.farm.shelf, "leaf-a": odd}), [], "res-1", AT, FIRST, LAST)


def test_a_cell_reads_in_the_order_of_pouring(farm_folder: Path, opened: Open, allow: Callable[..., None]) -> None:
    allow(farm_folder, '"leaf-a", "leaf-b"')
    session = opened(farm_folder)
    table = table_of(session)
    band = next(row for row in table.ec_rows if row.low == 1.5)
    weak = table.ec_rows[0]
    assert cell_text(session.farm, band.cells[0]) == "nothing"
    assert cell_text(session.farm, weak.cells[0]).startswith("A ")
    assert "call" in cell_text(session.farm, weak.cells[2]), "hard water without acid"
    readings = Readings(at=AT, ph=5.9, ec_ms_cm=weak.high, temperature_c=18.0, dip_cm=table.levels_cm[0][1])
    assert weak.cells[0].readings == readings
