"""Days in words: `last tue`, `2 oct`, `-10`. What could mean two days is refused."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date, timedelta

from rounds.errors import BadInput
from rounds.text import clean_line
from rounds.walk.error_texts import in_words

_DAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_MONTHS = ("january", "february", "march", "april", "may", "june", "july", "august", "september", "october",
           "november", "december")  # fmt: skip
_NEAR = {"tomorrow": -1, "today": 0, "now": 0, "yesterday": 1, "yest": 1, "last week": 7}
_BACK = re.compile(r"-\s*(\d{1,5})|(\d{1,5}) days? ago")
_WEEKDAY = re.compile(r"(last |on )?([a-z]{3,9})")
_DATED = re.compile(
    r"(?:(\d{1,2})(?:st|nd|rd|th|\.)? ?([a-z]{3,9})|([a-z]{3,9}) (\d{1,2})(?:st|nd|rd|th)?)\.?,?(?: (\d{4}))?"
)
_BEFORE_ANY_RECORD = 1970
_ISO = re.compile(r"\d{4}-\d{2}-\d{2}")


def read_day(text: str, today: date) -> date:
    """Read a day that people name, of the past or today.

    Parameters
    ----------
    text : str
        `today`, `yesterday`, `tue` (the last one, or today), `last tue` (before today), `2 oct` (the last one),
        `2 oct 2024`, `-10` and `10 days ago`, `2026-10-02`.

    Raises
    ------
    BadInput
        For what is no day, and for a day that has not come yet.

    Examples
    --------
    >>> wednesday = date(2026, 11, 25)
    >>> [f"{read_day(text, wednesday):%d %b %Y}" for text in ("last wed", "2 oct", "2 dec", "-10")]
    ['18 Nov 2026', '02 Oct 2026', '02 Dec 2025', '15 Nov 2026']
    """
    typed = " ".join(text.casefold().split())
    try:
        found = next((day for read in _READERS if (day := read(typed, today)) is not None), None)
    except (ValueError, OverflowError):
        found = None
    if found is None or found.year <= _BEFORE_ANY_RECORD:
        raise in_words(BadInput, "no-such-day", text=clean_line(text, 40))
    if found > today:
        raise in_words(BadInput, "day-to-come", text=clean_line(text, 40))
    return found


def _near(typed: str, today: date) -> date | None:
    return today - timedelta(days=_NEAR[typed]) if typed in _NEAR else None


def _back(typed: str, today: date) -> date | None:
    found = _BACK.fullmatch(typed)
    return today - timedelta(days=int(found[1] or found[2])) if found else None


def _iso(typed: str, _: date) -> date | None:
    return date.fromisoformat(typed) if _ISO.fullmatch(typed) else None


def _weekday(typed: str, today: date) -> date | None:
    found = _WEEKDAY.fullmatch(typed)
    place = _place(found[2], _DAYS) if found else None
    if found is None or place is None:
        return None
    back = (today.weekday() - place) % 7
    return today - timedelta(days=7 if back == 0 and found[1] == "last " else back)


def _dated(typed: str, today: date) -> date | None:
    """A day of a month; without a year the last one that has come."""
    found = _DATED.fullmatch(typed)
    month = _place(found[2] or found[3], _MONTHS) if found else None
    if found is None or month is None:
        return None
    day, year = int(found[1] or found[4]), found[5]
    if year is not None:
        return date(int(year), month + 1, day)
    years = range(today.year, today.year - 9, -1)  # a 29 February may be eight years back
    return next((each for y in years if (each := _date(y, month + 1, day)) is not None and each <= today), None)


def _date(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day)
    except ValueError:
        return None


def _place(word: str, names: tuple[str, ...]) -> int | None:
    found = [place for place, name in enumerate(names) if name.startswith(word)]
    return found[0] if len(found) == 1 else None


_READERS: tuple[Callable[[str, date], date | None], ...] = (_near, _back, _iso, _weekday, _dated)
