"""When a rule makes an item due: seasons, weekdays, every so many days, and after an event."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from rounds.checklist.model import Due

WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class DueMoment:
    """What a rule is asked against: today, the last answer and the event, all in the farm's own time."""

    today: date
    south: bool = False
    last: datetime | None = None
    event: datetime | None = None


def in_season(day: date, months: Collection[int], *, south: bool) -> bool:
    """Say whether a day lies in the months given for the northern hemisphere.

    Parameters
    ----------
    months : collection of int
        From 1 to 12; none at all means the whole year.
    south : bool
        Whether the farm lies south of the equator, where the seasons come six months later.

    Examples
    --------
    >>> in_season(date(2026, 1, 15), [7], south=True)
    True
    """
    return not months or _northern(day, south) in months


def season_start(day: date, months: Collection[int], *, south: bool) -> date:
    """The first day of the season that `day` lies in; `date.min` where there is no end to it.

    Examples
    --------
    >>> season_start(date(2026, 1, 15), [11, 12, 1, 2], south=False)
    datetime.date(2025, 11, 1)
    """
    if not months or len(set(months)) == 12:
        return date.min
    first = day.replace(day=1)
    while in_season(first - _DAY, months, south=south):
        first = (first - _DAY).replace(day=1)
    return first


def due_since(rule: Due, at: DueMoment) -> date | None:
    """The day since which a rule makes an item due, or None where it does not today.

    An item that was never answered is due from today on, so that nothing is called overdue which nobody could know of.
    """
    if not in_season(at.today, rule.months, south=at.south):
        return None
    start = season_start(at.today, rule.months, south=at.south)
    if rule.after is not None:
        return _since_event(rule, at, start)
    if at.last is None:
        return at.today
    return _not_before(_next(rule, at.last.date(), start), at.today)


def _northern(day: date, south: bool) -> int:
    return (day.month + 5) % 12 + 1 if south else day.month


def _next(rule: Due, last: date, start: date) -> date:
    if rule.every_days is not None:
        return max(last + timedelta(days=rule.every_days), start)
    if rule.weekdays:
        return _next_weekday(max(last + _DAY, start), rule)
    return max(last + _DAY, start)


def _next_weekday(day: date, rule: Due) -> date:
    return next(later for n in range(7) if WEEKDAYS[(later := day + timedelta(days=n)).weekday()] in rule.weekdays)


def _since_event(rule: Due, at: DueMoment, start: date) -> date | None:
    if at.event is None:
        return None
    first = max(at.event.date() + timedelta(days=rule.from_days), start)
    if rule.until_days is not None and at.today >= at.event.date() + timedelta(days=rule.until_days):
        return None
    if at.last is None or at.last < at.event or at.last.date() < first:
        return _not_before(_next_weekday(first, rule) if rule.weekdays else first, at.today)
    recurs = rule.every_days is not None or rule.weekdays
    return _not_before(_next(rule, at.last.date(), start), at.today) if recurs else None


def _not_before(since: date, today: date) -> date | None:
    return since if since <= today else None
