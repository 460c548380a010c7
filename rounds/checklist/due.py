"""What is due on a round, at which station, and in which order: worked out from the files and the last answers."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time

from rounds.book.day import zone_of
from rounds.book.entries import Skip, entry_of
from rounds.checklist.answers import is_off
from rounds.checklist.calendar import DueMoment, due_since
from rounds.checklist.events import SKIPPED, Events, event_at
from rounds.checklist.last_answer import Latest, last_answer
from rounds.checklist.load import Checklists
from rounds.checklist.model import WORST_FIRST, Checklist, Due, Item
from rounds.checklist.rotation import Pair, asked_today
from rounds.checklist.still_off import StillOff
from rounds.errors import BadInput
from rounds.farm.farm import Farm
from rounds.farm.stations import StationBase
from rounds.history.record import Record

ROUND_STARTS: Mapping[str, time] = {"morning": time(0), "midday": time(11), "dusk": time(15)}
"""Answers from this hour on count for the round of that name. Common practice, no source."""

SOON = ("people", "animals", "30 minutes", "2 hours")
"""What would be lost so soon that it is asked about on every round while it is off."""
_EVERY_ROUND = (Due(),)


Still = Mapping[tuple[str, str], StillOff]
"""What was off before, by (station id, item id); station "" is the farm as a whole."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DueItem:
    """One item that is due."""

    item: Item
    since: date
    overdue_days: int
    """Whole days it has been waiting; 0 where it fell due today or was never answered."""
    last: Record | None
    """The last answer, or that it was skipped."""
    asked_outright: bool
    """Whether "all well" does not answer it."""
    still: StillOff | None = None
    """What was off before, or hard to believe, and is asked about for that."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StationDue:
    """A station of the walk with what is due there."""

    station_id: str
    kind: str
    name: str
    rank: int
    sick: bool
    items: tuple[DueItem, ...]

    @property
    def asked(self) -> tuple[DueItem, ...]:
        """What has to be answered one by one."""
        return tuple(due for due in self.items if due.asked_outright)

    @property
    def covered(self) -> tuple[DueItem, ...]:
        """What one "all well" answers."""
        return tuple(due for due in self.items if not due.asked_outright)


def due_items(
    farm: Farm,
    checklists: Checklists,
    latest: Latest,
    now: datetime,
    round_name: str,
    events: Events | None = None,
    *,
    day: date | None = None,
    still: Still | None = None,
    ill: Collection[str] = (),
) -> list[StationDue]:
    """Work out what is due on a round.

    Parameters
    ----------
    latest : mapping from (station id, item id) to Record
        The last record of each item; one from after `now` counts for nothing.
    now : datetime
        With a zone; the day begins at midnight of the farm's own zone.
    round_name : str
        "morning", "midday" or "dusk".
    events : mapping from (station id, event) to datetime, optional
        As `events_of` finds them. Without it only what the farm's files date (`planted`) is known.
    day : date, optional
        The day the round belongs to, where it goes on past midnight; else that of `now`.
    still : mapping of (station id, item id) to StillOff, optional
        What was off before: it is asked outright until it is answered, first of all at its station.
    ill : collection of str, optional
        Ids of the stations that fell sick: walked last, and what is to be watched there is asked outright.

    Returns
    -------
    list of StationDue
        In the order of the walk, without stations where nothing is due.

    Raises
    ------
    BadInput
        For a round that is none, or a time without zone.
    """
    _check(now, round_name)
    walk = _Walk(farm, checklists, latest, now, round_name, events or {}, day, still or {}, ill)
    found = [(station, checklist, walk.due_at(station, checklist)) for station, checklist in walk.stations()]
    due = [(station, checklist, items) for station, checklist, items in found if items]
    asked = _asked_in_rotation(walk, [(station.id, item) for station, _, items in due for item in items])
    return [
        _station_due(station, checklist, items, asked, sick=station.sick or station.id in ill)
        for station, checklist, items in due
    ]


def asked_again(
    still: Still, station_id: str, checklist: Checklist, item: Item, round_name: str, round_start: datetime
) -> StillOff | None:
    """What was off of an item and is asked about on a round; None where nothing was, or it was answered on it.

    What is off and followed by another item (the flow once more) is asked by that one.
    """
    found = still.get((station_id, item.id))
    if found is None or found.looked >= round_start or any(other.follows == item.id for other in checklist.items):
        return None
    return found if round_name in item.rounds or item.loses in SOON else None


def still_place(still: StillOff | None) -> int:
    """Where an item is asked at its station: what was off comes first, the worst of it before the rest."""
    return len(WORST_FIRST) if still is None else WORST_FIRST.index(still.item.loses)


def walk_order(farm: Farm, checklists: Checklists, ill: Collection[str] = ()) -> list[str]:
    """The ids of all stations in the order of the walk: by rank, clean to dirty, the sick ones last."""

    def place(numbered: tuple[int, StationBase]) -> tuple[bool, int, int]:
        number, station = numbered
        return station.sick or station.id in ill, _rank(station, checklists), number

    numbered = list(enumerate(farm.stations.values()))
    return [station.id for _, station in sorted(numbered, key=place)]


class _Walk:
    """The stations of one walk, and what is due at each."""

    def __init__(
        self,
        farm: Farm,
        checklists: Checklists,
        latest: Latest,
        now: datetime,
        round_name: str,
        events: Events,
        day: date | None,
        still: Still,
        ill: Collection[str],
    ) -> None:
        self.still, self.ill = still, ill
        self.farm, self.checklists, self.latest, self.events = farm, checklists, latest, events
        self.round_name = round_name
        self.zone = zone_of(farm.place.timezone)
        self.now = now.astimezone(self.zone)
        self.day = day or self.now.date()
        self.round_start = datetime.combine(self.day, ROUND_STARTS[round_name], self.zone)
        self._shared_done: set[tuple[str, str]] = set()

    def stations(self) -> list[tuple[StationBase, Checklist]]:
        found: list[tuple[StationBase, Checklist]] = []
        for station_id in walk_order(self.farm, self.checklists, self.ill):
            station = self.farm.stations[station_id]
            checklist = self.checklists.of(station.kind)
            if checklist is not None:
                found.append((station, checklist))
        return found

    def belongs(self, station: StationBase, item: Item) -> bool:
        return self.round_name in item.rounds and item.id not in station.leave_out

    def due_at(self, station: StationBase, checklist: Checklist) -> list[DueItem]:
        if self._left_out(station):
            return []
        found = []
        for item in checklist.items:
            still = asked_again(self.still, station.id, checklist, item, self.round_name, self.round_start)
            due = self._due(station, checklist, item) if self.belongs(station, item) else None
            if still is not None:
                found.append(self._again(due, still))
            elif station.id in self.ill and self._is_watched(station, checklist, item):
                found.append(self._watched(due, station, item))
            elif due is not None:
                found.append(due)
        return sorted(found, key=lambda each: still_place(each.still))

    def _again(self, due: DueItem | None, still: StillOff) -> DueItem:
        """What was off is asked outright, whether it is due otherwise or not."""
        if due is not None:
            return replace(due, asked_outright=True, still=still)
        last, since = self.latest.get((still.station_id, still.item.id)), still.since.astimezone(self.zone).date()
        return DueItem(item=still.item, since=since, overdue_days=0, last=last, asked_outright=True, still=still)

    def _is_watched(self, station: StationBase, checklist: Checklist, item: Item) -> bool:
        """Whether it is looked at on this round because the station is sick, and was not yet."""
        today = item.watch == "every round" or (item.watch == "daily" and self.round_name in item.rounds)
        last = self.latest.get((station.id, item.id))
        return today and item.id not in station.leave_out and (last is None or last.measured_at < self.round_start)

    def _watched(self, due: DueItem | None, station: StationBase, item: Item) -> DueItem:
        if due is not None:
            return replace(due, asked_outright=True)
        last = self.latest.get((station.id, item.id))
        return DueItem(item=item, since=self.day, overdue_days=0, last=last, asked_outright=True)

    def _left_out(self, station: StationBase) -> bool:
        last = self.latest.get((station.id, ""))
        skipped = last.measured_at if last is not None and isinstance(entry_of(last), Skip) else None
        skipped = self.events.get((station.id, SKIPPED), skipped)
        return skipped is not None and self.round_start <= skipped <= self.now

    def _due(self, station: StationBase, checklist: Checklist, item: Item) -> DueItem | None:
        if item.share is not None and not self._first_of_its_kind(checklist, item):
            return None
        last = self._last(station, checklist, item)
        if item.follows is not None and not self._was_off(station, checklist, item.follows, last):
            return None
        since = self._since(station, item, last)
        if since is None:
            return None
        overdue = (self.day - since).days if last is not None else 0
        outright = item.type == "reading" or item.ask == "always" or item.follows is not None
        return DueItem(item=item, since=since, overdue_days=overdue, last=last, asked_outright=outright)

    def _first_of_its_kind(self, checklist: Checklist, item: Item) -> bool:
        """Whether no station of the kind was asked before: what they share is asked at the first one only."""
        first = (checklist.kind, item.id) not in self._shared_done
        self._shared_done.add((checklist.kind, item.id))
        return first

    def _since(self, station: StationBase, item: Item, last: Record | None) -> date | None:
        answered = last.measured_at.astimezone(self.zone) if last is not None else None
        if last is not None and isinstance(entry_of(last), Skip):
            return self._since_skipped(last.measured_at.astimezone(self.zone))
        touched = [station] if item.share is None else self.farm.stations_of(station.kind)
        found = [self._rule_since(rule, touched, answered) for rule in item.due or _EVERY_ROUND]
        return min((each for each in found if each is not None), default=None)

    def _since_skipped(self, skipped: datetime) -> date | None:
        return None if skipped >= self.round_start else skipped.date()

    def _rule_since(self, rule: Due, touched: Sequence[StationBase], answered: datetime | None) -> date | None:
        """Since when a rule makes an item due; `touched` are the stations whose events count for it."""
        times = [event_at(each, rule.after, self.events, self.zone) for each in touched] if rule.after else []
        event = max((time for time in times if time is not None), default=None)
        at = DueMoment(today=self.day, south=self.farm.place.latitude < 0, last=answered, event=event)
        if rule.every_days is not None or rule.weekdays or rule.after is not None:
            return due_since(rule, at)
        if answered is not None and answered >= self.round_start:
            return None
        return due_since(rule, replace(at, last=None))

    def _was_off(self, station: StationBase, checklist: Checklist, item_id: str, last: Record | None) -> bool:
        other = checklist.item(item_id)
        answer = self._last(station, checklist, other) if other is not None else None
        if other is None or answer is None or isinstance(entry_of(answer), Skip) or answer.item == "all-well":
            return False
        newer = last is None or answer.measured_at > last.measured_at
        return newer and is_off(other, answer.value, self.farm, station)

    def _last(self, station: StationBase, checklist: Checklist, item: Item) -> Record | None:
        places = [station.id] if item.share is None else self._of_kind(checklist.kind)
        return last_answer(self.latest, places, item.id, self.now)

    def _of_kind(self, kind: str) -> list[str]:
        return [station.id for station in self.farm.stations_of(kind)] + [""]


def _asked_in_rotation(walk: _Walk, due: list[tuple[str, DueItem]]) -> set[Pair]:
    everything = [
        (station.id, item.id)
        for station, checklist in walk.stations()
        for item in checklist.items
        if item.ask == "rotate" and walk.belongs(station, item)
    ]
    may_be = {(station, each.item.id) for station, each in due if each.item.ask == "rotate"}
    return asked_today(everything, may_be, walk.day)


def _station_due(
    station: StationBase, checklist: Checklist, items: list[DueItem], asked: set[Pair], *, sick: bool
) -> StationDue:
    turned = [replace(each, asked_outright=True) if (station.id, each.item.id) in asked else each for each in items]
    rank = station.rank if station.rank is not None else checklist.rank
    return StationDue(
        station_id=station.id, kind=station.kind, name=station.name, rank=rank, sick=sick, items=tuple(turned)
    )


def _rank(station: StationBase, checklists: Checklists) -> int:
    checklist = checklists.of(station.kind)
    if station.rank is not None or checklist is None:
        return station.rank or 0
    return checklist.rank


def _check(now: datetime, round_name: str) -> None:
    if round_name not in ROUND_STARTS:
        raise BadInput(f"“{round_name[:40]}” is not a round.", f"Rounds are {', '.join(ROUND_STARTS)}.")
    if now.tzinfo is None or now.utcoffset() is None:
        raise BadInput(f"The time {now} has no zone.", "A time with its zone is expected.")
