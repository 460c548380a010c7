"""The day to come that a note names, in whichever of its words; a day that is over is none."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date, timedelta

from rounds.errors import RoundsError
from rounds.walk.doings.days import day_ahead

MOST_AHEAD = timedelta(days=183)
"""A day of a month without its year is one to come only where it is no further off."""
_DAY = r"(?:mon|tues|wednes|thurs|fri|satur|sun)day"
_SHORT = r"(?:mon|tue|tues|wed|thu|thur|thurs|fri|sat|sun)"
_MONTH = (
    r"(?:jan(?:uary)?|feb(?:ruary)?|mar(?:ch)?|apr(?:il)?|may(?! (?:be|have|not|need|want|get|go|come|die)\b)"
    r"|june?|july?|aug(?:ust)?|sept?(?:ember)?|oct(?:ober)?|nov(?:ember)?|dec(?:ember)?)"
)
_COUNTS = {"a": 1, "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "ten": 10}
_NEAR = re.compile(r"\b(day after )?tomorrow\b")
_IN = re.compile(r"\bin (\d{1,3}|" + "|".join(_COUNTS) + r") (day|week)s?\b(?! ago)")
_WEEKDAY = re.compile(
    rf"(?P<before>\b(?:last|since|past|every|each) )?\b(?P<day>{_DAY})\b"
    rf"|\b(?:on|next|by|before|this|until|till) (?P<short>{_SHORT})\b"
)
_ISO = re.compile(r"\b(\d{4}-\d{2}-\d{2})\b")
_DATED = re.compile(
    rf"\b(?P<day>\d{{1,2}})(?:st|nd|rd|th|\.)?(?: of)? (?P<month>{_MONTH})\b\.?,?(?: (?P<year>\d{{4}})\b)?"
    rf"|\b(?P<month2>{_MONTH})\.? (?P<day2>\d{{1,2}})(?:st|nd|rd|th)?\b(?![.:]?\d),?(?: (?P<year2>\d{{4}})\b)?"
)


def day_said(text: str, written: date) -> date | None:
    """The first day to come that a note names; None where it names none.

    Parameters
    ----------
    text : str
        The note: `vet on Thursday`, `order bran tomorrow`, `2 dec market`, `look again in 3 days`.
    written : date
        The day on which it was written, in the farm's own zone; a day said is after it.

    Examples
    --------
    >>> wednesday = date(2026, 11, 25)
    >>> [str(day_said(text, wednesday)) for text in ("vet on Thursday", "in 3 days", "2 dec market", "2 oct was wet")]
    ['2026-11-26', '2026-11-28', '2026-12-02', 'None']
    """
    said = " ".join(text.casefold().split())
    found = sorted((place, day) for place, day in _days(said, written) if day > written)
    return found[0][1] if found else None


def _days(said: str, written: date) -> Iterator[tuple[int, date]]:
    """Each day that is named, with its place in the text."""
    for found in _NEAR.finditer(said):
        yield found.start(), written + timedelta(days=2 if found[1] else 1)
    for found in _IN.finditer(said):
        count = int(found[1]) if found[1].isdecimal() else _COUNTS[found[1]]
        yield found.start(), written + timedelta(days=count * (7 if found[2] == "week" else 1))
    for found in _WEEKDAY.finditer(said):
        if not found["before"]:
            yield from _read(found.start(), found["day"] or found["short"], written)
    for found in _ISO.finditer(said):
        yield from _read(found.start(), found[1], written)
    for found in _DATED.finditer(said):
        year = found["year"] or found["year2"]
        words = f"{found['day'] or found['day2']} {(found['month'] or found['month2'])[:3]} {year or ''}".strip()
        for place, day in _read(found.start(), words, written):
            if year or day - written <= MOST_AHEAD:
                yield place, day


def _read(place: int, words: str, written: date) -> Iterator[tuple[int, date]]:
    try:
        yield place, day_ahead(words, written)
    except RoundsError:
        return
