"""Days and times in words: when something was done, and until when a waiting time runs."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date, datetime, time, timedelta

from rounds.errors import BadInput, OutOfRange
from rounds.text import clean_line
from rounds.walk.doings.error_texts import in_words
from rounds.walk.doings.words import Words

LONGEST_AGO = timedelta(days=31)
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_CLOCK = re.compile(r"([01]?[0-9]|2[0-3])[:.]([0-5][0-9])\Z")
_MOST_DAYS = 400


def take_moment(words: Words, now: datetime) -> datetime:
    """When it was done: `yesterday`, `at 6:40`, `2026-11-24`; now where nothing is said.

    Raises
    ------
    BadInput
        For a time that has not come yet, is too long ago, or is none.
    """
    day = _take_day(words, now.date())
    clock = _take_clock(words)
    if day is None and clock is None:
        return now
    at = datetime.combine(day or now.date(), clock or (now.time() if day is None else time(12)), now.tzinfo)
    if day == now.date() and clock is None:
        return now
    if at > now:
        raise in_words(OutOfRange, "not-yet", at=f"{at.day} {at:%B %Y %H:%M}")
    if at < now - LONGEST_AGO:
        raise in_words(OutOfRange, "too-long-ago", at=f"{at.day} {at:%B %Y}", days=LONGEST_AGO.days)
    return at


def _take_day(words: Words, today: date) -> date | None:
    if words.take_word("yesterday"):
        return today - timedelta(days=1)
    words.take_word("today")
    typed = next((token for token in words.left if _is_iso(token)), None)
    if typed is None:
        return None
    words.left.remove(typed)
    return date.fromisoformat(typed)


def _take_clock(words: Words) -> time | None:
    index = next((n for n, token in enumerate(words.left[:-1]) if token.casefold() == "at"), None)
    found = _CLOCK.match(words.left[index + 1]) if index is not None else None
    if index is None or found is None:
        return None
    del words.left[index : index + 2]
    return time(int(found[1]), int(found[2]))


def _is_iso(text: str) -> bool:
    try:
        return len(text) == 10 and date.fromisoformat(text) is not None
    except ValueError:
        return False


def day_ahead(text: str, today: date) -> date:
    """The last day of a waiting time: a number of days, a date, or a weekday; 0 is today, and there is none.

    Raises
    ------
    BadInput
        For a day that is over, or none.
    """
    words = [word for word in text.casefold().split() if word not in ("for", "until", "days", "day", "d", "till")]
    day = _day_of(words, today)
    if day is None or (day - today).days > _MOST_DAYS:
        raise in_words(BadInput, "day", word=clean_line(text, 40))
    if day < today:
        raise in_words(OutOfRange, "day-gone", day=f"{day.day} {day:%B %Y}")
    return day


def _day_of(words: Sequence[str], today: date) -> date | None:
    if not words:
        return None
    first = words[0].removesuffix("d")
    if len(words) == 1 and first.isdecimal() and first.isascii() and len(first) <= 3:
        return today + timedelta(days=int(first))
    if len(words) == 1 and _is_iso(first):
        return date.fromisoformat(first)
    if len(words) == 1 and words[0][:3] in _WEEKDAYS and words[0].isalpha():
        return today + timedelta(days=(_WEEKDAYS.index(words[0][:3]) - today.weekday() - 1) % 7 + 1)
    return _date_in_words(words, today) if len(words) in (2, 3) else None


def _date_in_words(words: Sequence[str], today: date) -> date | None:
    """`3 dec`, `dec 3`, `3 dec 2026`; without a year the next one that comes."""
    number = next((w.rstrip(".") for w in words[:2] if w.rstrip(".").isdecimal() and w.isascii()), "")
    month = next((w[:3] for w in words[:2] if w[:3] in _MONTHS), "")
    year = words[2] if len(words) == 3 else ""
    if not number or not month or (year and not (year.isdecimal() and year.isascii() and len(year) == 4)):
        return None
    try:
        day = date(int(year or today.year), _MONTHS.index(month) + 1, int(number))
        return day if year or day >= today else day.replace(year=today.year + 1)
    except ValueError:
        return None
