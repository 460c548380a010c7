"""The questions that a history answers, whoever writes it."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Collection, Iterator, Sequence
from datetime import datetime, timedelta
from itertools import groupby
from typing import TYPE_CHECKING, Any, NamedTuple, TypeVar

from rounds.history.files import Key
from rounds.history.folds import Fold
from rounds.history.library import Library
from rounds.history.query import Equals, InTime, OfKinds, answered, order
from rounds.history.record import Record, month_of

if TYPE_CHECKING:
    from rounds.history.columns import Number
    from rounds.history.series import YearOfColumns

S = TypeVar("S")
KEPT_READY_DAYS = 400


class Span(NamedTuple):
    """From one moment to before another, as far as they are given."""

    since: datetime | None
    until: datetime | None

    @property
    def months(self) -> tuple[str, str]:
        """The first and the last month that it touches."""
        return month_of(self.since) if self.since else "", month_of(self.until) if self.until else "9999"

    def holds(self, each: InTime) -> bool:
        """Tell whether something was measured within it."""
        since, until = self
        return (since is None or each.measured_at >= since) and (until is None or each.measured_at < until)


class Lookups:
    """Gives records from a library that another thread may be adding to."""

    def __init__(self, library: Library, now: Callable[[], datetime], columns: Callable[[str], YearOfColumns]) -> None:
        self._library = library
        self._now = now
        self._columns = columns
        self._lock = threading.RLock()

    def records(
        self,
        *,
        since: datetime | None = None,
        until: datetime | None = None,
        station: str | None = None,
        item: str | None = None,
        kind: str | None = None,
        kinds: Collection[str] | None = None,
        round_id: str | None = None,
        replaced: bool = False,
    ) -> list[Record]:
        """Give records measured from `since` to before `until`, in order of time.

        Parameters
        ----------
        kinds : collection of str, optional
            Only records of one of these.
        replaced : bool
            Whether to give those too that were replaced or taken back.
        """
        fields = {"station": station, "item": item, "kind": kind, "round_id": round_id}
        wanted = Equals(**fields) if kinds is None else OfKinds(kinds, **fields)
        span, counts = Span(since, until), self._library.counts
        found = [
            record
            for records in self._months(span, wanted)
            for record in records
            if span.holds(record)
            and wanted.accepts(record)
            and (counts(record) or (replaced and record.id not in self._library.unconfirmed))
        ]
        return sorted(found, key=order)

    def numbers(
        self,
        *,
        since: datetime | None = None,
        until: datetime | None = None,
        station: str | None = None,
        item: str | None = None,
    ) -> list[Number]:
        """Give what was read or counted from `since` to before `until`, in order of time: quickly, over many years.

        It is what `records` gives of readings and checks with a number, without what was written beside it.
        """
        span = Span(since, until)
        with self._lock:
            keys = sorted(self._library.months(*span.months), key=_year)
        years = [self._numbers_of(year, list(some), station, item) for year, some in groupby(keys, key=_year)]
        return sorted((each for found in years for each in found if span.holds(each)), key=order)

    def _numbers_of(self, year: str, keys: Sequence[Key], station: str | None, item: str | None) -> list[Number]:
        columns = self._columns(year)
        found: list[Number] = []
        for key in keys:
            with self._lock:
                found += columns.numbers(key, station, item)
            time.sleep(0)
        if columns.is_unsaved:
            with self._lock:
                columns.keep()
        return found

    def latest(
        self,
        station: str,
        item: str,
        *,
        kind: str | None = None,
        before: datetime | None = None,
        within_days: int = 400,
    ) -> Record | None:
        """Give the newest standing record of an item, measured before a moment and not longer ago than some days."""
        now = self._now()
        span = Span((before or now) - timedelta(days=within_days), before)
        with self._lock:
            known = self._library.newest.items.get((station, item))
            if known and kind in (None, known.kind) and Span(None, before).holds(known):
                return known if span.holds(known) else None
            if known is None and span.since is not None and span.since >= now - timedelta(days=KEPT_READY_DAYS):
                return None
            return self._search(Equals(station=station, kind=kind), item, span)

    def latest_by_item(self, station: str | None = None, *, within_days: int = 400) -> dict[tuple[str, str], Record]:
        """Give the newest standing record of every station and item, without opening a month."""
        since = self._now() - timedelta(days=within_days)
        with self._lock:
            known = self._library.newest.items.items()
            return {
                key: each
                for key, each in known
                if each.measured_at >= since and ":" not in key[1] and (station is None or key[0] == station)
            }

    def latest_marks(self) -> dict[tuple[str, str], Record]:
        """Give the newest standing record by station and mark, without opening a month.

        A mark is `kind:put-off` (for everything but readings and checks), `action:change_out` (of a dose),
        `did:calibrated` (a doing), or `off:storm` (a check that was answered with no).
        """
        with self._lock:
            return {key: each for key, each in self._library.newest.items.items() if ":" in key[1]}

    def months(self) -> list[str]:
        """Name the months in which something was written down, such as "2026-11" in UTC, the newest first."""
        with self._lock:
            return list(dict.fromkeys(month for _, month in self._library.months()))

    def folded(self, fold: Fold[S]) -> S:
        """Give the state of a fold over the whole record; reads what it has not been taken over yet.

        Nothing, as a rule: what was folded is kept with the summary and taken on as records come in.
        """
        while True:
            with self._lock:
                folding = self._library.fold_on(fold)
                if folding.complete:
                    state: S = folding.state()
                    return state
            time.sleep(0)

    def is_folded(self, fold: Fold[Any]) -> bool:
        """Tell whether the state of a fold is there without opening a month."""
        with self._lock:
            return self._library.folds.of(fold).complete

    def get(self, id: str) -> Record | None:
        """Give a record by its id, replaced or not."""
        with self._lock:
            return self._library.find(id)

    def chain(self, id: str) -> list[Record]:
        """Give a record with all that it replaces and that replaces it, the first one first."""
        with self._lock:
            family = self._library.replacements.family(id)
            return [record for each in family if (record := self._library.find(each)) is not None]

    def _search(self, wanted: Equals, item: str, span: Span) -> Record | None:
        return self._library.search(
            self._library.months(*span.months), wanted, lambda each: item in answered(each) and span.holds(each)
        )

    def _months(self, span: Span, wanted: Equals) -> Iterator[list[Record]]:
        with self._lock:
            keys = self._library.months(*span.months)
        few = len({month for _, month in keys}) <= 3
        for key in keys:
            with self._lock:
                chosen = self._library.month(key).values() if few or not wanted else self._library.scan(key, wanted)
                records = list(chosen)
            yield records
            time.sleep(0)


def _year(key: Key) -> str:
    return key[1][:4]
