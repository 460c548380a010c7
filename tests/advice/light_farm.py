"""A small invented farm and light records, built in code, for tests of the advice."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

from rounds.farm.farm import Farm
from rounds.farm.feeds import Feed, Stage
from rounds.farm.model import Limits, Meter, Place, Water
from rounds.farm.shelf import Acid, Base, Concentrate
from rounds.farm.stations import Box, Channel, Reservoir
from rounds.science.solution import Solution

MORNING = datetime(2026, 6, 10, 8, 0, tzinfo=UTC)
COUNTED = date(2026, 6, 1)


@dataclass(frozen=True, kw_only=True)
class Note:
    """A record as light as the advice needs it."""

    kind: str
    measured_at: datetime
    station: str = "r"
    item: str = ""
    value: Any = None
    unit: str | None = None
    meter: str | None = "pen"
    note: str | None = None
    data: dict[str, Any] = field(default_factory=dict)
    id: str = ""


def hard_water(alkalinity: float = 4.6, **other: Any) -> Water:
    return Water(
        id="well", name="Well water", ph=7.4, ec_ms_cm=0.63, alkalinity_meq_l=alkalinity, ca_mg_l=92, mg_mg_l=16,
        na_mg_l=14, k_mg_l=2, cl_mg_l=24, so4_mg_l=48, no3_mg_l=18, **{"analysed_on": date(2026, 3, 1), **other},
    )  # fmt: skip


def rain_water() -> Water:
    return Water(
        id="rain", name="Rain water", ph=6.6, ec_ms_cm=0.02, alkalinity_meq_l=0.10, ca_mg_l=2.4, mg_mg_l=0.3,
        na_mg_l=1.2, k_mg_l=0.2, cl_mg_l=2.0, so4_mg_l=1.6, no3_mg_l=0.8, analysed_on=date(2026, 3, 1),
    )  # fmt: skip


def blend_water() -> Water:
    return Water(
        id="blend", name="Two of well, three of rain", ph=7.3, ec_ms_cm=0.28, alkalinity_meq_l=1.9,
        blend={"well": 0.4, "rain": 0.6},
    )  # fmt: skip


CONCENTRATES = (
    Concentrate(
        id="a", name="Concentrate A", part="A", amount=20, unit="L", counted_on=COUNTED,
        salts_g_l={"calcium_nitrate_double_salt": 75.0, "potassium_nitrate": 20.0},
    ),
    Concentrate(
        id="b", name="Concentrate B", part="B", amount=20, unit="L", counted_on=COUNTED,
        salts_g_l={
            "potassium_nitrate": 30.0, "potassium_dihydrogen_phosphate": 20.4, "magnesium_sulfate_heptahydrate": 37.0,
        },
    ),
)  # fmt: skip
ACID = Acid(id="acid", name="Working acid", agent="nitric", amount=5, unit="L", counted_on=COUNTED,
            molarity_mol_l=1.3, working=True)  # fmt: skip
BASE = Base(id="base", name="Working base", agent="potassium_hydroxide", amount=5, unit="L", counted_on=COUNTED,
            molarity_mol_l=1.0, working=True)  # fmt: skip


def a_farm(
    *, waters: tuple[Water, ...] | None = None, products: tuple[Any, ...] | None = None,
    ph: tuple[float, float] = (5.5, 6.1),
    ec: tuple[float, float] = (1.4, 2.2), young: bool = False, limits: Limits | None = None,
    ph_tolerance: float = 0.1, **reservoir: Any,
) -> Farm:  # fmt: skip
    known = waters or (hard_water(), rain_water(), blend_water())
    station = Reservoir(
        **{
            "id": "r", "name": "Reservoir", "full_volume_l": 360.0, "working_volume_l": 300.0, "feed": "feed",
            "stage": "growing", "waters": tuple(w.id for w in known), "pump_l_min": 20.0, "pipes_l": 6.0,
            "shape": Box(length_cm=100.0, width_cm=60.0), **reservoir,
        }
    )  # fmt: skip
    channel = Channel(
        id="c", name="Channel", reservoir="r", crop="lettuce", sites=20, flow_l_min=1.0, holds_l=10.0, roots_l=4.0
    )
    feed = Feed(
        id="feed", name="Feed", part_a="a", part_b="b", a_ml_per_l=10, b_ml_per_l=10,
        stages=(Stage(id="growing", ec=ec, ph=ph, young=young),),
    )  # fmt: skip
    shelf = products if products is not None else (*CONCENTRATES, ACID, BASE)
    return Farm(
        folder=Path(), name="Light farm", place=Place(latitude=48.0, longitude=10.0), limits=limits or Limits(),
        meters={
            "pen": Meter(id="pen", name="pH pen", measures=("ph",), tolerance={"ph": ph_tolerance}),
            "stick": Meter(id="stick", name="EC stick", measures=("ec",), tolerance={"ec": 0.04}),
        },
        waters={w.id: w for w in known}, stations={"r": station, "c": channel}, feeds={"feed": feed},
        shelf={p.id: p for p in shelf},
    )  # fmt: skip


def buffer_dip(at: datetime = MORNING, shown: float = 7.02) -> Note:
    return Note(
        kind="reading",
        station="",
        item="buffer",
        value=shown,
        measured_at=at,
        data={"buffer": 7.0, "temperature_c": 20.0},
    )


def neutral(solution: Solution) -> Solution:
    """A negative inert charge as nitrate, which the engine takes as inert."""
    if solution.inert_meq_l >= 0.0:
        return solution
    return dataclasses.replace(solution, no3=solution.no3 - solution.inert_meq_l, inert_meq_l=0.0)


def _tried_bottles() -> Note:
    codes = ("bottle-ten-times", "bottle-three-times", "bottles-swapped", "another-water")
    kept = {"made": "", "weights": dict.fromkeys(codes, 1e-7)}
    return Note(
        kind="correction", measured_at=MORNING - timedelta(minutes=2), id="tried",
        data={"format": 1, "steps": [], "prediction": {"faults": {"acid": kept, "base": kept}}},
    )  # fmt: skip


TRIED = (
    _tried_bottles(),
    Note(kind="reading", station="", item="buffer-4", value=4.02, measured_at=MORNING, id="dip-in-4"),
)
"""Jar tests have shown that both bottles and the water are what was told, and a dip in the buffer of 4 that the pen
moves."""
