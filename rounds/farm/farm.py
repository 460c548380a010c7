"""The farm as the rest of the house sees it: everything sound that its files say, found by id."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from pathlib import Path
from typing import TypeVar

import msgspec

from rounds.errors import BadInput, NotFound
from rounds.farm.feeds import Feed, Stage
from rounds.farm.known_by import KnownBy
from rounds.farm.model import Contact, Limits, Meter, Person, Place, Water
from rounds.farm.shelf import Product
from rounds.farm.station_base import StationBase
from rounds.farm.stations import Channel, Reservoir

T = TypeVar("T")


@dataclass(frozen=True, slots=True, kw_only=True)
class Mistake:
    """One thing in the farm's files that cannot be used as it stands."""

    file: str
    key: str
    """Path of the key, such as `stations[3].working_volume_l`."""
    found: str
    expected: str
    where: str = ""
    """The place in words, such as `station reservoir-1, working_volume_l`; empty where the key says it."""
    unreadable: bool = False
    """Whether nothing of the file could be read."""
    picture: str = ""
    """For a file that is not TOML: the line, and below it a mark under the spot."""

    def __str__(self) -> str:
        place = self.where or self.key
        where = f"{self.file}, {place}" if place else self.file
        stop = "" if self.expected.endswith("?") else "."
        if self.unreadable:
            return f"{where} {self.found}: {self.expected}{stop}"
        return f"{where}: found {self.found}, expected {self.expected}{stop}"

    @property
    def told(self) -> str:
        """The sentence, and below it the line that it is about."""
        return f"{self}\n{self.picture}" if self.picture else str(self)


class FaultyFiles(BadInput):
    """A mistake in the farm's files makes dosing unsafe: nothing is dosed, and the walk goes on."""


class Unread(dict[str, T]):
    """Stands for the content of a file that could not be read: whoever asks for any of it is told why."""

    def __init__(self, mistake: Mistake) -> None:
        super().__init__()
        self._mistake = mistake

    def __missing__(self, key: str) -> T:
        raise FaultyFiles(str(self._mistake), f"Put it right in {self._mistake.file}, then try again.")


OUTSIDE_DOUBT = 0.15
"""How far channels, pipes and roots are guessed. [-]"""


class Feeds(dict[str, T]):
    """The feeds of a file, the sound ones: whoever asks for one with a mistake is told of that.

    Parameters
    ----------
    mistaken : mapping of str to Mistake
        The first mistake of each other feed, by its id.
    """

    def __init__(self, sound: Mapping[str, T], mistaken: Mapping[str, Mistake]) -> None:
        super().__init__(sound)
        self._mistaken = dict(mistaken)

    def __missing__(self, key: str) -> T:
        if key not in self._mistaken:
            raise KeyError(key)
        mistake = self._mistaken[key]
        raise FaultyFiles(
            f"{mistake} Until that is put right there is no dose of this feed.",
            f"Put it right in {mistake.file}, then try again.",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Lost:
    """A station that the record or an earlier farm.toml knows, and that the farm's files no longer have."""

    id: str
    reservoirs: tuple[str, ...] | None = None
    """The reservoirs whose water it changes; None where nobody knows, so it may be any."""

    def touches(self, reservoir_id: str) -> bool:
        """Whether a dose there may be worked out wrongly without it."""
        return self.reservoirs is None or reservoir_id in self.reservoirs


_PUT_RIGHT = "Put it right in farm.toml, then try again."


@dataclass(frozen=True, slots=True, kw_only=True)
class Farm:
    """One farm, loaded. Stations with mistakes are left out; the mistakes say so."""

    folder: Path
    name: str
    place: Place
    limits: Limits = field(default_factory=Limits)
    people: tuple[Person, ...] = ()
    contacts: tuple[Contact, ...] = ()
    where: Mapping[str, str] = field(default_factory=dict)
    meters: Mapping[str, Meter] = field(default_factory=dict)
    waters: Mapping[str, Water] = field(default_factory=dict)
    stations: Mapping[str, StationBase] = field(default_factory=dict)
    """In the order of farm.toml."""
    left_out: tuple[str, ...] = ()
    """The stations that farm.toml has and that are left out for their mistakes, by id or by their place."""
    gone: tuple[str, ...] = ()
    """Stations that are gone for good, as farm.toml says."""
    lost: tuple[Lost, ...] = ()
    """Stations that are gone without a word."""
    as_of: str = ""
    """When these files were sound, in words, where the farm's own cannot be read; empty where they are its own."""
    feeds: Mapping[str, Feed] = field(default_factory=dict)
    shelf: Mapping[str, Product] = field(default_factory=dict)
    mistakes: tuple[Mistake, ...] = ()
    measured: Mapping[tuple[str, str], KnownBy] = field(default_factory=dict)
    """The numbers that were measured, by what they are of and what was measured; `rounds.book.measured` puts them."""
    opened: Mapping[str, datetime] = field(default_factory=dict)
    """When the bottle in use of a product was opened, as `rounds.book.as_done` knows it."""

    def station(self, station_id: str) -> StationBase:
        """The station of that id.

        Raises
        ------
        NotFound
            With the ids that are near, else all there are; where none was read, with the mistakes that kept them out.
        """
        if station_id in self.stations:
            return self.stations[station_id]
        if station_id in self.left_out:
            raise NotFound(f"“{station_id}” is left out for a mistake: {self._broken(station_id)}", _PUT_RIGHT)
        if any(each.id == station_id for each in self.lost):
            raise NotFound(f"“{station_id}” is gone from farm.toml, though the record knows it.", _PUT_RIGHT)
        raise NotFound(f"There is no station “{station_id[:40]}” on this farm.", self._likely(station_id))

    def _broken(self, station_id: str) -> str:
        """What is wrong with a station that was left out: first with a water that it names, then with itself."""
        own = [m for m in self.mistakes if m.where.startswith(f"station {station_id},")]
        named = {m.found.strip("'") for m in own}
        roots = [m for m in self.mistakes if any(m.where.startswith(f"water {name},") for name in named)]
        return " ".join(dict.fromkeys(str(m) for m in (*roots, *own)[:2])) or "`rounds check` names it."

    def _likely(self, station_id: str) -> str:
        """A hint at the station that was probably meant."""
        from difflib import get_close_matches

        near = get_close_matches(station_id, self.stations, n=3, cutoff=0.5)
        if near:
            return f"Did you mean {' or '.join(near)}? There are {len(self.stations)} in all."
        if self.stations:
            return f"There are: {', '.join(list(self.stations)[:8])}{', and more' if len(self.stations) > 8 else ''}."
        if self.mistakes:
            return "There are none, since its files have mistakes: `rounds check` names them."
        return "There are none yet: enter them under stations in farm.toml."

    def reservoir(self, station_id: str) -> Reservoir:
        """The reservoir of that id.

        Raises
        ------
        NotFound
            Where there is no such station, or it is not a reservoir.
        """
        station = self.station(station_id)
        if isinstance(station, Reservoir):
            return station
        there = ", ".join(s.id for s in self.stations.values() if isinstance(s, Reservoir))
        raise NotFound(f"“{station_id}” is not a reservoir.", f"Reservoirs are: {there or 'none'}.")

    def stations_of(self, kind: str) -> tuple[StationBase, ...]:
        """The stations of one kind, in walking order."""
        return tuple(station for station in self.stations.values() if station.kind == kind)

    def channels_of(self, reservoir_id: str) -> tuple[Channel, ...]:
        """The channels that a reservoir feeds, in walking order."""
        return tuple(s for s in self.stations.values() if isinstance(s, Channel) and s.reservoir == reservoir_id)

    def stage_of(self, reservoir: Reservoir) -> Stage:
        """The growth stage a reservoir is run at, with the reservoir's own bands where it has any."""
        stage = self.feeds[reservoir.feed].stage(reservoir.stage)
        if stage is None:
            raise NotFound(f"{reservoir.name}: the feed has no stage “{reservoir.stage}”.")
        own = {key: reservoir.bands[key] for key in ("ph", "ec") if key in reservoir.bands}
        return msgspec.structs.replace(stage, **own) if own else stage

    def circulating_volume_l(self, reservoir: Reservoir, in_reservoir_l: float) -> float:
        """All water that circulates while the pump runs: in the reservoir, pipes, channels and roots. [L]"""
        return in_reservoir_l + self.outside_volume_l(reservoir)

    def outside_volume_l(self, reservoir: Reservoir) -> float:
        """The circulating water that stands outside the reservoir: pipes, channels and roots. [L]"""
        return reservoir.pipes_l + sum(c.holds_l + c.roots_l for c in self.channels_of(reservoir.id))

    def outside_sd_l(self, reservoir: Reservoir) -> float:
        """The standard deviation of that: of what runs back as it was measured, else of a guess. [L]"""
        known = self.measured.get((reservoir.id, "pump-off"))
        if known is None:
            return OUTSIDE_DOUBT * self.outside_volume_l(reservoir)
        return math.hypot(known.sd, OUTSIDE_DOUBT * sum(c.roots_l for c in self.channels_of(reservoir.id)))

    def source_of(self, subject: str, what: str, otherwise: str = "") -> str:
        """Where a number comes from: when and how it was measured, else what is told of a guess."""
        known = self.measured.get((subject, what))
        return otherwise if known is None else known.told

    def knowing(self, measured: Mapping[tuple[str, str], KnownBy]) -> Farm:
        """The same farm, with where its measured numbers come from."""
        return replace(self, measured=measured)

    def with_station(self, station: StationBase) -> Farm:
        """The same farm with one station in place of that of its id."""
        return replace(self, stations={**self.stations, station.id: station})

    def with_water(self, water: Water) -> Farm:
        """The same farm with one water in place of that of its id."""
        return replace(self, waters={**self.waters, water.id: water})

    def meter_for(self, item: str) -> Meter | None:
        """The first meter that measures an item."""
        return next((meter for meter in self.meters.values() if item in meter.measures), None)
