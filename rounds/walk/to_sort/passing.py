"""Still to sort: what was left in a passing state: the hose runs, the drain is open, the pump is off."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from rounds.book.doings import HOSE
from rounds.book.passing import CODE, Open
from rounds.checklist.model import Loses
from rounds.checklist.still_off import matter_id
from rounds.walk.doings.hose_clock import Clock, clock_of
from rounds.walk.doings.states import STATES, State
from rounds.walk.session import Session
from rounds.walk.to_sort.model import OpenMatter
from rounds.walk.to_sort.words import age_text, lost_at

_WAITS: Sequence[Loses] = ("tonight", "tomorrow", "days")
"""What loses no sooner may be left for later."""


@dataclass(frozen=True, slots=True)
class StillSo:
    """One state that was not ended."""

    station_id: str
    state: State
    open: Open

    @property
    def id(self) -> str:
        """Under which it is settled."""
        return matter_id(CODE, self.station_id, self.state.verb)


def still_so(session: Session) -> list[StillSo]:
    """What is still in a passing state and not left for a later day, the oldest first."""
    unsettled, today = session.unsettled(), session.now().date()
    found = [
        StillSo(station, STATES[verb], each)
        for station, here in unsettled.passing.at.items()
        if not station or station in session.farm.stations
        for verb, each in here.open.items()
        if verb in STATES
    ]
    settled = unsettled.settled
    return sorted((s for s in found if settled.parked_until(s.id, today) is None), key=lambda each: each.open.at)


def passing_states(session: Session) -> Iterator[OpenMatter]:
    """Each state that was not ended."""
    for station, here in session.unsettled().passing.at.items():
        for verb, each in here.open.items():
            if verb in STATES and (not station or station in session.farm.stations):
                clock = clock_of(session, station, here, each) if verb == HOSE else None
                yield _matter(session, StillSo(station, STATES[verb], each), clock)


def _matter(session: Session, so: StillSo, clock: Clock | None) -> OpenMatter:
    state, since = so.state, age_text(so.open.at, session.now(), session.zone)
    loses = _hose_loses(session, clock) if clock is not None else state.loses
    told = f", {clock.text(session)}" if clock is not None else ""
    over = state.undone[0]
    return OpenMatter(
        id=so.id, code=CODE, station=so.station_id, what=f"{state.to_do}{told}", since=so.open.at, last=so.open.last,
        loses=loses, what_is_lost=lost_at(session, so.station_id, loses), closes_by=("undone", "reason"),
        closing=f"`{over}`, or a reason", parkable=loses in _WAITS, brief=state.said.lower(),
        seen=(f"{state.said.lower()} since {since}{f' ({so.open.note})' if so.open.note else ''}",),
        could_be=state.why, reasons=(f"{state.said_over.lower()} by now", "it is meant so", "another reason"),
    )  # fmt: skip


def _hose_loses(session: Session, clock: Clock) -> Loses:
    """Past the time at which it is full, or must be looked at, half an hour is too long."""
    return "30 minutes" if session.now() >= (clock.full_at or clock.rings_at) else "2 hours"
