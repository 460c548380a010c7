"""Top-up water made ready for days without the grower: fed weakly and acidified, so that it can be poured as it is."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from rounds.advice import cautions as c
from rounds.advice.composition import agent_of, feed_known, mixed_feed, water_known
from rounds.advice.ledger import number
from rounds.advice.measures import Measured, litres_near, millilitres_down
from rounds.advice.steps import RecordLike
from rounds.errors import BadInput, OutOfRange, Refused
from rounds.farm.farm import Farm
from rounds.farm.shelf import Acid
from rounds.farm.stations import Reservoir
from rounds.science.acids_bases import Agent
from rounds.science.dosing import dose_for_ph, ph_after
from rounds.science.solution import Solution
from rounds.science.speciation import AIR_PCO2_ATM, ph_open

RESERVE = 1.2
"""So much more is made ready than is usually drunk: practice. [-]"""
DRUNK_SHARE_PER_DAY = 0.08
"""Of the circulating volume, where nothing is known of what is drunk: practice. [1/day]"""
LONGEST_DAYS = 21
_Z_WEAK = 1.645
_STANDING_CO2 = 2.0
_LOOK_BACK_DAYS = 14.0


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadyWater:
    """A drum of top-up water: amounts in the order they go in, and what its pH will be."""

    litres: Measured
    water_id: str
    acid_id: str | None
    acid: Measured
    a: Measured
    b: Measured
    ph_standing: float
    """Once it has stood open for a day. [-]"""
    ph_if_softer: float
    """The same, were the alkalinity at the low end of what is believable. [-]"""
    litres_per_day: float
    steps: tuple[str, ...]
    cautions: tuple[str, ...]


def ready_water(
    farm: Farm, records: Sequence[RecordLike], reservoir_id: str, days: int, now: datetime
) -> ReadyWater:
    """Pre-acidified, pre-fed top-up for an absence.

    Parameters
    ----------
    days : int
        Length of the absence, 1-21. [d]

    Raises
    ------
    OutOfRange
        For a number of days outside the range.
    NotFound
        Where there is no such reservoir.
    BadInput
        Where the concentrates, the water or the acid cannot be used.
    """
    if not 1 <= days <= LONGEST_DAYS:
        raise OutOfRange(f"Top-up for {days} days cannot be made ready.", f"Expected 1 to {LONGEST_DAYS} days.")
    reservoir = farm.reservoir(reservoir_id)
    per_day = drunk_per_day(farm, reservoir, records, now)
    litres = litres_near(per_day * days * RESERVE)
    return _made(farm, reservoir, litres, per_day, now.date())


def drunk_per_day(farm: Farm, reservoir: Reservoir, records: Sequence[RecordLike], now: datetime) -> float:
    """Litres topped up per day in the last two weeks; a share of the volume where nothing is on record. [L/day]"""
    topped = [
        r for r in records
        if r.kind == "dose" and r.station == reservoir.id and r.data.get("action") == "top_up"
        and 0.0 <= (now - r.measured_at).total_seconds() / 86400.0 <= _LOOK_BACK_DAYS
    ]  # fmt: skip
    litres = sum(number(r.value) or 0.0 for r in topped)
    if litres <= 0.0:
        return DRUNK_SHARE_PER_DAY * farm.circulating_volume_l(reservoir, reservoir.working_volume_l)
    first = min(r.measured_at for r in topped)
    return litres / max((now - first).total_seconds() / 86400.0, 3.0)


def _made(farm: Farm, reservoir: Reservoir, litres: Measured, per_day: float, today: date) -> ReadyWater:
    water = water_known(farm, reservoir.waters[0], today)
    feed = feed_known(farm, farm.feeds[reservoir.feed])
    low, high = farm.stage_of(reservoir).ph
    aim, strength = (low + high) / 2.0, reservoir.top_up_strength
    mixed = mixed_feed(water.solution, feed, strength)
    softer = mixed_feed(water.solution.scaled(math.exp(-_Z_WEAK * water.doubt)), feed, strength)
    air = _STANDING_CO2 * AIR_PCO2_ATM
    acid = next((p for p in farm.shelf.values() if isinstance(p, Acid) and p.working and p.agent != "citric"), None)
    ml, standing, if_softer = 0.0, ph_open(mixed, 20.0, air), ph_open(softer, 20.0, air)
    if standing > high:
        if acid is None:
            raise BadInput("There is no working acid on the shelf for the top-up water.", "Enter one in shelf.toml.")
        agent = agent_of(acid)
        by_book = dose_for_ph(mixed, aim, agent, 20.0, litres.amount, air)
        ml = millilitres_down(min(by_book, _to_edge(softer, low, agent, litres.amount, air))).amount
        standing = ph_after(mixed, agent, ml, litres.amount, 20.0, air)
        if_softer = ph_after(softer, agent, ml, litres.amount, 20.0, air)
    a, b = (millilitres_down(p * strength * litres.amount) for p in (feed.feed.a_ml_per_l, feed.feed.b_ml_per_l))
    poured = millilitres_down(ml)
    return ReadyWater(
        litres=litres, water_id=water.id, acid_id=acid.id if acid is not None and ml > 0.0 else None, acid=poured,
        a=a, b=b, ph_standing=standing, ph_if_softer=if_softer, litres_per_day=per_day,
        steps=_steps(litres, water.name, poured, acid, (a, feed.a.name), (b, feed.b.name), (low, high)),
        cautions=(*(c.for_acid(acid) if acid is not None and ml > 0.0 else ()), *c.for_concentrate(feed.a)),
    )  # fmt: skip


def _to_edge(softer: Solution, low: float, agent: Agent, litres: float, air: float) -> float:
    """What even the softest believable water takes without ending below the band. [mL]"""
    try:
        return dose_for_ph(softer, low, agent, 20.0, litres, air)
    except Refused:
        return 0.0


def _steps(
    litres: Measured, water: str, acid_ml: Measured, acid: Acid | None, a: tuple[Measured, str],
    b: tuple[Measured, str], band: tuple[float, float],
) -> tuple[str, ...]:  # fmt: skip
    said = [f"Fill a clean, lidded drum with {litres} of {water}."]
    if acid is not None and acid_ml.amount > 0.0:
        said.append(f"Stir in {acid_ml} of {acid.name}, slowly; stir and leave it open for an hour.")
    said += [f"Stir in {a[0]} of {a[1]}.", f"Rinse the cylinder, then stir in {b[0]} of {b[1]}."]
    said.append(f"Read the pH next day: from {band[0]:g} to {band[1]:g} it is ready; else correct it before you go.")
    said.append("Label it with what it is, the date, and the reservoir it is for. Lid on, out of the light.")
    return tuple(said)
