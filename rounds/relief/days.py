"""What is due on each of the days away, worked out by date as if everything before had been done."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from rounds.checklist.due import ROUND_STARTS, due_items
from rounds.checklist.events import events_of
from rounds.checklist.model import Item
from rounds.errors import BadInput, OutOfRange
from rounds.history.record import Record
from rounds.walk.session import Session

ROUND_HOURS: Mapping[str, time] = {"morning": time(7), "midday": time(12, 30), "dusk": time(17)}
"""When a helper is assumed to walk. Common practice, no source."""
MOST_DAYS = 31
Key = tuple[str, str, str]
Found = tuple[Item, set[date]]


@dataclass(frozen=True, slots=True, kw_only=True)
class DueDays:
    """One item of one station on one round, and the days on which it is due."""

    station_id: str
    round_name: str
    item: Item
    days: frozenset[date]


def days_between(first: date, last: date) -> tuple[date, ...]:
    """The days from the first to the last, both counted.

    Raises
    ------
    BadInput
        Where the last comes before the first.
    OutOfRange
        For more than 31 days.

    Examples
    --------
    >>> len(days_between(date(2026, 11, 25), date(2026, 12, 1)))
    7
    """
    if last < first:
        raise BadInput(
            f"The days are the wrong way round: {first.isoformat()} comes after {last.isoformat()}.",
            "Give the first day away as --from and the last as --to.",
        )
    count = (last - first).days + 1
    if count > MOST_DAYS:
        raise OutOfRange(f"A sheet for {count} days is too long to hold.", f"Expected at most {MOST_DAYS} days.")
    return tuple(first + timedelta(days=n) for n in range(count))


def due_by_day(session: Session, days: Sequence[date]) -> list[DueDays]:
    """What is due on each day, in the order of the walk and of each checklist.

    Parameters
    ----------
    days : sequence of date
        Following one another. What is due before them counts as done by then.
    """
    found: dict[Key, Found] = {}
    latest = dict(session.history.latest_by_item())
    today = session.now().date()
    events = events_of(session.farm, session.checklists, session.history.latest_marks().values())
    for day, name in _rounds_until(days, min(today, days[0])):
        at = datetime.combine(day, ROUND_HOURS[name], session.zone)
        if at < session.now() and day == today and day not in days:
            continue
        for station in due_items(session.farm, session.checklists, latest, at, name, events):
            for due in station.items:
                latest[station.station_id, due.item.id] = _answered(station.station_id, due.item.id, at)
                if day in days:
                    key = (name, station.station_id, due.item.id)
                    found.setdefault(key, (due.item, set()))[1].add(day)
    return [
        DueDays(station_id=station, round_name=name, item=item, days=frozenset(on))
        for (name, station, _), (item, on) in sorted(found.items(), key=_place_in(session))
    ]


def _rounds_until(days: Sequence[date], start: date) -> Iterator[tuple[date, str]]:
    """Every round from a first day to the last of the days."""
    for n in range((days[-1] - start).days + 1):
        yield from ((start + timedelta(days=n), name) for name in ROUND_STARTS)


def _place_in(session: Session) -> Callable[[tuple[Key, Found]], tuple[int, int, int]]:
    order = {station: n for n, station in enumerate(session.walk_order())}
    rounds = {name: n for n, name in enumerate(ROUND_STARTS)}

    def place(pair: tuple[Key, Found]) -> tuple[int, int, int]:
        (name, station_id, item_id), _ = pair
        items = [item.id for item in session.items(session.farm.stations[station_id])]
        return rounds[name], order[station_id], items.index(item_id)

    return place


def _answered(station_id: str, item_id: str, at: datetime) -> Record:
    """Stands for the answer that will have been given by then; it is neither well nor off."""
    return Record(
        id="", format=1, device="", seq=1, lamport=1, kind="check", station=station_id, item=item_id,
        measured_at=at, entered_at=at,
    )  # fmt: skip
