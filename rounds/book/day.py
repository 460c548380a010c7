"""The one meaning of "today": a calendar day of the farm's own zone, whose night still belongs to the day before.

A day begins at midnight, where the farm lies: not where the laptop, its clock or its reader is. In the night, until the
morning round is begun or four o'clock has come, it is still the day before: somebody who walks late has the same day
before midnight and after it. What is done in such a night counts for the day that it ends, and then for the one that it
begins. A limit of a day looks further back where the day is young: roots that were moved at ten in the evening have not
rested at six.

Which round is walked goes by the date on which it was started (`rounds.walk.round`), however late it ends.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from functools import lru_cache

from rounds.book.entries import RoundMark, entries_of, only
from rounds.book.entry import Entry, RecordLike

NIGHT_ENDS = time(4)
"""By then the day has begun, whether a morning round was begun or not. [local time]"""
REST = timedelta(hours=16)
"""What was moved in this time counts against the limits of a day, whatever the date. Common practice, no source."""
MORNING = "morning"


def begin_of_day(now: datetime, zone: tzinfo, rounds: Iterable[datetime] = ()) -> datetime:
    """When the day began that a moment belongs to.

    Parameters
    ----------
    now : datetime
        With any zone.
    zone : tzinfo
        The farm's own.
    rounds : iterable of datetime
        When morning rounds were started; only those since midnight and up to `now` say anything.

    Returns
    -------
    datetime
        A midnight of the farm, in UTC: days of 23 and 25 hours are compared rightly.

    Examples
    --------
    >>> at = datetime(2026, 11, 25, 0, 30, tzinfo=UTC)
    >>> f"{begin_of_day(at, UTC):%d}", f"{begin_of_day(at, UTC, [at - timedelta(minutes=5)]):%d}"
    ('24', '25')
    """
    local = now.astimezone(zone)
    midnight = _midnight(local.date(), zone)
    if local.time() >= NIGHT_ENDS or any(midnight <= started <= now for started in rounds):
        return midnight
    return _midnight(local.date() - timedelta(days=1), zone)


def limits_since(now: datetime, zone: tzinfo, rounds: Iterable[datetime] = ()) -> datetime:
    """From when on what was done counts against the limits of the day, in UTC: the day, and the last 16 hours at least.

    Examples
    --------
    >>> f"{limits_since(datetime(2026, 11, 25, 6, 0, tzinfo=UTC), UTC):%d %H:%M}"
    '24 14:00'
    """
    return min(begin_of_day(now, zone, rounds), now.astimezone(UTC) - REST)


def morning_rounds(records: Iterable[RecordLike | Entry]) -> Iterator[datetime]:
    """When the morning rounds among some records were started; they are looked through only in the night."""
    for mark in only(RoundMark, entries_of(records)):
        if mark.item == MORNING and not mark.is_closed:
            yield mark.measured_at


@lru_cache(maxsize=16)
def zone_of(name: str) -> tzinfo:
    """The time zone of that name; UTC where the name is not known."""
    from zoneinfo import ZoneInfo

    try:
        return ZoneInfo(name)
    except (KeyError, ValueError, OSError):
        return UTC


def _midnight(day: date, zone: tzinfo) -> datetime:
    return datetime.combine(day, time(), zone).astimezone(UTC)
