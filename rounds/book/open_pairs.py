"""Where A or B waits for its other half, known without reading the record again: a fold over it.

It says where, and since when. What is owed is worked out by `half_pair` from the doses since then.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from functools import cached_property
from hashlib import blake2b

import msgspec

from rounds.book.entries import Dose, GivenUp, entry_of
from rounds.book.entry import RecordLike
from rounds.book.lots import Lot, advised_ml, lots_after
from rounds.book.offered import Offer
from rounds.farm.farm import Farm
from rounds.farm.shelf import Concentrate
from rounds.farm.stations import Reservoir

KEPT = timedelta(days=30)
"""So long a correction is remembered: its steps are done within hours."""


class Waiting(msgspec.Struct):
    """What waits at one reservoir."""

    since: datetime | None = None
    """The first dose since nothing waited there: from it on, the doses alone say what waits."""
    ended: datetime | None = None
    """When nothing waited there any more, the last time."""
    lots: list[Lot] = []
    given_up: list[str] = []
    """Those of the lots that will get no other half."""
    advised: dict[str, tuple[datetime, dict[str, float]]] = {}
    """What lately offered corrections advised of each concentrate. [mL]"""


class PairState(msgspec.Struct):
    """What waits at each reservoir at which anything was poured."""

    reservoirs: dict[str, Waiting] = {}

    def open_since(self, reservoir_id: str) -> datetime | None:
        """From when on the doses of a reservoir say what is owed; None where nothing is."""
        known = self.reservoirs.get(reservoir_id)
        is_open = known is not None and any(lot.dose not in known.given_up for lot in known.lots)
        return known.since if known is not None and is_open else None


class OpenPairs:
    """The fold that says where A or B waits for its other half on a farm."""

    name = "open-pairs"
    kinds = frozenset({Dose.kind, Offer.kind, GivenUp.kind})

    def __init__(self, farm: Farm) -> None:
        self._farm = farm

    @cached_property
    def version(self) -> str:
        """Changes with the feeds, the concentrates and what each reservoir is fed."""
        stations, shelf = self._farm.stations.values(), self._farm.shelf.values()
        feeds = [(f.id, f.part_a, f.part_b, f.a_ml_per_l, f.b_ml_per_l) for f in self._farm.feeds.values()]
        parts = sorted((p.id, p.part) for p in shelf if isinstance(p, Concentrate))
        fed = sorted((s.id, s.feed) for s in stations if isinstance(s, Reservoir))
        return f"1 {blake2b(repr((feeds, parts, fed)).encode(), digest_size=8).hexdigest()}"

    def empty(self) -> PairState:
        """Nothing was poured yet."""
        return PairState()

    def step(self, state: PairState, record: RecordLike) -> PairState:
        """Take in a dose, a correction, or what was given up."""
        reservoir = self._farm.stations.get(record.station)
        if not isinstance(reservoir, Reservoir):
            return state
        here, entry = state.reservoirs.setdefault(reservoir.id, Waiting()), entry_of(record)
        if isinstance(entry, Dose):
            self._pour(here, reservoir, entry)
        elif isinstance(entry, GivenUp):
            here.given_up += [each for each in entry.doses if any(lot.dose == each for lot in here.lots)]
        elif isinstance(entry, Offer):
            _remember(here, entry)
        return state

    def _pour(self, here: Waiting, reservoir: Reservoir, dose: Dose) -> None:
        advised = {id: ml for id, (_, ml) in here.advised.items()}
        waited = bool(here.lots)
        here.lots = lots_after(self._farm, reservoir, here.lots, dose, advised)
        if waited and not here.lots:
            here.ended, here.given_up = dose.measured_at, []
        elif here.lots and not waited and here.ended != dose.measured_at:
            here.since = dose.measured_at


def _remember(here: Waiting, offer: Offer) -> None:
    here.advised = {id: (at, ml) for id, (at, ml) in here.advised.items() if at > offer.measured_at - KEPT}
    advised = advised_ml(offer)
    if advised:
        here.advised[offer.id] = offer.measured_at, advised
