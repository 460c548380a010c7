"""The farm, its checklists and its history, opened together by one person."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta, tzinfo
from pathlib import Path

from rounds.book.as_done import AsDone
from rounds.book.day import MORNING, NIGHT_ENDS, begin_of_day, morning_rounds, zone_of
from rounds.book.gate import Gate
from rounds.book.measured import AsMeasured
from rounds.checklist.due import ROUND_STARTS, StationDue, due_items, walk_order
from rounds.checklist.events import events_of
from rounds.checklist.load import Checklists, load_checklists
from rounds.checklist.model import Item
from rounds.checklist.still_off import StillOff
from rounds.errors import NotFound
from rounds.farm.farm import Farm, Mistake
from rounds.farm.model import Person
from rounds.farm.stations import StationBase
from rounds.farm.usable import usable
from rounds.history.record import Draft, Record
from rounds.history.store import History
from rounds.walk.error_texts import in_words
from rounds.walk.impossible import NothingImpossible
from rounds.walk.permission import Permission
from rounds.walk.sound_farm import farm_of, keep, with_lost
from rounds.walk.unsettled import Unsettled
from rounds.walk.walker import WALKING_FILE, default_person

_NIGHT = timedelta(hours=6)
Clock = Callable[[], datetime]


def system_clock() -> datetime:
    """The time now, with its zone."""
    return datetime.now(UTC).astimezone()


@dataclass(frozen=True, kw_only=True)
class Session:
    """Everything one person needs on the bench. Only the history changes."""

    filed: Farm
    """The farm as its files say it."""
    numbers: AsMeasured
    """What of it was measured."""
    doings: AsDone
    """What was done to it since."""
    checklists: Checklists
    history: History
    gate: Gate
    """The one way into the history."""
    person: Person | None = None
    clock: Clock = system_clock

    @classmethod
    def open(
        cls, folder: Path, *, person_id: str | None = None, clock: Clock = system_clock, read_only: bool = False
    ) -> Session:
        """Open a farm folder; where it is only read, nothing in it changes.

        Raises
        ------
        NotFound
            Where the folder is no farm, or the farm has no such person.
        BadInput
            Where farm.toml cannot be read, or has no station.
        """
        farm = usable(farm_of(folder))
        person = _person(farm, person_id) if person_id is not None else default_person(farm, folder)
        name = "" if (folder / WALKING_FILE).exists() else farm.name  # a bundle brings its farm's id, or none is given
        history = History.open(folder / "history", now=clock, read_only=read_only, farm_name=name)
        farm = with_lost(farm, history)
        checklists = load_checklists(folder)
        zone = zone_of(farm.place.timezone)
        permission = Permission(farm=farm, history=history, zone=zone)
        gate, numbers = Gate(history, (NothingImpossible(farm, checklists), permission)), AsMeasured(history, zone)
        doings = AsDone(history, zone)
        gate.subscribe(numbers.follow)
        gate.subscribe(doings.follow)
        if not read_only:
            _keep_when_written(farm, history, gate, clock)
        return cls(filed=farm, numbers=numbers, doings=doings, checklists=checklists, history=history, gate=gate,
                   person=person, clock=clock)  # fmt: skip

    @property
    def farm(self) -> Farm:
        """The farm as it is now: with what was measured in place of what its files guess, and what was done since."""
        return self.doings.of(self.numbers.of(self.filed))

    def read_all(self) -> None:
        """Read what was measured and done, as far back as the record goes; the next start finds it read."""
        self.numbers.read_all()
        self.doings.read_all()
        self.unsettled().read_all()

    @property
    def zone(self) -> tzinfo:
        """The farm's own time zone."""
        return zone_of(self.filed.place.timezone)

    @property
    def mistakes(self) -> tuple[Mistake, ...]:
        """All mistakes in the farm's files."""
        return self.farm.mistakes + self.checklists.mistakes + tuple(_unknown_items(self.farm, self.checklists))

    @property
    def is_helper(self) -> bool:
        """Whether a helper is walking, who may pour only what the grower allowed."""
        return self.person is not None and self.person.role == "helper"

    def now(self) -> datetime:
        """The time now in the farm's own zone."""
        return self.clock().astimezone(self.zone)

    def round_name(self, at: datetime | None = None) -> str:
        """The round that a time belongs to: morning, midday or dusk."""
        hour = (at or self.now()).time()
        return [name for name, start in ROUND_STARTS.items() if start <= hour][-1]

    def due(
        self, round_name: str, at: datetime | None = None, *, day: date | None = None, still: bool = True
    ) -> list[StationDue]:
        """What is due on a round of today, or of the day given, in the order of the walk.

        Parameters
        ----------
        still : bool
            Whether what was off before is asked about; without it no month is opened.
        """
        now, latest = at or self.now(), self.history.latest_by_item()
        events = events_of(self.farm, self.checklists, self.history.latest_marks().values())
        off = self.still_off() if still else {}
        ill = self.ill(off) if still else {}
        return due_items(self.farm, self.checklists, latest, now, round_name, events, day=day, still=off, ill=ill)

    def unsettled(self) -> Unsettled:
        """What the whole record says of things that went wrong; see `rounds.walk.unsettled`."""
        return Unsettled(self.history, self.farm)

    def still_off(self) -> Mapping[tuple[str, str], StillOff]:
        """What was off by its last own answer and is not settled, by station and item."""
        off = self.unsettled().off(self.checklists)
        return {(each.station_id, each.item.id): each for each in off}

    def ill(self, off: Mapping[tuple[str, str], StillOff] | None = None) -> Mapping[str, datetime]:
        """The stations that fell sick, and since when: somebody said so, or what was seen there says it."""
        off = self.still_off() if off is None else off
        called = self.unsettled().passing.at
        found = {
            id: here.sick
            for id, here in called.items()
            if here.sick is not None and id in self.farm.stations and self.farm.stations[id].sick
        }
        for each in off.values():
            if each.makes_sick and each.station_id:
                found[each.station_id] = min(found.get(each.station_id, each.since), each.since)
        return found

    def walk_order(self) -> list[str]:
        """The ids of all stations in the order of the walk."""
        return walk_order(self.farm, self.checklists, self.ill() if self.unsettled().tells_off else {})

    def item(self, station: StationBase, item_id: str) -> Item:
        """One item of a station's checklist.

        Raises
        ------
        NotFound
            With the items there are.
        """
        checklist = self.checklists.of(station.kind)
        item = checklist.item(item_id) if checklist else None
        if item is None:
            known = ", ".join(each.id for each in checklist.items) if checklist else "none"
            raise in_words(NotFound, "no-item", station=station.name, item=item_id[:40], known=known)
        return item

    def items(self, station: StationBase) -> tuple[Item, ...]:
        """All items that apply at a station."""
        checklist = self.checklists.of(station.kind)
        return tuple(i for i in checklist.items if i.id not in station.leave_out) if checklist else ()

    def save(self, *drafts: Draft) -> tuple[Record, ...]:
        """Write down what whoever walks may write; durable when it returns. Raises as `Gate.write`."""
        return self.gate.write(*drafts, by=self.person)

    def day_began(self) -> datetime:
        """When today began: see `rounds.book.day`. A month is opened only for a morning round of this night."""
        now = self.now()
        last = self.history.latest_by_item().get(("", MORNING))
        if now.time() >= NIGHT_ENDS or last is None or last.measured_at < now - _NIGHT:
            return begin_of_day(now, self.zone)
        return begin_of_day(now, self.zone, morning_rounds(self.history.records(kind="round", since=now - _NIGHT)))

    def person_name(self) -> str:
        """Who is walking, as it is written into the record."""
        return self.person.id if self.person else ""


def _keep_when_written(farm: Farm, history: History, gate: Gate, clock: Clock) -> None:
    """Keep a copy of the farm's files, if they are sound: now, or once something is written down here."""
    keep(farm, history, clock())
    still = [farm]

    def once(*_: object) -> None:
        while still:
            keep(still.pop(), history, clock())

    gate.subscribe(once)


def _person(farm: Farm, person_id: str) -> Person:
    found = [p for p in farm.people if person_id.casefold() in (p.id.casefold(), p.name.casefold())]
    if not found:
        known = ", ".join(person.id for person in farm.people) or "nobody yet: add [[people]] to farm.toml"
        raise in_words(NotFound, "no-person", person=person_id[:40], known=known)
    return found[0]


def _unknown_items(farm: Farm, checklists: Checklists) -> list[Mistake]:
    """Items that a station names and its checklist has not: a band that nobody judges by."""
    found = []
    for station in farm.stations.values():
        checklist = checklists.of(station.kind)
        known = {item.id for item in checklist.items} if checklist else set()
        named = [("bands", item) for item in station.bands] + [("leave_out", item) for item in station.leave_out]
        for key, item in named:
            if checklist is not None and item not in known:
                where = f"stations.{station.id}.{key}"
                expected = f"an item of its checklist: {', '.join(sorted(known))}"
                place = f"station {station.id}, {key}"
                found.append(Mistake(file="farm.toml", key=where, where=place, found=item, expected=expected))
    return found
