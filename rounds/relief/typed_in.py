"""A filled relief sheet typed in afterwards: one day after the other, person and time set once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time

from rounds.book.entries import Dose, only
from rounds.book.gate import entry_of_draft
from rounds.checklist.due import DueItem
from rounds.errors import BadInput
from rounds.farm.model import Person
from rounds.farm.stations import Reservoir
from rounds.history.record import Draft, Record
from rounds.relief.days import DueDays, due_by_day
from rounds.units import parse_number
from rounds.walk.helper import beyond_limit
from rounds.walk.permission import BEYOND
from rounds.walk.session import Session
from rounds.walk.stops import ItemLine, Stop
from rounds.walk.visit import Visit


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperDay:
    """One day of a filled sheet: a visit to each station, in the order of the walk."""

    day: date
    visits: tuple[Visit, ...]


def as_person(session: Session, person: Person) -> Session:
    """A session for the person who filled in the sheet, on the same history."""
    return replace(session, person=person)


def paper_days(session: Session, days: Sequence[date]) -> list[PaperDay]:
    """What was due on the morning of each day, to be typed in."""
    first = datetime.combine(days[0], time(6), session.zone)
    due = due_by_day(replace(session, clock=lambda: first), days)
    return [PaperDay(day=day, visits=_visits(session, due, day)) for day in days]


def at_time(paper: PaperDay, text: str, session: Session) -> datetime:
    """Set the one time for everything on a day, such as 07:10.

    Raises
    ------
    BadInput
        For no time, or one that has not come yet.
    """
    at = datetime.combine(paper.day, _read_time(text), session.zone)
    if at > session.now():
        raise BadInput(f"{at:%a %d %b %H:%M} has not come yet.", "Only what was read already is typed in.")
    for visit in paper.visits:
        visit.at = at
    return at


def pour(session: Session, reservoir: Reservoir, text: str, at: datetime) -> tuple[Record, ...]:
    """Write down what was poured on a day, as it stands on the sheet: litres of water, mL of A, mL of B.

    Parameters
    ----------
    text : str
        Such as `40 200 200`, or `40` for water only; a dash or 0 for nothing.

    Raises
    ------
    BadInput
        For anything else, or an amount that cannot be.
    """
    words = text.split()
    if not 1 <= len(words) <= 3:
        raise BadInput("Water in L, A in mL, B in mL are expected.", "Such as 40 200 200; 40 alone is water only.")
    amounts = [0.0 if word == "-" else parse_number(word) for word in words]
    feed = session.farm.feeds[reservoir.feed]
    poured = [(f"concentrate_{part.letter.lower()}", part.product, "mL") for part in feed.parts]
    if len(amounts) > 1 + len(poured):
        raise BadInput(f"{feed.name} has {len(poured)} part, so {len(amounts)} amounts are too many.", "Water, then A.")
    named = [
        (*what, amount) for what, amount in zip([("top_up", reservoir.waters[0], "L"), *poured], amounts, strict=False)
    ]
    drafts: list[Draft] = []
    for each in (each for each in named if each[3] != 0.0):
        drafts.append(_dose(session, reservoir, *each, at, drafts))
    return session.save(*drafts) if drafts else ()


def _dose(
    session: Session, reservoir: Reservoir, action: str, product: str, unit: str, amount: float, at: datetime,
    beside: Sequence[Draft],
) -> Draft:  # fmt: skip
    most = reservoir.full_volume_l if unit == "L" else 20_000.0
    if not 0.0 < amount <= most:
        raise BadInput(f"{amount:g} {unit} cannot have been poured there.", f"Expected up to {most:g} {unit}.")
    doses = only(Dose, map(entry_of_draft, beside))
    beyond = beyond_limit(session, product, amount, unit, at=at, beside=doses)
    return Draft(
        kind="dose", measured_at=at, station=reservoir.id, item=product, person=session.person_name(), value=amount,
        unit=unit, typed=f"{amount:g}", data={"action": action, "correction": None, "advised": None},
        marks=(f"{BEYOND}, from paper: {beyond}",) if beyond else (),
    )  # fmt: skip


def _visits(session: Session, due: Sequence[DueDays], day: date) -> tuple[Visit, ...]:
    found = []
    order = session.walk_order()
    for number, station_id in enumerate(order, 1):
        here = [d for d in due if d.station_id == station_id and day in d.days and d.round_name == "morning"]
        if here:
            lines = tuple(_line(session, each, day) for each in here)
            station = session.farm.stations[station_id]
            stop = Stop(station=station, station_id=station_id, number=number, of=len(order), lines=lines)
            found.append(Visit(session=session, stop=stop))
    return tuple(found)


def _line(session: Session, due: DueDays, day: date) -> ItemLine:
    reading = due.item.type == "reading"
    item = DueItem(item=due.item, since=day, overdue_days=0, last=None, asked_outright=reading)
    noon = datetime.combine(day, time(), session.zone)
    last = session.history.latest(due.station_id, due.item.id, before=noon)
    return ItemLine(item=due.item, due=item, last=last, answered=False)


def _read_time(text: str) -> time:
    digits = text.strip().replace(".", ":")
    if len(digits) == 4 and digits.isdigit():
        digits = f"{digits[:2]}:{digits[2:]}"
    try:
        return time.fromisoformat(digits.rjust(5, "0"))
    except ValueError as error:
        raise BadInput(f"“{text[:20]}” is not a time.", "A time such as 07:10 is expected.") from error
