"""Taking the rounds back: what happened in the time away, on one page."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING

from rounds.book.entries import Check, Dose, Note, PutOff, Reading, RoundMark, Skip, entries_of, entry_of, only
from rounds.book.entry import Entry
from rounds.book.offered import Offer
from rounds.book.stock import stock_now
from rounds.checklist.judgement import judge
from rounds.history.record import Draft, Record
from rounds.relief.sheet import records_for_doses
from rounds.units import show
from rounds.walk.carried import carried_over
from rounds.walk.daybook.sentences import record_text
from rounds.walk.session import Session
from rounds.walk.to_sort.listing import open_matters
from rounds.walk.to_sort.telling import age_of, with_place

if TYPE_CHECKING:
    from rounds.relief.days import DueDays

QUESTION = "question to the helper"
"""The mark of a note that asks the helper something."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReturnReport:
    """The time away on one page."""

    first: date
    last: date
    rounds: tuple[str, ...]
    """Rounds that were walked, day by day."""
    not_done: tuple[str, ...]
    off: tuple[str, ...]
    poured: tuple[str, ...]
    held: tuple[str, ...]
    """How predictions held."""
    used: tuple[str, ...]
    notes: tuple[str, ...]
    to_sort: tuple[str, ...]
    """What is still to sort now, the worst first."""
    carried: tuple[str, ...]
    questions: tuple[str, ...]

    def blocks(self) -> tuple[tuple[str, tuple[str, ...]], ...]:
        """Titles and lines in the order they are read."""
        return (
            ("Still to sort", self.to_sort),
            ("Not done", self.not_done),
            ("Out of band, or not well", self.off),
            ("Poured", self.poured),
            ("How predictions held", self.held),
            ("Stock used", self.used),
            ("Notes", self.notes),
            ("Carried over", self.carried),
            ("Questions to the helper", self.questions),
            ("Walked", self.rounds),
        )


def report(session: Session, first: date, last: date) -> ReturnReport:
    """Look back over the days away, both ends counted."""
    since = datetime.combine(first, time(), session.zone)
    until = datetime.combine(last + timedelta(days=1), time(), session.zone)
    records = session.history.records(since=since, until=until)
    return ReturnReport(
        first=first,
        last=last,
        rounds=_rounds(session, records),
        not_done=_not_done(session, records, first, last),
        off=tuple(filter(None, (_off(session, record) for record in records))),
        poured=tuple(_line(session, record) for record in records if isinstance(entry_of(record), Dose)),
        held=_held(session, records),
        used=_used(session, since, until),
        notes=tuple(_line(session, record) for record in records if _is_told(record)),
        to_sort=tuple(f"{with_place(session, each)} (since {age_of(session, each)})" for each in open_matters(session)),
        carried=tuple(f"{_place(session, each.station_id)}: {each.what}" for each in carried_over(session)),
        questions=tuple(_line(session, record) for record in session.history.records(since=since) if _asks(record)),
    )


def ask_helper(session: Session, station_id: str, text: str) -> Record:
    """Write a question to the helper down, marked as one."""
    draft = Draft(
        kind="note", measured_at=session.now(), station=station_id, person=session.person_name(), note=text,
        marks=(QUESTION,),
    )  # fmt: skip
    return session.save(draft)[0]


def _rounds(session: Session, records: Sequence[Record]) -> tuple[str, ...]:
    closed = [mark for mark in only(RoundMark, entries_of(records)) if mark.is_closed]
    return tuple(f"{_when(session, mark)} {mark.item} round closed by {mark.person or 'somebody'}" for mark in closed)


def _not_done(session: Session, records: Sequence[Record], first: date, last: date) -> tuple[str, ...]:
    """What was due on those days and has no answer on the day, counted by station."""
    from rounds.relief.days import days_between, due_by_day

    days = days_between(first, min(last, session.now().date()))
    answered = _answered(session, records)
    walked = {(station, day) for station, _, day in answered}
    before = replace(session, clock=lambda: datetime.combine(first, time(6), session.zone))
    missing: Counter[str] = Counter()
    for due in due_by_day(before, days):
        if _is_read_daily(due):
            missing[due.station_id] += sum((due.station_id, due.item.id, day) not in answered for day in due.days)
        elif unwalked := sum((due.station_id, day) not in walked for day in due.days):
            missing[due.station_id] += unwalked
    return tuple(
        f"{_place(session, station)}: {count} times something due" for station, count in missing.items() if count
    )


def _is_read_daily(due: DueDays) -> bool:
    """Whether this item alone counts as missed; for others it is enough that the station was looked at."""
    return due.item.ask == "always" and due.item.type == "reading" and due.round_name == "morning"


def _answered(session: Session, records: Sequence[Record]) -> set[tuple[str, str, date]]:
    """What was answered or skipped, by station, item and day; with what one "all well" answered."""
    return {
        (entry.station, item, entry.measured_at.astimezone(session.zone).date())
        for entry in entries_of(records)
        if isinstance(entry, Reading | Check | Skip)
        for item in (entry.item, *(entry.covers if isinstance(entry, Check) else ()))
    }


def _off(session: Session, record: Record) -> str:
    station = session.farm.stations.get(record.station)
    if not isinstance(entry_of(record), Reading | Check) or station is None or record.item == "all-well":
        return ""
    item = session.checklists.item(station.kind, record.item)
    if item is None:
        return ""
    found = judge(record.value, item, session.farm, station, None)
    value = show(float(record.value), item.unit) if isinstance(record.value, int | float) else str(record.value)
    return (
        f"{_when(session, record)} {station.name}: {item.label} {value} {found.sign} {found.text}"
        if found.is_off
        else ""
    )


def _held(session: Session, records: Sequence[Record]) -> tuple[str, ...]:
    """For each correction with something poured: what was foreseen, and what was read next."""
    told, entries = list[str](), entries_of(records)
    last_of = _last_doses(only(Dose, entries))
    for offer in (each for each in only(Offer, entries) if each.id in last_of):
        after = [r for r in only(Reading, entries, offer.station) if r.measured_at > last_of[offer.id]]
        for item, name, label in (("ph", "ph", "pH"), ("ec", "ec_ms_cm", "EC")):
            read = next((r for r in after if r.item == item), None)
            told += _foreseen(session, read, offer.foreseen("mixed", name), label)
    return tuple(told)


def _last_doses(doses: Iterable[Dose]) -> dict[str | None, datetime]:
    """When the last dose of each correction went in."""
    last_of: dict[str | None, datetime] = {}
    for dose in doses:
        last_of[dose.correction_id] = max(dose.measured_at, last_of.get(dose.correction_id, dose.measured_at))
    return last_of


def _foreseen(
    session: Session, read: Reading | None, span: tuple[float, float, float] | None, label: str
) -> Iterator[str]:
    """Whether a reading lies where a correction foresaw it; nothing where either is missing."""
    if span is None or read is None or read.number is None:
        return
    low, _, high = span
    yield (
        f"{_place(session, read.station)} {_when(session, read)}: {label} {read.number:.2f}, foreseen "
        f"{low:.2f} to {high:.2f}: {'held' if low <= read.number <= high else 'did not hold'}"
    )


def _used(session: Session, since: datetime, until: datetime) -> tuple[str, ...]:
    records = [r for r in records_for_doses(session) if r.measured_at < until]
    before = stock_now(session.farm, [r for r in records if r.measured_at < since])
    after = stock_now(session.farm, records)
    return tuple(
        f"{product.name}: {show(before[product.id] - after[product.id], product.unit)} used, "
        f"{show(after[product.id], product.unit)} left"
        for product in session.farm.shelf.values()
        if before[product.id] - after[product.id] > 0
    )


def _is_told(record: Record) -> bool:
    """Whether a record tells the grower something, and is not a question to the helper."""
    return isinstance(entry_of(record), Note | Skip | PutOff) and not _asks(record)


def _asks(record: Record) -> bool:
    return isinstance(entry_of(record), Note) and QUESTION in record.marks


def _line(session: Session, record: Record) -> str:
    by = f" ({record.person})" if record.person else ""
    return f"{_when(session, record)} {record_text(session, record)}{by}"


def _when(session: Session, record: Record | Entry) -> str:
    at = record.measured_at.astimezone(session.zone)
    return f"{at:%a} {at.day} {at:%b %H:%M}"


def _place(session: Session, station_id: str) -> str:
    station = session.farm.stations.get(station_id)
    return station.name if station else station_id or session.farm.name
