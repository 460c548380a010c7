"""What went into a reservoir since its last change-out, and what was read there: the book that every guess starts from.

The composition is that of a fresh feed, as if the plants took everything evenly; how far phosphate is worn below it
is a matter of belief, by age and by litres drunk.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from typing import Literal

from rounds.book.composition import (
    KnownFeed,
    KnownWater,
    agent_of,
    concentrate_solution,
    is_unknown,
    mixed_feed,
    water_known,
)
from rounds.book.entries import FILLED_HOW, JAR, STRIP, Check, Dose, Reading, entries_of, only
from rounds.book.entry import Entry, RecordLike
from rounds.book.feed_tests import FeedTests, feed_tests_of
from rounds.book.level import inside_after, litres_of
from rounds.book.parcel import Parcel, parcel_of
from rounds.errors import RoundsError
from rounds.farm.farm import Farm
from rounds.farm.shelf import Acid, Base, Concentrate
from rounds.farm.stations import Reservoir
from rounds.science.solution import Solution, mix

LONGEST_MEMORY = timedelta(days=42)
"""This far back is read, or to the last change-out where that is longer ago."""
WORN_DAYS = 5.0
"""Days after which a feed is worn by two thirds of what it will be: practice. [d]"""
_STRENGTH_UNKNOWN = 1.0
_LEAST_L = 0.1
_SAID_BEFORE = timedelta(hours=1)
MOST_ML_PER_L = 100.0
"""More in a litre is no jar test. [mL/L]"""
UNKNOWN_DOUBT = 1.0
"""Marks an event of which only is known that something went in. [-]"""

_POSSIBLE = {"ph": (0.0, 14.0), "ec": (0.0, 20.0), JAR: (0.0, 14.0), STRIP: (0.0, 14.0)}
"""What a meter can show; what else an old record holds was taken in unseen, and is no reading. [pH, mS/cm]"""
_ANYTHING = (-math.inf, math.inf)

What = Literal["ph", "ec", "dose", "water", "renewed", "jar", "strip", "buffer", "checked", "filled"]


@dataclass(frozen=True, slots=True, kw_only=True)
class LedgerEvent:
    """One thing that moved the reservoir, or one that was read there."""

    at: datetime
    what: What
    record_id: str = ""
    value: float = 0.0
    """pH or mS/cm of a reading, mL or L of what was added."""
    item: str = ""
    meter: str | None = None
    parcel: Parcel = field(default_factory=Parcel)
    """Per litre of the reservoir for a dose, per litre of itself for a water or concentrate."""
    share: float = 0.0
    """Of the mixture, for a water or concentrate."""
    doubt: float = 0.0
    solution: Solution = field(default_factory=Solution)
    """The book's composition right after."""
    volume_l: float = 0.0
    """Circulating volume right after."""
    of_water: str = ""
    """Id of the water in a jar test; empty where it was the reservoir's own."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ledger:
    """The book of one reservoir, read up to now."""

    solution: Solution
    """Totals of a fresh feed of what went in. [mmol/L]"""
    volume_l: float
    """Circulating volume as last known. [L]"""
    since: datetime | None
    """The last change-out, where one is on record."""
    drunk_share: float
    """Litres topped up since, against the circulating volume. [-]"""
    events: tuple[LedgerEvent, ...]
    inside_l: float | None = None
    """In the reservoir itself, by the last level and what was poured and drained since; None where none was read."""
    filled_how: str = ""
    """How it was filled last, one of `entries.STILL`, `SPLASHED`, `AIRED`; empty where nobody said."""
    unknown: tuple[str, ...] = ()
    """Products that were poured and whose strength or salts nobody entered."""
    phosphate_sd: float = 0.0
    """How far the feed's phosphate is in doubt because its label does not tell: spread of its logarithm. [-]"""
    tests: FeedTests = field(default_factory=FeedTests)
    """What was measured on purpose of feeds and volumes, at every station."""

    def worn(self, now: datetime) -> float:
        """How far the feed is worn, from 0 (fresh) to 1 (as far as it goes)."""
        if self.since is None:
            return 1.0
        days = max(0.0, (now - self.since).total_seconds() / 86400.0)
        return max(1.0 - math.exp(-days / WORN_DAYS), 1.0 - math.exp(-self.drunk_share))


@dataclass(slots=True)
class _Book:
    """The ledger while it is being read."""

    farm: Farm
    reservoir: Reservoir
    outside_l: float
    inside_l: float
    solution: Solution
    since: datetime | None = None
    level_l: float | None = None
    """The last level that was read, or filled to. [L]"""
    topped_l: float = 0.0
    events: list[LedgerEvent] = field(default_factory=list)
    unknown: list[str] = field(default_factory=list)
    waters: dict[str, KnownWater] = field(default_factory=dict)

    def water(self, water_id: str, on: date) -> KnownWater:
        """A water of the farm, its analysis worked out once."""
        if water_id not in self.waters:
            self.waters[water_id] = water_known(self.farm, water_id, on)
        return self.waters[water_id]

    @property
    def volume_l(self) -> float:
        """Circulating volume; never nothing, whatever was drained off. [L]"""
        return max(self.inside_l + self.outside_l, _LEAST_L)

    def believed_inside_l(self) -> float | None:
        """By the last level and what was poured since; top-ups make up for what was drunk, they do not pile up. [L]"""
        if self.level_l is None:
            return None
        return min(self.inside_l, max(self.level_l, self.reservoir.working_volume_l))

    def note_unknown(self, dose: Dose) -> None:
        """Something went in whose strength or salts nobody entered, or that is no longer on the shelf."""
        self.unknown.append(dose.item)
        self.note(dose, "dose", value=dose.number or 0.0, doubt=UNKNOWN_DOUBT)

    def say_how_filled(self, check: Check) -> None:
        """Put what was said of a fill right behind it, so that what was believed before it was said is not gone by."""
        renewed = max(i for i, event in enumerate(self.events) if event.what == "renewed")
        said = replace(self.events[renewed], what="filled", record_id=check.id, item=str(check.value))
        self.events.insert(renewed + 1, said)

    def note(self, record: Entry, what: What, **kept: object) -> None:
        event = {"solution": self.solution, "volume_l": self.volume_l, "item": record.item, "meter": record.meter}
        self.events.append(LedgerEvent(at=record.measured_at, what=what, record_id=record.id, **{**event, **kept}))  # type: ignore[arg-type]


def ledger_of(
    farm: Farm, reservoir: Reservoir, feed: KnownFeed, records: Iterable[RecordLike | Entry], now: datetime
) -> Ledger:
    """Read the book of a reservoir.

    Parameters
    ----------
    records : iterable of record or entry
        Effective ones; of those of other stations only tests on purpose count.
    now : datetime
        Records after this moment are passed over.
    """
    known = [entry for entry in entries_of(records) if entry.measured_at <= now]
    mine = sorted((e for e in known if e.station == reservoir.id), key=lambda e: e.measured_at)
    changed = [dose.measured_at for dose in only(Dose, mine) if dose.renews]
    since = min([now - LONGEST_MEMORY, *changed[-1:]])
    book = _opened(farm, reservoir, feed, now)
    for entry in mine:
        if entry.measured_at >= since:
            _enter(book, entry)
    filled_how = _filled_how(mine, book.since)
    if filled_how is not None:
        book.say_how_filled(filled_how)
    return Ledger(
        solution=book.solution,
        volume_l=book.volume_l,
        since=book.since,
        drunk_share=book.topped_l / book.volume_l,
        events=tuple(book.events),
        inside_l=book.believed_inside_l(),
        unknown=tuple(dict.fromkeys(book.unknown)),
        filled_how=str(filled_how.value) if filled_how is not None else "",
        phosphate_sd=feed.phosphate_sd,
        tests=feed_tests_of(known).of(reservoir.id),
    )


def _filled_how(entries: Sequence[Entry], since: datetime | None) -> Check | None:
    """What was said of the fill of now; it may be said before the change-out is written down."""
    if since is None:
        return None
    said = [c for c in only(Check, entries) if c.item == FILLED_HOW and c.measured_at >= since - _SAID_BEFORE]
    return said[-1] if said else None


def litres_inside(reservoir: Reservoir, entries: Sequence[Entry]) -> float | None:
    """The last volume read in the reservoir, by dip or in litres; None where there is none. [L]"""
    for entry in reversed(entries):
        if entry.station == reservoir.id and isinstance(entry, Reading):
            found = litres_of(reservoir, entry)
            if found is not None:
                return found
    return None


def _opened(farm: Farm, reservoir: Reservoir, feed: KnownFeed, now: datetime) -> _Book:
    water = water_known(farm, reservoir.waters[0], now.date())
    return _Book(
        farm=farm,
        reservoir=reservoir,
        outside_l=farm.outside_volume_l(reservoir),
        inside_l=reservoir.working_volume_l,
        solution=mixed_feed(water.solution, feed, _STRENGTH_UNKNOWN),
    )


def _enter(book: _Book, entry: Entry) -> None:
    if isinstance(entry, Reading):
        _enter_reading(book, entry)
    elif isinstance(entry, Dose):
        inside_l = inside_after(book.inside_l, entry, book.outside_l)
        try:
            _enter_dose(book, entry, inside_l) if entry.number is not None else book.note_unknown(entry)
        except RoundsError:
            book.note_unknown(entry)
        book.inside_l = inside_l


def _enter_reading(book: _Book, reading: Reading) -> None:
    if reading.number is None:
        return
    low, high = _POSSIBLE.get(reading.item, _ANYTHING)
    if not low <= reading.number <= high:
        return
    if reading.item in ("ph", "ec"):
        book.note(reading, "ph" if reading.item == "ph" else "ec", value=reading.number)
    elif reading.item == JAR:
        _enter_jar(book, reading, reading.number)
    elif reading.item == STRIP:
        book.note(reading, "strip", value=reading.number)
    litres = litres_of(book.reservoir, reading)
    if litres is not None and litres > 0.0:
        book.inside_l, book.level_l = litres, litres


def _enter_jar(book: _Book, reading: Reading, shown: float) -> None:
    """A jar of the reservoir's own water, with so much of an agent in each litre."""
    product, ml_per_l = book.farm.shelf.get(reading.jar_product), reading.jar_ml_per_l
    opened = book.farm.opened.get(reading.jar_product)
    if opened is not None and reading.measured_at < opened:
        return  # of the bottle before: it says nothing of this one
    if isinstance(product, Acid | Base) and ml_per_l is not None and 0.0 < ml_per_l <= MOST_ML_PER_L:
        try:
            parcel = parcel_of(agent_of(product).per_ml.scaled(ml_per_l))
            water = book.water(reading.jar_water, reading.measured_at.date()) if reading.jar_water else None
        except RoundsError:
            return
        of_water = {} if water is None else {"of_water": water.id, "solution": water.solution, "doubt": water.doubt}
        book.note(reading, "jar", value=shown, item=product.id, parcel=parcel, **of_water)


def _enter_dose(book: _Book, dose: Dose, inside_l: float) -> None:
    if dose.renews:
        _renew(book, dose, inside_l)
    elif dose.action == "top_up":
        _top_up(book, dose)
    elif not dose.drains:
        _pour(book, dose)


def _renew(book: _Book, dose: Dose, inside_l: float) -> None:
    water = book.water(dose.item, dose.measured_at.date())
    book.solution, book.since, book.topped_l = water.solution, dose.measured_at, 0.0
    book.unknown.clear()
    book.inside_l = book.level_l = inside_l
    book.note(dose, "renewed", value=dose.litres, doubt=water.doubt)


def _top_up(book: _Book, dose: Dose) -> None:
    water, litres = book.water(dose.item, dose.measured_at.date()), dose.litres
    book.solution = mix([(book.solution, book.volume_l), (water.solution, litres)])
    book.inside_l += litres
    book.topped_l += litres
    book.note(
        dose, "water", value=litres, share=litres / book.volume_l, parcel=parcel_of(water.solution), doubt=water.doubt
    )


def _pour(book: _Book, dose: Dose) -> None:
    if book.level_l is not None:
        book.level_l += dose.litres
    product = book.farm.shelf.get(dose.item)
    if isinstance(product, Concentrate) and not is_unknown(product):
        liquid = concentrate_solution(product)
        book.solution = mix([(book.solution, book.volume_l), (liquid, dose.litres)])
        share = dose.litres / (book.volume_l + dose.litres)
        book.note(dose, "water", value=dose.ml, share=share, parcel=parcel_of(liquid))
    elif isinstance(product, Acid | Base):
        brought = agent_of(product).per_ml.scaled(dose.ml / book.volume_l)
        book.solution = book.solution.plus(brought)
        book.note(dose, "dose", value=dose.ml, parcel=parcel_of(brought))
    else:
        book.note_unknown(dose)


def read_since_fill(ledger: Ledger) -> datetime | None:
    """When the feed of now was first read: what was poured before belongs to its fill, or to the feed before.

    None where no change-out is on record; the end of time where the new feed was not read yet.
    """
    renewed = max((n for n, event in enumerate(ledger.events) if event.what == "renewed"), default=None)
    if renewed is None:
        return None
    first = next((event.at for event in ledger.events[renewed:] if event.what == "ph"), None)
    return first if first is not None else datetime.max.replace(tzinfo=ledger.events[renewed].at.tzinfo)


def newest(events: Sequence[LedgerEvent], what: str) -> LedgerEvent | None:
    """The last event of a sort."""
    return next((event for event in reversed(events) if event.what == what), None)
