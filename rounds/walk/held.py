"""Whether a correction held: what was foreseen against what was read when it had mixed, and next morning."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from rounds.book.actions import FED
from rounds.book.entries import Dose, Reading, entries_of, only
from rounds.book.entry import Entry
from rounds.book.offered import Offer
from rounds.walk.session import Session

NEXT_MORNING = timedelta(hours=10)
"""A reading so long after the last dose is the next morning's: most of the CO2 has left by then."""
LOOK_BACK = timedelta(hours=60)
_MIXED = timedelta(minutes=10)
"""No reading nearer than this to a dose tests it, however fast the pump."""
_READ = (("ph", "ph", "pH"), ("ec", "ec_ms_cm", "EC"))
_POURED = {"acid": "acid", "base": "base", **dict.fromkeys(FED, "A and B"), "top_up": "water",
           "change_out": "fill", "drain_off": "water"}  # fmt: skip


def held_line(session: Session, reservoir_id: str) -> str:
    """How the last correction of a reservoir came out, in one line; empty where none was read since."""
    entries = entries_of(session.history.records(station=reservoir_id, since=session.now() - LOOK_BACK))
    poured = {dose.correction_id for dose in only(Dose, entries)}
    last = next((offer for offer in reversed(only(Offer, entries)) if offer.id in poured), None)
    told = _told(last, entries) if last is not None else ""
    return f"{_whose(session, last, entries)}: {told}" if last is not None and told else ""


def held_of(session: Session, offer: Offer) -> str:
    """How one correction came out; empty where nothing was poured of it, or nothing read since."""
    since, until = offer.measured_at, offer.measured_at + LOOK_BACK
    return _told(offer, entries_of(session.history.records(station=offer.station, since=since, until=until)))


def _told(offer: Offer, entries: list[Entry]) -> str:
    """What was expected and what was read, by the last reading before anything else was poured."""
    doses = only(Dose, entries)
    dosed_at = max((dose.measured_at for dose in doses if dose.correction_id == offer.id), default=None)
    if dosed_at is None:
        return ""
    tested = _tested(entries, dosed_at)
    parts = [_part(offer, tested, each, dosed_at) for each in _READ]
    return "; ".join(part for part in parts if part)


def _tested(entries: list[Entry], dosed_at: datetime) -> list[Reading]:
    """The readings that test what was poured then: from when it has mixed until the next dose."""
    until = min((dose.measured_at for dose in only(Dose, entries) if dose.measured_at > dosed_at), default=None)
    return [r for r in only(Reading, entries) if _tests(r, dosed_at, until)]


def _tests(reading: Reading, dosed_at: datetime, until: datetime | None) -> bool:
    """Whether a reading tests what was poured: when it has mixed, and before the next dose."""
    is_before = until is None or reading.measured_at <= until
    return reading.measured_at >= dosed_at + _MIXED and is_before


def _part(offer: Offer, tested: list[Reading], what: tuple[str, str, str], dosed_at: datetime) -> str:
    item, name, label = what
    read = [(r.measured_at, r.number) for r in tested if r.item == item and r.number is not None]
    if not read:
        return ""
    at, number = read[-1]
    span = offer.foreseen("next_morning" if at - dosed_at >= NEXT_MORNING else "mixed", name)
    if span is None:
        return ""
    low, middle, high = span
    verdict = "" if low <= number <= high else f", outside {low:.2f} to {high:.2f}"
    return f"{label} {middle:.2f} expected, {number:.2f} read{verdict}"


def _whose(session: Session, offer: Offer, entries: list[Entry]) -> str:
    """Such as "Yesterday's acid"."""
    own = [dose for dose in only(Dose, entries) if dose.correction_id == offer.id]
    what = list(dict.fromkeys(_POURED.get(dose.action, "dose") for dose in own))
    day = max(dose.measured_at for dose in own).astimezone(session.zone).date()
    return f"{_day_text(day, session.now().date())} {' and '.join(what[-2:])}"


def _day_text(day: date, today: date) -> str:
    days = (today - day).days
    return "Today's" if days == 0 else "Yesterday's" if days == 1 else f"{day:%A}'s"
