"""A dose table as a section of the sheet: rows of readings, columns of levels, and the stop line."""

from __future__ import annotations

from math import isclose

from rounds.book.offer import Step
from rounds.errors import Refused
from rounds.farm.farm import Farm
from rounds.farm.model import HelperLimits
from rounds.farm.volumes import dip_to_litres, litres_to_dip
from rounds.relief.model import Grid, SheetSection, tidy
from rounds.relief.tables import STOP, Cell, DoseTable, Row

NOTHING = "nothing"
CALL = "call"
HOW = (
    "Dip and read EC and pH with the pump running, probe rinsed. Find the row of the reading and the column of the "
    "dip; do what stands there, in that order: water, A, wait, B. Water: where the feed is weak or right up to the "
    "mark, where it is too strong the litres that stand there: they bring it to the middle of its band, which may be "
    "fewer than up to the mark. Once a day only. Topped up from a prepared tank: no A and B that day."
)


def dose_section(farm: Farm, table: DoseTable | Refused, limits: HelperLimits, prepared: str = "") -> SheetSection:
    """The section of one table, or of the reason why there is none, headed by what may have been prepared."""
    if isinstance(table, Refused):
        return SheetSection(title="Doses", lines=(tidy(f"{table.sentence} {table.hint}"), "Pour nothing here. Call."))
    reservoir = table.reservoir
    mark = litres_to_dip(reservoir, reservoir.working_volume_l)
    grids = [_grid(farm, table, table.ec_rows, "EC, mS/cm, at a dip of")]
    if table.ph_rows:
        grids.append(_grid(farm, table, table.ph_rows, "pH, at a dip of"))
    return SheetSection(
        title=tidy(f"Doses: {reservoir.name}"),
        lines=(tidy(" ".join([*table.holds, _order(table, mark)])), *([tidy(prepared)] if prepared else [])),
        grids=tuple(grids),
        after=(f"{STOP} {_limits(limits)} {_ph_line(farm, table)}",),
    )


def how_to_dose() -> SheetSection:
    """How the tables are read; it stands before the first of them."""
    return SheetSection(title="Doses: how to read the tables", lines=(HOW,))


def cell_text(farm: Farm, cell: Cell) -> str:
    """A cell in few words, in the order of pouring.

    Water in litres, A, B, acid and base in millilitres.
    """
    parts = [_step_text(farm, step) for step in cell.poured]
    if cell.call:
        parts.append(f"then {CALL}" if parts else CALL)
    return ", ".join(parts) or NOTHING


def _grid(farm: Farm, table: DoseTable, rows: tuple[Row, ...], head: str) -> Grid:
    heads = (head, *(f"{low:g} to {high:g} cm\n{_missing(table, low, high)}" for low, high in table.levels_cm))
    return Grid(heads=heads, rows=tuple(_merged(farm, rows)), widths=(19, 27, 27, 27))


def _merged(farm: Farm, rows: tuple[Row, ...]) -> list[tuple[str, ...]]:
    """The rows in words; neighbours with the same cells become one."""
    found: list[tuple[float, float, tuple[str, ...]]] = []
    for row in rows:
        cells = tuple(cell_text(farm, cell) for cell in row.cells)
        if found and found[-1][2] == cells and isclose(row.low, found[-1][1] + 0.01):
            found[-1] = (found[-1][0], row.high, cells)
        else:
            found.append((row.low, row.high, cells))
    return [(f"{low:.2f} to {high:.2f}", *cells) for low, high, cells in found]


def _missing(table: DoseTable, low_cm: float, high_cm: float) -> str:
    working = table.reservoir.working_volume_l
    most, least = (max(0.0, working - dip_to_litres(table.reservoir, dip)[0]) for dip in (low_cm, high_cm))
    return f"{least:.0f} to {most:.0f} L below the mark"


def _step_text(farm: Farm, step: Step) -> str:
    water = farm.waters.get(step.product or "")
    match step.action:
        case "top_up":
            return f"{step.amount:g}\u00a0L {water.name if water else step.product}"
        case "drain_off":
            return f"drain off {step.amount:g}\u00a0L"
        case "concentrate_a" | "concentrate_b" | "concentrate_c" | "concentrate_d":
            return f"{step.action[-1].upper()} {step.amount:g}\u00a0mL"
    product = farm.shelf.get(step.product or "")
    return f"{product.name if product else step.action} {step.amount:g}\u00a0mL"


def _order(table: DoseTable, mark_cm: float) -> str:
    return (
        f"The mark is at {mark_cm:.1f} cm. After A wait {table.wait_min / 3:.0f} min, then B; wait "
        f"{table.wait_min:.0f} min before the next reading."
    )


def _ph_line(farm: Farm, table: DoseTable) -> str:
    low, high = farm.stage_of(table.reservoir).ph
    if table.ph_rows:
        return f"pH {low:g} to {high:g}: nothing. Never acid or base on the same day as A and B without a new reading."
    return f"pH {low:g} to {high:g} is right. Outside it pour nothing: read again in an hour, next morning call."


def _limits(limits: HelperLimits) -> str:
    return (
        f"Never more than {limits.step_ml:g} mL of one thing in a step, {limits.day_ml:g} mL a day in all reservoirs "
        "together."
    )
