"""How a reservoir of the second make came to be what it is, and what of that stands in the record."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from tests.advice.judged.make import Line
from tests.advice.judged.second.chemistry import added, brought_to
from tests.advice.judged.second.drawn import BAND, SALTS_A, SALTS_B, Drawn, concentrate
from tests.advice.judged.second.files import ML_PER_L

_PROTONS = {"nitric": 1.0, "phosphoric": 1.0, "sulfuric": 2.0}
"""That an acid gives to bicarbonate. [-]"""


@dataclass(frozen=True, kw_only=True)
class Begun:
    """What is in the water, for how long it has stood since, and the record."""

    totals: dict[str, float]
    aged_min: float
    record: Sequence[Line]


def begun(d: Drawn, now: datetime) -> Begun:
    """A fill of an hour or so ago, or a feed that is days old."""
    return _fresh(d, now) if d.fresh else _worn(d, now)


def _mixed(d: Drawn, strength: float) -> dict[str, float]:
    per_litre = ML_PER_L / 1000.0 * strength * d.feed_times
    return added((d.true_water.totals, 1.0), (concentrate(SALTS_A), per_litre), (concentrate(SALTS_B), per_litre))


def _worn(d: Drawn, now: datetime) -> Begun:
    """Plants have taken most of the ammonium and some of phosphate and potassium; CO2 is at rest."""
    rng = d.rng
    strength = rng.uniform(0.7, 1.0)
    totals = _mixed(d, strength)
    worn = {"P": rng.uniform(0.15, 1.0), "Amm": rng.uniform(0.0, 0.3), "K": rng.uniform(0.5, 1.0)}
    totals = {e: mmol * worn.get(e, 1.0) for e, mmol in totals.items()}
    low, high = BAND
    ph = high + d.start_off if d.start_off > 0.0 else low + d.start_off
    if d.start_off == 0.0:
        ph = rng.uniform(low + 0.05, high - 0.05)
    totals = brought_to(totals, d.temperature_c, ph, d.rest_atm)
    began = now - timedelta(days=rng.uniform(4.0, 25.0))
    return Begun(totals=totals, aged_min=0.0, record=_fill(d, began, strength))


def _fresh(d: Drawn, now: datetime) -> Begun:
    """Most of the acid that was thought to be needed is in; the CO2 of the water is still leaving."""
    rng = d.rng
    strength = rng.uniform(0.7, 1.0)
    told, true = d.told_water.alkalinity_meq_l, d.true_water.alkalinity_meq_l
    meq_l = min(rng.uniform(0.5, 0.75) * told, 0.9 * true)
    share = meq_l / (1000.0 * d.acid.label_mol_l * _PROTONS[d.acid.agent])
    acid_l = share * _litres(d)
    totals = added((_mixed(d, strength), 1.0), (d.acid.litre, share))
    aged_min = rng.uniform(40.0, 180.0)
    began = now - timedelta(minutes=aged_min + 25.0)
    poured = _poured("acid", "acid", round(1000.0 * acid_l, 1), "mL", began + timedelta(minutes=15), "fill-acid")
    return Begun(totals=totals, aged_min=aged_min, record=(*_fill(d, began, strength), poured))


def _litres(d: Drawn) -> float:
    """As the grower thinks. [L]"""
    return d.working_l_told + d.channels_l_told


def _fill(d: Drawn, began: datetime, strength: float) -> tuple[Line, ...]:
    ml = round(ML_PER_L * strength * _litres(d))
    return (
        _poured("change_out", "tap", round(_litres(d)), "L", began, "fill"),
        _poured("concentrate_a", "a", ml, "mL", began + timedelta(minutes=5), "fill-a"),
        _poured("concentrate_b", "b", ml, "mL", began + timedelta(minutes=10), "fill-b"),
    )


def _poured(action: str, item: str, value: float, unit: str, at: datetime, name: str) -> Line:
    return Line(kind="dose", measured_at=at, id=name, station="r", item=item, value=value, unit=unit,
                data={"action": action})  # fmt: skip
