"""What was begun at a station and not ended, or left: known without reading the record again, a fold over it.

A correction begun, what was poured and not read since, what was put off, left out or not reached, what a helper poured
beyond the limit, birds that were lost, waiting times. The state hangs on the record alone.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta

import msgspec

from rounds.book.actions import FED, MEASURED
from rounds.book.doings import Doing
from rounds.book.entries import (
    Check,
    Done,
    Dose,
    GivenUp,
    Overtaken,
    PutOff,
    Reading,
    RecheckDone,
    RoundMark,
    Skip,
    entry_of,
)
from rounds.book.entry import Entry, RecordLike
from rounds.book.flock import MOVES
from rounds.book.offered import Offer

BEYOND = "beyond the helper's limit"
"""So begins the mark of what a helper poured beyond what the grower allowed."""
FEED_READ = ("ph", "ec")
"""What tells whether a dose did what it should."""
_DOSED = FED | {"acid", "base"}
_CHANGED = ("drain_off", "change_out")
BIRDS_WITHIN = timedelta(days=2)
"""Deaths so close to each other are one happening."""


class Begun(msgspec.Struct):
    """A correction that was offered, and how far it has been done."""

    id: str
    at: datetime
    actions: list[str]
    done: list[int] = []
    """Numbers of the steps that are done."""
    last: datetime | None = None
    """When the last of them was done."""

    @property
    def changes(self) -> bool:
        """Whether water was drained or changed for it, so that a reading does not end it."""
        return any(self.actions[n - 1] in _CHANGED for n in self.done if n <= len(self.actions))

    @property
    def to_measure(self) -> list[str]:
        """Actions with an amount that are not done yet, in their order."""
        open_ones = (a for n, a in enumerate(self.actions, 1) if n not in self.done)
        return [action for action in open_ones if action in MEASURED]


class Left(msgspec.Struct):
    """Something that was left, and why."""

    at: datetime
    why: str = ""
    correction: str = ""


class Poured(msgspec.Struct):
    """What went in and was not read since."""

    at: datetime
    action: str
    item: str
    amount: float | None = None
    unit: str | None = None


class Birds(msgspec.Struct):
    """Birds that died or were taken, close to each other."""

    first: datetime
    last: datetime
    number: float = 0.0


class Runs(msgspec.Struct):
    """A waiting time."""

    at: datetime
    until: date
    verb: str
    why: str = ""


class AtStation(msgspec.Struct, omit_defaults=True):
    """What is not ended at one station."""

    begun: Begun | None = None
    ended: datetime | None = None
    """When a correction was last done to its end, or all water renewed."""
    renewed: datetime | None = None
    calibrated: datetime | None = None
    poured: Poured | None = None
    put_off: Left | None = None
    left_out: Left | None = None
    not_reached: datetime | None = None
    beyond: Left | None = None
    dead: Birds | None = None
    fox: Birds | None = None
    birds_moved: datetime | None = None
    """When the number of birds last changed: counts from before say nothing of those there are now."""
    runs: list[Runs] = []


class AllUndone(msgspec.Struct):
    """By station; "" is the farm as a whole."""

    at: dict[str, AtStation] = {}


class Undone:
    """The fold that remembers it."""

    name, version = "undone", "2"
    kinds = frozenset(
        each.kind
        for each in (
            Check, Done, Doing, Dose, GivenUp, Offer, Overtaken, PutOff, Reading, RecheckDone, RoundMark, Skip,
        )
    )  # fmt: skip

    def empty(self) -> AllUndone:
        """Nothing was begun yet."""
        return AllUndone()

    def step(self, state: AllUndone, record: RecordLike) -> AllUndone:
        """Take in one record."""
        entry = entry_of(record)
        if isinstance(entry, RoundMark):
            for station in entry.left_open if entry.is_closed else ():
                here = state.at.setdefault(station, AtStation())
                here.not_reached = here.not_reached or entry.measured_at
            return state
        _take(state.at.setdefault(entry.station, AtStation()), entry)
        return state


def _take(here: AtStation, entry: Entry) -> None:
    match entry:
        case Reading() | Check():
            _look(here, entry)
        case Offer():
            here.begun, here.put_off = Begun(entry.id, entry.measured_at, [s.action for s in entry.steps]), None
        case Dose():
            _pour(here, entry)
        case Done():
            _do(here, entry)
        case Skip():
            here.not_reached = None
            here.left_out = here.left_out if entry.item else Left(entry.measured_at, entry.note)
        case PutOff():
            here.put_off = Left(entry.measured_at, entry.note, entry.correction_id or "")
            here.begun = None if _is_of(here.begun, entry.correction_id) else here.begun
        case Overtaken() | GivenUp():
            here.begun = None if _is_of(here.begun, entry.correction_id) else here.begun
        case RecheckDone():
            here.poured = None
        case Doing():
            _happen(here, entry)


def _is_of(begun: Begun | None, correction_id: str | None) -> bool:
    return begun is not None and begun.id == correction_id


def _look(here: AtStation, entry: Reading | Check) -> None:
    """Somebody was there; a reading of the feed tells what came of the last dose."""
    here.left_out, here.not_reached = None, None
    if not isinstance(entry, Reading) or entry.item not in FEED_READ:
        return
    here.poured, here.put_off = None, None
    begun = here.begun
    if begun is not None and not (begun.changes and begun.to_measure):
        here.begun = None


def _pour(here: AtStation, dose: Dose) -> None:
    at = dose.measured_at
    here.put_off = None
    if dose.action in _DOSED:
        here.poured = Poured(at, dose.action, dose.item, dose.number, dose.unit)
    if dose.renews:
        here.renewed = here.ended = at
    mark = next((m for m in getattr(dose.record, "marks", ()) if m.startswith(BEYOND)), "")
    if mark:
        here.beyond = Left(at, f"{dose.person}: {mark}")
    _do(here, dose)


def _do(here: AtStation, done: Dose | Done) -> None:
    """A step of a correction; the last of those with an amount ends it."""
    begun = here.begun
    if begun is None or done.step_number is None or done.correction_id != begun.id:
        return
    begun.done.append(done.step_number)
    begun.last = done.measured_at
    if not begun.to_measure and any(action in MEASURED for action in begun.actions):
        here.begun, here.ended = None, done.measured_at


def _happen(here: AtStation, doing: Doing) -> None:
    at = doing.measured_at
    if doing.verb == "calibrated":
        here.calibrated = at
    if doing.verb in MOVES:
        here.birds_moved = at
    if doing.verb == "dead":
        here.dead = _more(here.dead, doing)
    if doing.verb == "fox":
        here.fox = _more(here.fox, doing)
    if doing.until is not None:
        here.runs = [each for each in here.runs if each.until > at.date() and each.verb != doing.verb]
        here.runs.append(Runs(at, doing.until, doing.verb, doing.note))


def _more(before: Birds | None, doing: Doing) -> Birds:
    at, number = doing.measured_at, doing.number or 1.0
    if before is None or at - before.last > BIRDS_WITHIN:
        return Birds(at, at, number)
    return Birds(before.first, at, before.number + number)
