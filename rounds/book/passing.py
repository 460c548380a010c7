"""What was left in a passing state, and since when: known without reading the record again, a fold over the doings.

A hose that runs, a drain that is open, a pump that is off: each is open from the doing that says so until the one that
says its opposite. Beside it: how much a hose gave when that was known last, and since when a station is sick.
"""

from __future__ import annotations

from datetime import datetime

import msgspec

from rounds.book.doings import HOSE, Doing, Settled
from rounds.book.entries import entry_of
from rounds.book.entry import RecordLike

CODE = "passing"
"""So begins the id under which such a state is settled: `passing:reservoir-1:hose`."""

SHORTEST_MIN, LONGEST_MIN = 2.0, 240.0
"""A hose that ran shorter or longer tells nothing of its flow by the litres that went in. Practice. [min]"""
_LARGEST_FLOW = 1_000.0
"""More is no hose. [L/min]"""


class Open(msgspec.Struct, omit_defaults=True):
    """Something in a passing state."""

    at: datetime
    last: datetime
    """When it was last said to be so."""
    flow: float | None = None
    """What a hose gives, where that was said. [L/min]"""
    product: str = ""
    """Id of the water that runs in, where that was said."""
    note: str = ""


class AtStation(msgspec.Struct, omit_defaults=True):
    """What is so at one station."""

    open: dict[str, Open] = {}
    """By verb: `hose`, `drain`, `pump` …"""
    flow: float | None = None
    """What its hose gave when that was known last. [L/min]"""
    sick: datetime | None = None
    """Since when it is called sick."""


class AllPassing(msgspec.Struct):
    """By station; "" is the farm as a whole."""

    at: dict[str, AtStation] = {}


class Passing:
    """The fold that remembers it."""

    name, version = "passing", "1"
    kinds = frozenset({Doing.kind, Settled.kind})

    def empty(self) -> AllPassing:
        """Nothing is in a passing state."""
        return AllPassing()

    def step(self, state: AllPassing, record: RecordLike) -> AllPassing:
        """Take in one doing, or the reason for which a state is none any more."""
        doing = entry_of(record)
        if isinstance(doing, Settled):
            _settle(state, doing)
            return state
        if not isinstance(doing, Doing):
            return state
        here = state.at.setdefault(doing.station, AtStation())
        if doing.verb in ("sick", "well"):
            here.sick = (here.sick or doing.measured_at) if doing.verb == "sick" else None
        if doing.is_left:
            here.open[doing.verb] = _open(here.open.get(doing.verb), doing)
            here.flow = (doing.number if doing.verb == HOSE else None) or here.flow
        elif doing.is_undone:
            before = here.open.pop(doing.verb, None)
            here.flow = (_flow(before, doing) if before is not None and doing.verb == HOSE else None) or here.flow
        return state


def _settle(state: AllPassing, settled: Settled) -> None:
    """Take in that a state was settled with a reason."""
    code, _, rest = settled.item.partition(":")
    station, _, verb = rest.rpartition(":")
    if code == CODE and settled.is_closed and station in state.at:
        state.at[station].open.pop(verb, None)


def _open(before: Open | None, doing: Doing) -> Open:
    """What is so since it was said first; what was said of it last counts."""
    at, flow = doing.measured_at, doing.number if doing.verb == HOSE else None
    if before is None:
        return Open(at, at, flow, doing.product, doing.note)
    return Open(before.at, at, flow or before.flow, doing.product or before.product, doing.note or before.note)


def _flow(before: Open, off: Doing) -> float | None:
    """What the hose gave, by the litres that went in and its time; None where they tell nothing. [L/min]"""
    minutes = (off.measured_at - before.at).total_seconds() / 60.0
    litres = off.number
    if litres is None or litres <= 0.0 or not SHORTEST_MIN <= minutes <= LONGEST_MIN:
        return None
    flow = litres / minutes
    return flow if flow <= _LARGEST_FLOW else None
