"""Falls of a reservoir's level that nobody has explained, known without reading the record again: a fold over it.

Each dip is compared with the one before, and with what the plants here usually take. A fall that is far more is kept
until somebody says what it was, however the level goes on.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from functools import cached_property
from hashlib import blake2b
from statistics import median

import msgspec

from rounds.book.entries import Dose, Reading, entry_of
from rounds.book.entry import RecordLike
from rounds.book.level import litres_of
from rounds.errors import RoundsError
from rounds.farm.farm import Farm
from rounds.farm.stations import Reservoir
from rounds.farm.volumes import dip_to_litres

FAR_MORE = 2.5
"""So many times what is usual here is far more: a hot day takes up to twice. Practice. [-]"""
SHARE_A_DAY = 0.15
"""Where no history tells, more than this share of the working volume in a day is far more. Practice. [-]"""
LEAST_SHARE_A_DAY = 0.05
"""Less than this share in a day is no leak worth a call, however little is usual. [-]"""
LEAST_DAYS = 0.5
"""A shorter time than this counts as so long: the stick says nothing finer. [d]"""
FEWEST = 3
"""Fewer days than this do not say what is usual."""
BETWEEN = timedelta(hours=6)
"""Levels closer than this do not say what is usual."""
LOOK_BACK = timedelta(days=21)
_ANOTHER_ROUND = timedelta(hours=3)
_OLDEST = timedelta(days=3)


def most_l_day(reservoir: Reservoir, usual_l_day: float | None) -> float:
    """The most that may be gone in a day before a leak is thought of. [L/d]

    Parameters
    ----------
    usual_l_day : float or None
        What the plants here usually take; None where that is not known. [L/d]
    """
    working = reservoir.working_volume_l
    if usual_l_day is None:
        return SHARE_A_DAY * working
    return max(FAR_MORE * usual_l_day, LEAST_SHARE_A_DAY * working)


class Fall(msgspec.Struct):
    """Litres that are gone, far more than usual."""

    at: datetime
    since: datetime
    """When the level before was read."""
    litres: float
    days: float


class Level(msgspec.Struct):
    """What is known of the level of one reservoir."""

    at: datetime | None = None
    litres: float = 0.0
    added_l: float = 0.0
    """Poured in since, less what was drained off. [L]"""
    is_renewed: bool = False
    """Whether all was renewed since."""
    rates: list[tuple[datetime, float]] = []
    """What was gone in a day between levels of the last weeks. [L/d]"""
    fall: Fall | None = None
    """The last fall that was far more than usual."""


class AllLevels(msgspec.Struct):
    """By reservoir."""

    of: dict[str, Level] = {}


class Levels:
    """The fold that follows the levels of a farm's reservoirs."""

    name = "levels"
    kinds = frozenset({Reading.kind, Dose.kind})

    def __init__(self, farm: Farm) -> None:
        self._reservoirs = {s.id: s for s in farm.stations.values() if isinstance(s, Reservoir)}

    @cached_property
    def version(self) -> str:
        """Changes with the vessels, and how finely they are dipped."""
        told = [
            (r.id, r.full_volume_l, r.working_volume_l, r.shape, r.dip_table, r.dip_error_cm)
            for r in sorted(self._reservoirs.values(), key=lambda each: each.id)
        ]
        return f"1 {blake2b(repr(told).encode(), digest_size=8).hexdigest()}"

    def empty(self) -> AllLevels:
        """Nothing was dipped yet."""
        return AllLevels()

    def step(self, state: AllLevels, record: RecordLike) -> AllLevels:
        """Take in a level, or what was poured or drained."""
        reservoir, entry = self._reservoirs.get(record.station), entry_of(record)
        if reservoir is None:
            return state
        if isinstance(entry, Dose):
            here = state.of.setdefault(reservoir.id, Level())
            here.is_renewed = here.is_renewed or entry.renews
            here.added_l += -entry.litres if entry.drains else entry.litres
        elif isinstance(entry, Reading) and entry.item in ("dip", "volume"):
            litres = litres_of(reservoir, entry)
            if litres is not None:
                _dip(state.of.setdefault(reservoir.id, Level()), reservoir, entry, litres)
        return state


def _dip(here: Level, reservoir: Reservoir, reading: Reading, litres: float) -> None:
    """Compare a level with the one before; two of one round count as one, unless something was poured between."""
    at = reading.measured_at
    before = here.at
    age = at - before if before is not None else None
    if before is not None and age is not None and not here.is_renewed and _ANOTHER_ROUND <= age <= _OLDEST:
        gone, days = here.litres + here.added_l - litres, max(LEAST_DAYS, age / timedelta(days=1))
        here.rates = [each for each in here.rates if each[0] >= at - LOOK_BACK]
        rates = [rate for _, rate in here.rates]
        usual = max(0.0, median(rates)) if len(rates) >= FEWEST else None
        if gone > most_l_day(reservoir, usual) * days + 2.0 * _error_l(reservoir, reading):
            here.fall = Fall(at, before, round(gone, 1), days)
        if age >= BETWEEN:
            here.rates.append((at, round(gone / (age / timedelta(days=1)), 2)))
    here.at, here.litres, here.added_l, here.is_renewed = at, litres, 0.0, False


def _error_l(reservoir: Reservoir, reading: Reading) -> float:
    """Half width of a level. [L]"""
    if reading.item == "volume":
        return 0.03 * (reading.number or 0.0)
    try:
        return dip_to_litres(reservoir, reading.number or 0.0)[1]
    except RoundsError:
        return 0.0
