"""The farm as what was done has made it: the one place where a doing goes before what the farm's files say.

Whoever asks the session for the farm gets its flocks, plants, sick stations and bottles as they are now. Each doing
keeps what the file said when it was written down: a file that says something else by now was written anew, and is
newer.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, tzinfo

import msgspec

from rounds.book import flock, planting
from rounds.book.doings import Doing
from rounds.farm.farm import Farm
from rounds.farm.shelf import Acid, Base, Concentrate, Product
from rounds.farm.station_base import StationBase
from rounds.farm.stations import Channel, Flock
from rounds.history.record import Record
from rounds.history.store import History

SICK, WELL, SWAPPED = "sick", "well", "swapped"
_MARK = f"kind:{Doing.kind}"


class Health(msgspec.Struct):
    """Whether a station was called sick or well again."""

    sick: bool
    filed: bool | None = None
    """What the file said then."""


class Done(msgspec.Struct):
    """What changed on the farm, by station; by product for bottles."""

    flocks: dict[str, flock.Birds] = {}
    plants: dict[str, planting.Plants] = {}
    health: dict[str, Health] = {}
    opened: dict[str, datetime] = {}
    """When the bottle in use was opened."""


class Doings:
    """The fold that says what was done to the farm, whenever that was."""

    name = "doings"
    kinds = frozenset({Doing.kind})

    def __init__(self, zone: tzinfo) -> None:
        self._zone = zone
        self.version = f"1 {zone}"

    def empty(self) -> Done:
        """Nothing was done yet."""
        return Done()

    def step(self, state: Done, record: Record) -> Done:
        """Take in one doing."""
        doing = Doing(record)
        if doing.verb == SWAPPED and doing.product:
            state.opened[doing.product] = doing.measured_at
        if not doing.station:
            return state
        here = doing.station
        if doing.verb in (SICK, WELL):
            state.health[here] = Health(sick=doing.verb == SICK, filed=doing.filed_flag)
        if doing.verb in flock.MOVES:
            state.flocks[here] = flock.with_doing(state.flocks.get(here, flock.Birds()), doing)
        if doing.verb == planting.PLANTED or doing.verb in planting.TAKEN_OUT:
            state.plants[here] = planting.with_doing(state.plants.get(here, planting.Plants()), doing, self._zone)
        return state


class AsDone:
    """The farm with what was done to it, worked out anew where that changes."""

    def __init__(self, history: History, zone: tzinfo) -> None:
        self._history, self._zone, self._fold = history, zone, Doings(zone)
        self._of: Farm | None = None
        self._farm: Farm | None = None
        self._has_read_all = False

    def of(self, farm: Farm) -> Farm:
        """The farm as it is now."""
        if self._farm is None or self._of is not farm:
            self._of, self._farm = farm, as_done(farm, self._state(), self._zone)
        return self._farm

    def read_all(self) -> None:
        """Read the record as far back as it goes; the next start finds it read."""
        self._history.folded(self._fold)
        self._has_read_all, self._farm = True, None

    def follow(self, kinds: frozenset[str], _stations: frozenset[str], _touches: frozenset[str]) -> None:
        """Something was written."""
        if Doing.kind in kinds:
            self._farm = None

    def _state(self) -> Done:
        """What was done; nothing as long as no month of the last 400 days tells of a doing, and the rest is unread."""
        known = self._has_read_all or self._history.is_folded(self._fold)
        if known or any(mark == _MARK for _, mark in self._history.latest_marks()):
            return self._history.folded(self._fold)
        return Done()


def as_done(farm: Farm, done: Done, zone: tzinfo) -> Farm:
    """A farm with its flocks, plants, sick stations and bottles as they are now."""
    changed = {
        station.id: now for station in farm.stations.values() if (now := _station_now(station, done)) is not station
    }
    opened = {product: at for product, at in done.opened.items() if _is_newer(farm, product, at, zone)}
    if not changed and not opened:
        return farm
    made = {id: _made(farm.shelf[id], at.astimezone(zone).date()) for id, at in opened.items()}
    stations, shelf = {**farm.stations, **changed}, {**farm.shelf, **made}
    return replace(farm, stations=stations, shelf=shelf if made else farm.shelf, opened=opened)


def _station_now(station: StationBase, done: Done) -> StationBase:
    now: StationBase = station
    if isinstance(station, Flock) and station.id in done.flocks:
        now = flock.flock_now(station, done.flocks[station.id])
    if isinstance(station, Channel) and station.id in done.plants:
        now = planting.channel_now(station, done.plants[station.id])
    health = done.health.get(station.id)
    if health is not None and health.filed in (None, station.sick) and health.sick != station.sick:
        now = msgspec.structs.replace(now, sick=health.sick)
    return now


def _made(product: Product, on: date) -> Product:
    """A product with a batch that is new since a day: a bucket test of the one before says nothing of it."""
    return msgspec.structs.replace(product, made_on=on) if isinstance(product, Acid | Base | Concentrate) else product


def _is_newer(farm: Farm, product_id: str, at: datetime, zone: tzinfo) -> bool:
    """Whether a bottle was opened after the batch that the shelf's file names was made."""
    product = farm.shelf.get(product_id)
    made = getattr(product, "made_on", None)
    return product is not None and (made is None or made <= at.astimezone(zone).date())
