"""How values, dates and answers are written on screens and on paper."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, tzinfo

from rounds.book.entries import Check, Skip, entry_of
from rounds.book.entry import Entry
from rounds.checklist.model import Item
from rounds.history.record import Record
from rounds.units import show

DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


def answer_text(item: Item | None, record: Record | None) -> str:
    """A recorded answer in a few characters."""
    if record is None:
        return ""
    entry = entry_of(record)
    if _is_well(item, record, entry):
        return "well"
    return "skipped" if isinstance(entry, Skip) else _value_text(item, record)


def _is_well(item: Item | None, record: Record, entry: Entry) -> bool:
    """Whether it was said to be well, alone or with all the rest."""
    is_so = isinstance(entry, Check) and record.value is True and item is not None and item.well is True
    return record.item == "all-well" or is_so


def _value_text(item: Item | None, record: Record) -> str:
    value = record.value
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return show(float(value), "", item.decimals if item and item.type == "reading" else None)
    return str(value if value is not None else record.note or "noted")


def when(moment: datetime, now: datetime, zone: tzinfo) -> str:
    """A time as people say it: 07:12 today, Tue 07:12 this week, 3 Nov before that."""
    local, today = moment.astimezone(zone), now.astimezone(zone).date()
    days = (today - local.date()).days
    if days == 0:
        return f"{local:%H:%M}"
    if days == 1:
        return f"yest. {local:%H:%M}"
    if 0 < days < 7:
        return f"{DAYS[local.weekday()]} {local:%H:%M}"
    same_year = local.year == today.year
    return f"{local.day} {local:%b}" if same_year else f"{local.day} {local:%b %Y}"


def date_text(now: date) -> str:
    """A day written out.

    Examples
    --------
    >>> date_text(datetime(2026, 11, 25))
    'Wednesday 25 November 2026'
    """
    return f"{now:%A} {now.day} {now:%B %Y}"


def round_of_day(name: str, day: date) -> str:
    """Which round it is, where that is not plain.

    Examples
    --------
    >>> round_of_day("dusk", date(2026, 11, 24))
    'The dusk round of 24 November'
    """
    return f"The {name} round of {day.day} {day:%B}"


def as_many_as_fit(words: Sequence[str], room: int) -> str:
    """Words with commas between them, and a mark where some had no room.

    Examples
    --------
    >>> as_many_as_fit(["outlet", "roots", "pests"], 13)
    'outlet, roots, …'
    """
    kept = list(words)
    while len(", ".join(kept)) > room and len(kept) > 1:
        kept.pop()
    return ", ".join(kept if len(kept) == len(words) else [*kept, "…"])


def minutes_text(seconds: float) -> str:
    """A wait as minutes and seconds.

    Examples
    --------
    >>> minutes_text(754)
    '12:34'
    """
    whole = max(0, round(seconds))
    return f"{whole // 60}:{whole % 60:02d}"
