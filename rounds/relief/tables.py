"""Dose tables for paper: the same corrections as in the app, worked out for a grid of readings.

Every cell covers a small range of readings. It is worked out at the reading nearest to the band, in the fullest
reservoir of the range where something is fed, and where it is thinned at that end of the range which takes less water.
Elsewhere in the range the app would feed about as much or more: never less by more than the range of levels is wide,
which moves EC by some hundredths. The band itself stands in two halves.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from types import SimpleNamespace
from typing import Any

from rounds.book.actions import POURED
from rounds.book.composition import agent_of, feed_known
from rounds.book.entries import Count, Dose, Reading, entries_of, entry_of, only
from rounds.book.entry import RecordLike
from rounds.book.newer import INSTEAD, standing, told
from rounds.book.offer import Correction, Readings, Step
from rounds.errors import BadInput, Refused, RoundsError
from rounds.farm.farm import Farm
from rounds.farm.shelf import Acid, Base, Concentrate, Product
from rounds.farm.stations import Reservoir
from rounds.relief.table_ranges import PH_STEPS, STRONG_STEPS, WEAK_STEPS, Range, halves, level_ranges, ranges_outside
from rounds.walk.helper import CALL_FOR_PH, HelperView, helpers_view

STOP = "Outside this table: do nothing, call."
DOUBTFUL = "So far from the last reading that the app would have it read again: that is for the grower to judge."
_USUAL_TEMPERATURE_C = 18.0


@dataclass(frozen=True, slots=True, kw_only=True)
class TableMoment:
    """When, and in how warm a water, a table is worked out."""

    at: datetime
    temperature_c: float
    ph: float = 7.0
    """Where the pH is believed to be, within the middle half of its band: what a conductivity is tabled with. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """What is done for one range of readings, and the corner at which it was worked out."""

    readings: Readings
    steps: tuple[Step, ...]
    call: str
    """Why the grower is called; empty where that is not needed."""

    @property
    def poured(self) -> tuple[Step, ...]:
        """The steps with an amount, in order."""
        return tuple(step for step in self.steps if step.action in POURED or step.action == "drain_off")


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One range of EC or pH."""

    low: float
    high: float
    cells: tuple[Cell, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class DoseTable:
    """The table of one reservoir."""

    reservoir: Reservoir
    first: date
    last: date
    levels_cm: tuple[tuple[float, float], ...]
    """Lower and upper dip of each column. [cm]"""
    ec_rows: tuple[Row, ...]
    ph_rows: tuple[Row, ...]
    """Empty where the helper may pour neither acid nor base."""
    products: tuple[Product, ...]
    """What may be poured here."""
    wait_min: float
    """From A to B, and from a dose to the next reading. [min]"""
    holds: tuple[str, ...]
    """What it holds for."""


def dose_table(
    farm: Farm, records: Sequence[RecordLike], reservoir_id: str, at: datetime, first: date, last: date
) -> DoseTable:
    """Work out the table of one reservoir.

    Parameters
    ----------
    records : sequence of record
        Effective records, as for a correction.
    at : datetime
        The moment it is worked out for, with its zone.

    Raises
    ------
    NotFound
        Where there is no such reservoir.
    Refused
        Where a strength is not known, where a record of an unknown kind may have changed what is in there, or where
        nothing can be worked out.
    """
    reservoir = farm.reservoir(reservoir_id)
    unknown = standing(farm, reservoir, records)
    if unknown:
        raise Refused(f"There is no dose table for {reservoir.name}: {told(unknown[-1], at)}.", INSTEAD)
    stage = farm.stage_of(reservoir)
    allowed = _allowed(farm, reservoir)
    view = helpers_view(farm, _of_interest(farm, records, reservoir), reservoir_id, at)
    moment = TableMoment(at=at, temperature_c=_last_temperature_c(records, reservoir_id))
    view, usual_ph = _with_belief(view, _readings(moment, sum(stage.ph) / 2, sum(stage.ec) / 2, None))
    middle, quarter = sum(stage.ph) / 2, (stage.ph[1] - stage.ph[0]) / 4
    moment = replace(moment, ph=min(max(usual_ph, middle - quarter), middle + quarter))
    levels = level_ranges(reservoir)
    outside = ranges_outside(stage.ec, WEAK_STEPS, STRONG_STEPS)
    ec_ends = sorted([*outside, *halves(stage.ec)])
    ph_ends = ranges_outside(stage.ph, PH_STEPS, PH_STEPS) if _may_move_ph(allowed) else []
    ec_rows = _trimmed([_row(view, moment, ends, levels, of="ec") for ends in ec_ends])
    ph_rows = _trimmed([_row(view, moment, ends, levels, of="ph") for ends in ph_ends])
    return DoseTable(
        reservoir=reservoir, first=first, last=last, levels_cm=levels, ec_rows=ec_rows, ph_rows=ph_rows,
        products=allowed, wait_min=_wait(farm, reservoir), holds=_holds(farm, reservoir, allowed, first, last),
    )  # fmt: skip


def _trimmed(rows: Sequence[Row]) -> tuple[Row, ...]:
    """The rows without those at either end that only say to call: outside a table that is done anyway."""
    useful = [place for place, row in enumerate(rows) if any(not cell.call for cell in row.cells)]
    return tuple(rows[useful[0] : useful[-1] + 1]) if useful else tuple(rows)


def _allowed(farm: Farm, reservoir: Reservoir) -> tuple[Product, ...]:
    feed = farm.feeds[reservoir.feed]
    mine = [farm.shelf[p] for p in farm.limits.helper.products if p in farm.shelf]
    found = [p for p in mine if isinstance(p, Acid | Base) or p.id in feed.products]
    try:
        feed_known(farm, feed)
        for product in found:
            if isinstance(product, Acid | Base):
                agent_of(product)
    except BadInput as error:
        raise Refused(f"There is no dose table for {reservoir.name}: {error.sentence}", error.hint) from error
    return tuple(found)


def _may_move_ph(allowed: Sequence[Product]) -> bool:
    return any(isinstance(product, Acid | Base) for product in allowed)


def _last_temperature_c(records: Sequence[RecordLike], reservoir_id: str) -> float:
    read = [reading for reading in only(Reading, entries_of(records), reservoir_id) if reading.item == "t"]
    last = read[-1].number if read else None
    return _USUAL_TEMPERATURE_C if last is None else last


def _of_interest(farm: Farm, records: Sequence[RecordLike], reservoir: Reservoir) -> list[RecordLike]:
    """The records that a correction of this reservoir uses; it would skip the rest."""
    near = {reservoir.id, "", *(channel.id for channel in farm.channels_of(reservoir.id))}
    return [r for r in records if r.station in near or isinstance(entry_of(r), Count | Dose)]


def _with_belief(view: HelperView, readings: Readings) -> tuple[HelperView, float]:
    """The same view, its weeks of history gone through once and kept as a correction keeps them; the pH believed."""
    from rounds.advice.case import gathered
    from rounds.belief.memory import kept
    from rounds.belief.response import waited
    from rounds.belief.state import PH

    try:
        case = gathered(view.farm, view.records, view.reservoir_id, readings, view.now)
    except RoundsError as error:
        raise Refused(f"There is no dose table: {error.sentence}", error.hint) from error
    if not case.ledger.events or case.before.gaussian is None:
        return view, readings.ph or 7.0
    ph = waited(case.before, case.curve, view.now).mean[PH]
    seed: Any = SimpleNamespace(
        id="table", kind="correction", station=view.reservoir_id, item="", value=None, unit=None, meter=None, note=None,
        measured_at=case.ledger.events[0].at, data={"prediction": {"belief": kept(case.before, case.ledger.events)}},
    )  # fmt: skip
    return replace(view, records=[seed, *view.records]), ph


def _readings(at: TableMoment, ph: float, ec: float, dip_cm: float | None) -> Readings:
    return Readings(at=at.at, ph=ph, ec_ms_cm=ec, temperature_c=at.temperature_c, dip_cm=dip_cm)


def _row(view: HelperView, at: TableMoment, ends: Range, levels: Sequence[tuple[float, float]], *, of: str) -> Row:
    stage = view.whole.stage_of(view.whole.reservoir(view.reservoir_id))
    low, high, below = ends
    corner = high if below else low
    cells = []
    ph, ec = (at.ph, corner) if of == "ec" else (corner, sum(stage.ec) / 2)
    for lowest, fullest in levels:
        dips = (fullest,) if below or of == "ph" else (lowest, fullest)
        cells.append(min((_cell(view, _readings(at, ph, ec, dip), of=of) for dip in dips), key=_water_l))
    return Row(low=low, high=high, cells=tuple(cells))


def _water_l(cell: Cell) -> float:
    """How much water a cell adds or drains off, the measure of how far it thins. [L]"""
    return sum(step.amount for step in cell.poured if step.action in ("top_up", "drain_off"))


def _cell(view: HelperView, readings: Readings, *, of: str) -> Cell:
    """One range. Where the app would ask for a second EC reading, call the grower: "nothing" would mean it is right."""
    found = view.correction(readings)
    if of == "ec" and any(step.action == "read_again" for step in found.steps):
        return Cell(readings=readings, steps=(), call=DOUBTFUL)
    return Cell(readings=readings, steps=found.steps, call=_why_call(found, of=of))


def _why_call(found: Correction, *, of: str) -> str:
    """Why the grower is called; what is said of the pH stands below a table of conductivities."""
    told = [r for r in found.refusals if not (of == "ec" and r.says is not None and r.says.code == CALL_FOR_PH)]
    return told[0].text if told else ""


def _wait(farm: Farm, reservoir: Reservoir) -> float:
    from rounds.advice.case import MIXING_TURNOVERS

    volume = farm.circulating_volume_l(reservoir, reservoir.working_volume_l)
    return max(5.0, round(MIXING_TURNOVERS * volume / reservoir.pump_l_min))


def _holds(farm: Farm, reservoir: Reservoir, allowed: Sequence[Product], first: date, last: date) -> tuple[str, ...]:
    feed = farm.feeds[reservoir.feed]
    waters = ", ".join(farm.waters[w].name for w in reservoir.waters)
    poured = ", ".join(_with_strength(product) for product in allowed) or "none: only water"
    return (
        f"Holds for {feed.name}, stage {reservoir.stage}, from {first:%d %b} to {last:%d %b %Y}, pump running.",
        f"Waters: {waters}. Products: {poured}.",
    )


def _with_strength(product: Product) -> str:
    if isinstance(product, Concentrate) or not isinstance(product, Acid | Base):
        return product.name.split(" (")[0]
    return f"{product.name} ({agent_of(product).mol_per_l:.2f} mol/L)"
