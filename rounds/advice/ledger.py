"""What went into a reservoir since its last change-out, and what was read there: the book that every guess starts from.

The composition is that of a fresh feed, as if the plants took everything evenly; how far phosphate is worn below it
is a matter of belief, by age and by litres drunk.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Literal

from rounds.advice.belief import Parcel
from rounds.advice.composition import KnownFeed, KnownWater, agent_of, concentrate_solution, mixed_feed, water_known
from rounds.advice.measures import ML_PER_UNIT
from rounds.advice.steps import RecordLike
from rounds.errors import RoundsError
from rounds.farm.farm import Farm
from rounds.farm.shelf import Acid, Base, Concentrate
from rounds.farm.stations import Reservoir
from rounds.farm.volumes import dip_to_litres
from rounds.science.solution import Solution, mix

LONGEST_MEMORY = timedelta(days=42)
"""This far back is read, or to the last change-out where that is longer ago."""
WORN_DAYS = 5.0
"""Days after which a feed is worn by two thirds of what it will be: practice. [d]"""
_STRENGTH_UNKNOWN = 1.0
_LEAST_L = 0.1
UNKNOWN_DOUBT = 1.0
"""Marks an event of which only is known that something went in. [-]"""

What = Literal["ph", "ec", "dose", "water", "renewed"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
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
    events: tuple[Event, ...]
    inside_l: float | None = None
    """In the reservoir itself, by the last level and what was poured and drained since; None where none was read."""
    unknown: tuple[str, ...] = ()
    """Products that were poured and whose strength or salts nobody entered."""

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
    events: list[Event] = field(default_factory=list)
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

    def note_unknown(self, record: RecordLike) -> None:
        """Something went in whose strength or salts nobody entered, or that is no longer on the shelf."""
        self.unknown.append(record.item)
        self.note(record, "dose", value=number(record.value) or 0.0, doubt=UNKNOWN_DOUBT)

    def note(self, record: RecordLike, what: What, **kept: object) -> None:
        event = {"solution": self.solution, "volume_l": self.volume_l, "item": record.item, "meter": record.meter}
        self.events.append(Event(at=record.measured_at, what=what, record_id=record.id, **{**event, **kept}))  # type: ignore[arg-type]


def ledger_of(
    farm: Farm, reservoir: Reservoir, feed: KnownFeed, records: Iterable[RecordLike], now: datetime
) -> Ledger:
    """Read the book of a reservoir.

    Parameters
    ----------
    records : iterable of record
        Effective records; those of other stations are passed over.
    now : datetime
        Records after this moment are passed over.
    """
    mine = sorted(
        (r for r in records if r.station == reservoir.id and r.measured_at <= now), key=lambda r: r.measured_at
    )
    changed = [r.measured_at for r in mine if r.kind == "dose" and r.data.get("action") == "change_out"]
    since = min([now - LONGEST_MEMORY, *changed[-1:]])
    mine = [r for r in mine if r.measured_at >= since]
    book = _opened(farm, reservoir, feed, now)
    for record in mine:
        _enter(book, record)
    return Ledger(
        solution=book.solution,
        volume_l=book.volume_l,
        since=book.since,
        drunk_share=book.topped_l / max(book.volume_l, 1e-6),
        events=tuple(book.events),
        inside_l=book.believed_inside_l(),
        unknown=tuple(dict.fromkeys(book.unknown)),
    )


def litres_inside(reservoir: Reservoir, records: Sequence[RecordLike]) -> float | None:
    """The last volume read in the reservoir, by dip or in litres; None where there is none. [L]"""
    for record in reversed(records):
        if record.station == reservoir.id and record.kind == "reading":
            found = litres_of(reservoir, record)
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


def _enter(book: _Book, record: RecordLike) -> None:
    if record.kind == "reading":
        _enter_reading(book, record)
    elif record.kind == "dose":
        amount = number(record.value)
        try:
            _enter_dose(book, record, amount) if amount is not None else book.note_unknown(record)
        except RoundsError:
            book.note_unknown(record)


def _enter_reading(book: _Book, record: RecordLike) -> None:
    value = number(record.value)
    if value is None:
        return
    if record.item in ("ph", "ec"):
        book.note(record, "ph" if record.item == "ph" else "ec", value=value)
    litres = litres_of(book.reservoir, record)
    if litres is not None and litres > 0.0:
        book.inside_l, book.level_l = litres, litres


def litres_of(reservoir: Reservoir, record: RecordLike) -> float | None:
    """The volume in the reservoir that a reading of the level tells; None where it is none. [L]"""
    value = number(record.value)
    if value is None:
        return None
    if record.item == "volume":
        return value if 0.0 < value <= reservoir.full_volume_l else None
    if record.item != "dip":
        return None
    try:
        return dip_to_litres(reservoir, value)[0]
    except RoundsError:
        return None


def _enter_dose(book: _Book, record: RecordLike, amount: float) -> None:
    action = record.data.get("action")
    litres = amount * ML_PER_UNIT.get(record.unit or "L", 1000.0) / 1000.0
    if action == "change_out":
        _renew(book, record, litres)
    elif action == "top_up":
        _top_up(book, record, litres)
    elif action == "drain_off":
        book.inside_l = max(0.0, book.inside_l - litres)
    else:
        _pour(book, record, amount * ML_PER_UNIT.get(record.unit or "mL", 1.0))


def _renew(book: _Book, record: RecordLike, litres: float) -> None:
    water = book.water(record.item, record.measured_at.date())
    book.solution, book.since, book.topped_l = water.solution, record.measured_at, 0.0
    book.unknown.clear()
    book.inside_l, book.level_l = max(litres - book.outside_l, 0.5 * litres), litres
    book.note(record, "renewed", value=litres, doubt=water.doubt)


def _top_up(book: _Book, record: RecordLike, litres: float) -> None:
    water = book.water(record.item, record.measured_at.date())
    book.solution = mix([(book.solution, book.volume_l), (water.solution, litres)])
    book.inside_l += litres
    book.topped_l += litres
    book.note(
        record, "water", value=litres, share=litres / book.volume_l, parcel=parcel_of(water.solution), doubt=water.doubt
    )


def _pour(book: _Book, record: RecordLike, ml: float) -> None:
    product = book.farm.shelf.get(record.item)
    if isinstance(product, Concentrate):
        liquid = concentrate_solution(product)
        book.solution = mix([(book.solution, book.volume_l), (liquid, ml / 1000.0)])
        share = ml / 1000.0 / (book.volume_l + ml / 1000.0)
        book.note(record, "water", value=ml, share=share, parcel=parcel_of(liquid))
    elif isinstance(product, Acid | Base):
        brought = agent_of(product).per_ml.scaled(ml / book.volume_l)
        book.solution = book.solution.plus(brought)
        book.note(record, "dose", value=ml, parcel=parcel_of(brought))
    else:
        book.note_unknown(record)


def parcel_of(liquid: Solution) -> Parcel:
    """What of a liquid matters for the pH."""
    return Parcel(liquid.alkalinity_meq_l, liquid.po4, liquid.carbonate)


def number(value: object) -> float | None:
    """The value as a finite number, or None."""
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        return None
    return float(value)


def read_since_fill(ledger: Ledger) -> datetime | None:
    """When the feed of now was first read: what was poured before belongs to its fill, or to the feed before.

    None where no change-out is on record; the end of time where the new feed was not read yet.
    """
    renewed = max((n for n, event in enumerate(ledger.events) if event.what == "renewed"), default=None)
    if renewed is None:
        return None
    first = next((event.at for event in ledger.events[renewed + 1 :] if event.what == "ph"), None)
    return first if first is not None else datetime.max.replace(tzinfo=ledger.events[renewed].at.tzinfo)


def newest(events: Sequence[Event], what: str) -> Event | None:
    """The last event of a sort."""
    return next((event for event in reversed(events) if event.what == what), None)
