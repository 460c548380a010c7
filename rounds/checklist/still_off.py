"""What was off by the last answer that was given to it by itself: an "all well" does not make it well."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, tzinfo

from rounds.book.day import zone_of
from rounds.book.last_answers import DOUBTED, OFF, LastAnswers, Told, Value, in_order
from rounds.book.undone import FEED_READ, AllUndone, AtStation
from rounds.checklist.answers import is_off
from rounds.checklist.load import ALIVE, Checklists
from rounds.checklist.model import Item
from rounds.farm.farm import Farm
from rounds.farm.stations import Reservoir, StationBase

THE_FARM = StationBase(id="farm", name="Is everything alive and running?")
"""Stands in for a station where the farm as a whole is looked at."""
CALIBRATED = ("buffer", "buffer-4", "calibrated")
"""Items that a calibration answers."""
DAYS_WELL = 2
"""On so many days something that recovers slowly must be seen to do so. Common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StillOff:
    """One thing that is off, or was kept although it was hard to believe."""

    station_id: str
    """Empty for the farm as a whole."""
    item: Item
    value: Value
    since: datetime
    """Since when it is off, without a break, as far as the last answers tell."""
    is_longer: bool
    """Whether it may have been off before that, too."""
    last: datetime
    """When it was last found so."""
    is_off: bool
    is_doubted: bool
    well: datetime | None = None
    """When it was last found well before that; None where the last answers do not tell."""
    looked: datetime
    """When it was last looked at, also where it was found better then."""
    better: datetime | None = None
    """When it was first found to recover; None where it was not yet."""

    @property
    def makes_sick(self) -> bool:
        """Whether its station is a sick one by it."""
        return self.value in self.item.sick

    @property
    def id(self) -> str:
        """Stable as long as it is the same thing."""
        return matter_id(OFF if self.is_off else DOUBTED, self.station_id, self.item.id)


def matter_id(code: str, station_id: str, item_id: str = "") -> str:
    """The id under which something that is still to sort is settled.

    Examples
    --------
    >>> matter_id("off", "channel-3", "wilt"), matter_id("leak", "reservoir-2")
    ('off:channel-3:wilt', 'leak:reservoir-2')
    """
    return ":".join((code, station_id, *([item_id] if item_id else [])))


def still_off(farm: Farm, checklists: Checklists, answers: LastAnswers, undone: AllUndone) -> list[StillOff]:
    """Everything that is off by its last own answer and was not settled since, station by station.

    An answer that follows it (the flow once more after cleaning), a correction that was done to its end, a change-out
    or a calibration settles what it answers.
    """
    looked = _Looked(farm, checklists, answers, undone)
    places = [("", THE_FARM, ALIVE), *((s.id, s, s.kind) for s in farm.stations.values())]
    return [each for place in places for each in looked.at(*place)]


@dataclass(frozen=True, slots=True)
class _Looked:
    farm: Farm
    checklists: Checklists
    answers: LastAnswers
    undone: AllUndone

    def at(self, station_id: str, station: StationBase, kind: str) -> Iterator[StillOff]:
        checklist = self.checklists.of(kind)
        here = self.answers.of.get(station_id, {})
        for item in checklist.items if checklist is not None and here else ():
            if item.id in here and item.id not in station.leave_out and item.tells is None:
                found = self._off(station_id, station, kind, item)
                if found is not None:
                    yield found

    def _off(self, station_id: str, station: StationBase, kind: str, item: Item) -> StillOff | None:
        told = self._told(station_id, kind, item)
        if not told or told[-1].last_s != self.answers.of[station_id][item.id][-1].last_s:
            return None  # asked once for several stations, and answered at another one since
        settled_s = self._settled_s(station_id, kind, item)
        run, better = self._run(item, station, told, settled_s)
        if not run or len({each.astimezone(self.zone).date() for each in better}) >= DAYS_WELL:
            return None
        worst = run[0]
        off = is_off(item, worst.value, self.farm, station)
        before = [each.last for each in told if each.last_s < run[-1].first_s]
        return StillOff(
            station_id=station_id, item=item, value=worst.value, since=max(run[-1].first, _at(settled_s)),
            is_longer=len(run) == len(told) > 1, last=worst.last, is_off=off, is_doubted=worst.doubted,
            looked=told[-1].last, better=min(better, default=None), well=max(before, default=None),
        )  # fmt: skip

    def _run(
        self, item: Item, station: StationBase, told: list[Told], settled_s: float
    ) -> tuple[list[Told], list[datetime]]:
        """The last answers that were off or doubted, the newest first, and when it was found to recover since."""
        run: list[Told] = []
        better: list[datetime] = []
        for each in reversed(told):
            if each.last_s <= settled_s:
                break
            if each.doubted or is_off(item, each.value, self.farm, station):
                run.append(each)
            elif run or not item.recovers or each.value is None:
                break
            elif each.value in item.recovers:
                better += [each.first, each.last]
        return run, better

    @property
    def zone(self) -> tzinfo:
        """The farm's own time zone."""
        return zone_of(self.farm.place.timezone)

    def _told(self, station_id: str, kind: str, item: Item) -> list[Told]:
        if item.share is None:
            return self.answers.of[station_id][item.id]
        places = [each.id for each in self.farm.stations_of(kind)]
        return in_order([told for each in places if (told := self.answers.of.get(each, {}).get(item.id))])

    def _settled_s(self, station_id: str, kind: str, item: Item) -> float:
        """When it was settled last, whatever was answered. [s since 1970]"""
        here = self.undone.at.get(station_id, AtStation())
        times: list[datetime | None] = [here.birds_moved] if isinstance(item.well, str) else []
        if kind == Reservoir.__struct_config__.tag:
            times += [here.ended] if item.id in FEED_READ else []
            times += [here.renewed] if any(rule.after == "change-out" for rule in item.due) else []
            times += [here.calibrated] if item.id in CALIBRATED else []
        times += [each.last for each in self._followed(station_id, kind, item)]
        return max((each.timestamp() for each in times if each is not None), default=0.0)

    def _followed(self, station_id: str, kind: str, item: Item) -> Iterator[Told]:
        """The answers that say it is well again: those to what is asked once it was off."""
        checklist, here = self.checklists.of(kind), self.answers.of.get(station_id, {})
        station = self.farm.stations.get(station_id, THE_FARM)
        for other in checklist.items if checklist is not None else ():
            if other.follows == item.id and other.id in here:
                last = here[other.id][-1]
                if not last.doubted and not is_off(other, last.value, self.farm, station):
                    yield last


def _at(seconds: float) -> datetime:
    return datetime.fromtimestamp(seconds, tz=UTC)
