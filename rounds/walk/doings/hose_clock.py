"""How long a hose that runs may still run: from the level, the room that is left and what the hose gives."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from rounds.book.doings import HOSE
from rounds.book.passing import AtStation, Open
from rounds.farm.stations import Reservoir
from rounds.walk.doings.water import litres_now
from rounds.walk.matters import Ahead
from rounds.walk.session import Session

LOOK_AFTER = timedelta(minutes=10)
"""So long after it was turned on a hose of unknown flow is looked at. Common practice, no source."""
BEFORE = timedelta(minutes=5)
"""So long before it is full it rings; half the time where it takes less than twice as long."""
LOOK, FULL = "hose", "hose-full"


@dataclass(frozen=True, slots=True, kw_only=True)
class Clock:
    """One hose that runs."""

    station_id: str
    since: datetime
    flow_l_min: float | None
    """[L/min]; None where nobody knows."""
    room_l: float | None
    """What still went in when it was last known how much stood there; None where that is not known. [L]"""
    counted_at: datetime
    """When that was."""

    @property
    def full_at(self) -> datetime | None:
        """When it is full; None where something is missing for it."""
        if self.flow_l_min is None or self.room_l is None:
            return None
        return self.counted_at + timedelta(minutes=minutes_to_fill(self.room_l, self.flow_l_min))

    @property
    def rings_at(self) -> datetime:
        """When it is to be looked at: some minutes before it is full, or after ten minutes."""
        full = self.full_at
        if full is None:
            return self.since + LOOK_AFTER
        return max(full - BEFORE, self.counted_at + (full - self.counted_at) / 2)

    @property
    def missing(self) -> str:
        """What must be known to say when it is full; empty where it is."""
        if self.flow_l_min is None:
            return "its flow is not known: `hose 12` says it in L/min"
        return "the level is not known: a dip says it" if self.room_l is None else ""

    def text(self, session: Session) -> str:
        """When it is full, or what is missing to say so."""
        full = self.full_at
        return f"full about {clock_text(session, full)}" if full is not None else self.missing


def minutes_to_fill(room_l: float, flow_l_min: float) -> float:
    """The time in which a hose fills the room that is left.

    Parameters
    ----------
    room_l : float
        Room left; below 0 is none. [L]
    flow_l_min : float
        What the hose gives, above 0. [L/min]

    Examples
    --------
    >>> minutes_to_fill(60.0, 12.0)
    5.0
    """
    return max(0.0, room_l) / flow_l_min


def clocks(session: Session) -> Iterator[Clock]:
    """The hoses that run."""
    for station_id, here in session.unsettled().passing.at.items():
        found = here.open.get(HOSE)
        if found is not None:
            yield clock_of(session, station_id, here, found)


def clock_of(session: Session, station_id: str, here: AtStation, hose: Open) -> Clock:
    """The clock of a hose that was turned on, or is about to be."""
    station, room, counted = session.farm.stations.get(station_id), None, hose.at
    if isinstance(station, Reservoir):
        inside = litres_now(session, station)
        room = station.full_volume_l - inside if inside is not None else None
        counted = max(hose.at, _last_known(session, station_id) or hose.at)
    return Clock(
        station_id=station_id, since=hose.at, flow_l_min=hose.flow or here.flow, room_l=room, counted_at=counted
    )  # fmt: skip


def _last_known(session: Session, station_id: str) -> datetime | None:
    """When the level was last dipped."""
    dip = session.history.latest(
        station_id, "dip", kind="reading", before=session.now() + timedelta(seconds=1)
    )  # fmt: skip
    return dip.measured_at if dip is not None else None


def rings(session: Session) -> Iterator[Ahead]:
    """When each hose that runs is to be looked at, and when it is full."""
    for each in clocks(session):
        full = each.full_at
        text = f"the hose still runs, {each.text(session)}"
        yield Ahead(code=LOOK, text=text, station_id=each.station_id, due_at=each.rings_at)
        if full is not None:
            yield Ahead(code=FULL, text="full by the clock: hose off", station_id=each.station_id, due_at=full)


def clock_text(session: Session, at: datetime) -> str:
    """A time of the farm's clock, rounded down to the minute: rather early than late.

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> from datetime import UTC
    >>> clock_text(SimpleNamespace(zone=UTC), datetime(2026, 11, 25, 7, 52, 40, tzinfo=UTC))
    '7:52'
    """
    local = at.astimezone(session.zone)
    return f"{local.hour}:{local:%M}"


def litres_by_clock(hose: Open, flow: float | None, now: datetime) -> float | None:
    """What has run in since it was turned on, to the litre; None where its flow is not known. [L]"""
    if flow is None:
        return None
    return max(1.0, float(round(flow * (now - hose.at).total_seconds() / 60.0)))
