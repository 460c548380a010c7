"""The record, typed: each line as what it says. Advice, belief and checklist ask no record for its kind or data."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TypeVar

from rounds.book.actions import FED, WATER
from rounds.book.amounts import litres_per, number
from rounds.book.doings import Doing as Doing  # bound to their kinds with the others
from rounds.book.doings import Settled as Settled
from rounds.book.entry import TYPES, Entry, RecordLike
from rounds.book.measurements import Measured as Measured  # bound to their kinds with the others
from rounds.book.measurements import Measuring as Measuring
from rounds.book.offered import Offer as Offer  # bound to its kind with the others
from rounds.history.record import DOUBTED

JAR, STRIP, BUFFER_4 = "jar", "strip", "buffer-4"
"""Items of what is asked before a dose: the pH of a jar test, of a strip, and of the buffer of 4.01."""
BUFFER_4_PH = 4.01
FILLED_HOW = "filled-how"
"""Item that says how a reservoir was filled: one of `STILL`, `SPLASHED`, `AIRED`."""
STILL, SPLASHED, AIRED = "still", "splashed", "aired"


class Reading(Entry, kind="reading"):
    """A measured value."""

    __slots__ = ()

    @property
    def number(self) -> float | None:
        """The value as a finite number; None where it is none, or was doubted when it was taken in from a table."""
        doubted = DOUBTED in getattr(self.record, "marks", ())  # a number out of a column has none
        return None if doubted else number(self.record.value)

    @property
    def buffer_ph(self) -> float:
        """The pH of the buffer that was dipped into, where this is a dip in one. [-]"""
        usual = BUFFER_4_PH if self.item == BUFFER_4 else 7.0
        found = number(self.record.data.get("buffer", usual))
        return usual if found is None else found

    @property
    def temperature_c(self) -> float | None:
        """The temperature that was entered beside it. [degC]"""
        return number(self.record.data.get("temperature_c"))

    @property
    def jar_ml_per_l(self) -> float | None:
        """What was put into each litre of a jar test; None where this is none. [mL/L]"""
        return number(self.record.data.get("ml_per_l")) if self.item == JAR else None

    @property
    def jar_product(self) -> str:
        """Id of the acid or base that was put into a jar test."""
        return self._text("product") or ""

    @property
    def jar_water(self) -> str:
        """Id of the water that was in the jar; empty where it was the reservoir's own."""
        return self._text("water") or ""


class Check(Entry, kind="check"):
    """Something that was looked at; an "all well" covers several."""

    __slots__ = ()

    @property
    def covers(self) -> tuple[str, ...]:
        """The items that an "all well" answers."""
        return self._texts("covers")

    @property
    def is_apart(self) -> bool:
        """Whether what was off before had to be answered by itself, so that this "all well" cannot be about it."""
        return self.record.data.get("apart") is True


class _OfCorrection(Entry):
    """A line that belongs to a correction."""

    __slots__ = ()

    @property
    def action(self) -> str:
        """What was done, as the steps of a correction call it; empty where it does not say."""
        return self._text("action") or ""

    @property
    def correction_id(self) -> str | None:
        """Id of the correction that it belongs to."""
        return self._text("correction")

    @property
    def step_number(self) -> int | None:
        """Number of its step, from 1."""
        found = self.record.data.get("step")
        return found if isinstance(found, int) and not isinstance(found, bool) else None


class Dose(_OfCorrection, kind="dose"):
    """Something that was poured in, drained off or renewed."""

    __slots__ = ()

    @property
    def litres(self) -> float:
        """How much liquid it was. [L]

        Examples
        --------
        >>> from types import SimpleNamespace
        >>> Dose(SimpleNamespace(value=250.0, unit=None, data={"action": "acid"})).litres
        0.25
        """
        return (self.number or 0.0) * litres_per(self.unit or self.usual_unit)

    @property
    def usual_unit(self) -> str:
        """The unit that is meant where none stands beside the amount."""
        return "L" if self.action in WATER else "mL"

    @property
    def ml(self) -> float:
        """The same. [mL]"""
        return self.litres * 1000.0

    @property
    def advised(self) -> float | None:
        """What the step advised, in the unit of the dose."""
        return number(self.record.data.get("advised"))

    @property
    def is_own(self) -> bool:
        """Whether somebody poured or drained it unasked."""
        return self.record.data.get("own") is True

    @property
    def renews(self) -> bool:
        """Whether it is a change-out: all that was there is gone."""
        return self.action == "change_out"

    @property
    def drains(self) -> bool:
        """Whether it was taken out."""
        return self.action == "drain_off"

    @property
    def feeds(self) -> bool:
        """Whether it was a part of the feed."""
        return self.action in FED


class Done(_OfCorrection, kind="step"):
    """A step of a correction that has no amount."""

    __slots__ = ()


class PutOff(_OfCorrection, kind="put-off"):
    """A correction that was left for later."""

    __slots__ = ()


class GivenUp(_OfCorrection, kind="given-up"):
    """The other half of A and B, which will not be poured, with the reason."""

    __slots__ = ()

    @property
    def doses(self) -> tuple[str, ...]:
        """Ids of the records of what went in alone."""
        return self._texts("doses")


class Overtaken(_OfCorrection, kind="overtaken"):
    """A correction that something else overtook."""

    __slots__ = ()


class RecheckDone(_OfCorrection, kind="recheck-done"):
    """A recheck that somebody closed by hand."""

    __slots__ = ()

    @property
    def stage(self) -> str:
        """ "mixed" or "next-morning"."""
        return self._text("stage") or ""


class Skip(Entry, kind="skip"):
    """A station or an item that was left out."""

    __slots__ = ()


class Note(Entry, kind="note"):
    """A note."""

    __slots__ = ()


class Count(Entry, kind="stock"):
    """What was counted on the shelf, or delivered."""

    __slots__ = ()


class RoundMark(Entry, kind="round"):
    """The start or the end of a round."""

    __slots__ = ()

    @property
    def is_closed(self) -> bool:
        """Whether it ended the round."""
        return self.value == "closed"

    @property
    def left_open(self) -> tuple[str, ...]:
        """Ids of the stations that it did not reach."""
        return self._texts("open")


class Seen(Entry, kind="seen"):
    """A slow change that the grower has looked at."""

    __slots__ = ()

    @property
    def put_right(self) -> bool:
        """Whether it was put right."""
        return self.record.data.get("put_right") is True


class Event(Entry, kind="event"):
    """Something that happened: a storm, a delivery."""

    __slots__ = ()


class Unknown(Entry):
    """A line of a kind that this version does not know: kept and shown; `rounds.book.newer` asks what it touches."""

    __slots__ = ()

    @property
    def name(self) -> str:
        """Its kind in words."""
        return self.record.kind.replace("-", " ")

    @property
    def says_it_touches(self) -> frozenset[str] | None:
        """What it says it changes, as a newer version writes it beside; None where it does not say."""
        return frozenset(self._texts("touches")) if "touches" in self.record.data else None


E = TypeVar("E", bound=Entry)


def entry_of(record: RecordLike) -> Entry:
    """One record, typed."""
    return TYPES.get(record.kind, Unknown)(record)


def entries_of(records: Iterable[RecordLike | Entry]) -> list[Entry]:
    """Records, typed, in their order; entries stay what they are."""
    return [each if isinstance(each, Entry) else entry_of(each) for each in records]


def only(kind: type[E], entries: Iterable[Entry], station: str | None = None) -> list[E]:
    """The entries of one type, at one station where it is given."""
    return [e for e in entries if isinstance(e, kind) and (station is None or e.station == station)]
