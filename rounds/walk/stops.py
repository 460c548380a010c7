"""The stops of a round: what each station shows, and which one comes next."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

import msgspec

from rounds.book.entries import Check
from rounds.checklist.due import ROUND_STARTS, SOON, DueItem, StationDue, still_place
from rounds.checklist.load import ALIVE
from rounds.checklist.model import Item
from rounds.checklist.still_off import StillOff
from rounds.farm.stations import StationBase
from rounds.history.record import Record
from rounds.walk.session import Session

ALIVE_STATION = StationBase(id="farm", name="Is everything alive and running?")
"""Stands in for a station on the screen that opens a round; its records belong to the farm as a whole."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ItemLine:
    """One item at a stop: what is due, what was there last time, what has been answered on this round."""

    item: Item
    due: DueItem | None
    last: Record | None
    answered: bool

    @property
    def asked_outright(self) -> bool:
        """Whether it has to be answered by itself."""
        return self.due is not None and self.due.asked_outright

    @property
    def still(self) -> StillOff | None:
        """What was off before and is asked about for that."""
        return self.due.still if self.due is not None else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Stop:
    """One station as this round sees it."""

    station: StationBase
    station_id: str
    """As it stands in the records: empty for the farm as a whole."""
    number: int
    of: int
    lines: tuple[ItemLine, ...]

    @property
    def open_lines(self) -> tuple[ItemLine, ...]:
        """What is still to be answered."""
        return tuple(line for line in self.lines if line.due is not None)

    @property
    def asked(self) -> tuple[ItemLine, ...]:
        """What "all well" does not answer."""
        return tuple(line for line in self.open_lines if line.asked_outright)

    @property
    def covered(self) -> tuple[ItemLine, ...]:
        """What one "all well" answers."""
        return tuple(line for line in self.open_lines if not line.asked_outright)


def round_start(session: Session, round_name: str, day: date | None = None) -> datetime:
    """From when on an answer counts for today's round of that name, or for that of the day given."""
    return datetime.combine(day or session.now().date(), ROUND_STARTS[round_name], session.zone)


def stop_at(
    session: Session, round_name: str, station_id: str, *, everything: bool = False, day: date | None = None
) -> Stop:
    """One station as this round sees it.

    Parameters
    ----------
    everything : bool
        Show the items that are not due today as well.
    day : date, optional
        The day the round belongs to, where it goes on past midnight.

    Raises
    ------
    NotFound
        Where the farm has no such station.
    """
    station = session.farm.station(station_id)
    due_here = next((s for s in session.due(round_name, day=day) if s.station_id == station_id), None)
    order = session.walk_order()
    start = round_start(session, round_name, day)
    lines = _lines(session, start, station_id, session.items(station), due_here, everything=everything)
    if station_id in session.ill() and not station.sick:
        station = msgspec.structs.replace(station, sick=True)
    return Stop(station=station, station_id=station_id, number=order.index(station_id) + 1, of=len(order), lines=lines)


def alive_stop(session: Session, round_name: str, day: date | None = None) -> Stop:
    """The screen that opens a round: is everything alive and running?"""
    checklist, off = session.checklists.of(ALIVE), session.still_off()
    lines = []
    for item in checklist.items if checklist else ():
        still, last = off.get(("", item.id)), _last(session, "", item)
        if round_name not in item.rounds and not (still is not None and item.loses in SOON):
            continue
        start = round_start(session, round_name, day)
        answered = last is not None and last.measured_at >= start
        still = None if still is None or still.last >= start else still
        due = DueItem(item=item, since=session.now().date(), overdue_days=0, last=last,
                      asked_outright=still is not None, still=still)  # fmt: skip
        is_open = still is not None or not answered
        lines.append(ItemLine(item=item, due=due if is_open else None, last=last, answered=answered))
    lines.sort(key=lambda line: still_place(line.still))
    return Stop(station=ALIVE_STATION, station_id="", number=0, of=len(session.walk_order()), lines=tuple(lines))


def next_station(session: Session, round_name: str, after: str | None = None, *, day: date | None = None) -> str | None:
    """The next station where something is due, going on from one and beginning again at the front.

    Returns
    -------
    str or None
        None where nothing is due any more.
    """
    due = [each.station_id for each in session.due(round_name, day=day)]
    if after is None or after not in session.walk_order():
        return due[0] if due else None
    order = session.walk_order()
    here = order.index(after)
    behind = [station for station in order[here + 1 :] if station in due]
    before = [station for station in order[:here] if station in due]
    return next(iter(behind + before), None)


def _lines(
    session: Session,
    start: datetime,
    station_id: str,
    items: tuple[Item, ...],
    due_here: StationDue | None,
    *,
    everything: bool,
) -> tuple[ItemLine, ...]:
    due = {each.item.id: each for each in due_here.items} if due_here else {}
    lines = []
    for item in items:
        last = _last(session, station_id, item)
        answered = last is not None and last.measured_at >= start
        if everything or item.id in due or answered:
            lines.append(ItemLine(item=item, due=due.get(item.id), last=last, answered=answered))
    return tuple(sorted(lines, key=lambda line: still_place(line.still)))


def _last(session: Session, station_id: str, item: Item) -> Record | None:
    latest = session.history.latest_by_item()
    own, well = latest.get((station_id, item.id)), latest.get((station_id, "all-well"))
    if well is not None and item.id in Check(well).covers and (own is None or own.rank < well.rank):
        return well
    return own
