"""The last answers to each thing that was read or looked at, known without reading the record again: a fold over it.

Only answers given by themselves count: an "all well" answers several things, and none of them in particular. Those of
versions that covered also what was off with it do count, since nobody was asked about it by itself then. What an answer
means is not judged here, since bands change: the state hangs on the record alone.
"""

from __future__ import annotations

from datetime import UTC, datetime
from itertools import pairwise

import msgspec

from rounds.book.entries import Check, Reading, Settled, entry_of
from rounds.book.entry import RecordLike

KEPT = "hard to believe, kept"
"""The mark of what was kept although it was hard to believe."""
OFF, DOUBTED = "off", "doubted"
"""What the ids begin with under which an answer is settled: `off:channel-3:wilt`."""
MOST = 5
"""So many different answers of each item are remembered."""
ALL_WELL = "all-well"
"""The item of what answers several things as well at once."""
Value = float | int | str | bool | None


class Told(msgspec.Struct, array_like=True):
    """One answer, or several in a row that were the same."""

    first_s: float
    """When it was first given. [s since 1970]"""
    last_s: float
    """When it was last given. [s since 1970]"""
    value: Value
    """None where it was settled with a reason, or an "all well" of an earlier version covered it."""
    doubted: bool = False
    """Whether it was kept although it was hard to believe."""

    @property
    def first(self) -> datetime:
        """When it was first given."""
        return datetime.fromtimestamp(self.first_s, UTC)

    @property
    def last(self) -> datetime:
        """When it was last given."""
        return datetime.fromtimestamp(self.last_s, UTC)


class LastAnswers(msgspec.Struct):
    """The last answers by station and item, the oldest first; station "" is the farm as a whole."""

    of: dict[str, dict[str, list[Told]]] = {}


class Answers:
    """The fold that remembers them."""

    name, version = "last-answers", "1"
    kinds = frozenset({Reading.kind, Check.kind, Settled.kind})

    def empty(self) -> LastAnswers:
        """Nothing was answered yet."""
        return LastAnswers()

    def step(self, state: LastAnswers, record: RecordLike) -> LastAnswers:
        """Take in an answer."""
        entry = entry_of(record)
        if isinstance(entry, Check) and entry.item == ALL_WELL:
            _cover(state, entry)
            return state
        if isinstance(entry, Settled):
            _settle(state, entry)
            return state
        if not isinstance(entry, Reading | Check) or not entry.item:
            return state
        value = entry.number if isinstance(entry, Reading) else entry.value
        if value is not None:
            told = state.of.setdefault(entry.station, {}).setdefault(entry.item, [])
            _add(told, value, entry.measured_at.timestamp(), KEPT in getattr(record, "marks", ()))
        return state


def _cover(state: LastAnswers, well: Check) -> None:
    """Take in an "all well": it is an answer only where it may have covered what was off."""
    here = state.of.get(well.station)
    if here is not None and not well.is_apart:
        for item in well.covers:
            if item in here and here[item][-1].value is not None:
                _add(here[item], None, well.measured_at.timestamp(), False)


def _settle(state: LastAnswers, settled: Settled) -> None:
    """Take in that something was closed with a reason: what is found of it later begins anew."""
    code, _, rest = settled.item.partition(":")
    station, _, item = rest.partition(":")
    told = state.of.get(station, {}).get(item)
    if settled.is_closed and code in (OFF, DOUBTED) and told:
        _add(told, None, settled.measured_at.timestamp(), False)


def _add(told: list[Told], value: Value, at_s: float, doubted: bool) -> None:
    last = told[-1] if told else None
    if last is not None and (type(last.value), last.value, last.doubted) == (type(value), value, doubted):
        last.last_s = at_s
        return
    told.append(Told(at_s, at_s, value, doubted))
    del told[:-MOST]


def in_order(several: list[list[Told]]) -> list[Told]:
    """The answers of several places to what is asked once for all of them, as one row."""
    found = sorted((each for told in several for each in told), key=lambda each: each.last_s)
    return found if all(a.last_s <= b.first_s for a, b in pairwise(found)) else found[-1:]
