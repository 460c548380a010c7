"""The questions that a history answers, whoever writes it."""

import threading
import time
from collections.abc import Callable, Iterator
from datetime import datetime, timedelta

from rounds.history.library import Library
from rounds.history.query import Equals, answered, order
from rounds.history.record import Record, month_of

KEPT_READY_DAYS = 400


class Lookups:
    """Gives records from a library that another thread may be adding to."""

    def __init__(self, library: Library, now: Callable[[], datetime]) -> None:
        self._library = library
        self._now = now
        self._lock = threading.RLock()

    def records(
        self,
        *,
        since: datetime | None = None,
        until: datetime | None = None,
        station: str | None = None,
        item: str | None = None,
        kind: str | None = None,
        round_id: str | None = None,
        replaced: bool = False,
    ) -> list[Record]:
        """Give records measured from `since` to before `until`, in order of time.

        Parameters
        ----------
        replaced : bool
            Whether to give those too that were replaced or taken back.
        """
        wanted = Equals(station=station, item=item, kind=kind, round_id=round_id)
        found = [
            record
            for records in self._months(since, until, wanted)
            for record in records
            if (since is None or record.measured_at >= since)
            and _is_before(record, until)
            and wanted.accepts(record)
            and (replaced or self._library.counts(record))
        ]
        return sorted(found, key=order)

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
        since = (before or self._now()) - timedelta(days=within_days)
        with self._lock:
            known = self._library.newest.items.get((station, item))
            if known and kind in (None, known.kind) and _is_before(known, before):
                return known if known.measured_at >= since else None
            if known is None and before is None and within_days <= KEPT_READY_DAYS:
                return None
            return self._search(Equals(station=station, kind=kind), item, since, before)

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

        A mark is `kind:put-off` (for everything but readings and checks), `action:change_out` (of a dose), or
        `off:storm` (a check that was answered with no).
        """
        with self._lock:
            return {key: each for key, each in self._library.newest.items.items() if ":" in key[1]}

    def get(self, id: str) -> Record | None:
        """Give a record by its id, replaced or not."""
        with self._lock:
            return self._library.find(id)

    def chain(self, id: str) -> list[Record]:
        """Give a record with all that it replaces and that replaces it, the first one first."""
        with self._lock:
            family = self._library.replacements.family(id)
            return [record for each in family if (record := self._library.find(each)) is not None]

    def _search(self, wanted: Equals, item: str, since: datetime, before: datetime | None) -> Record | None:
        return self._library.search(
            self._library.months(month_of(since), month_of(before) if before else "9999"),
            wanted,
            lambda each: item in answered(each) and each.measured_at >= since and _is_before(each, before),
        )

    def _months(self, since: datetime | None, until: datetime | None, wanted: Equals) -> Iterator[list[Record]]:
        with self._lock:
            keys = self._library.months(month_of(since) if since else "", month_of(until) if until else "9999")
        few = len({month for _, month in keys}) <= 3
        for key in keys:
            with self._lock:
                chosen = self._library.month(key).values() if few or not wanted else self._library.scan(key, wanted)
                records = list(chosen)
            yield records
            time.sleep(0)


def _is_before(record: Record, moment: datetime | None) -> bool:
    return moment is None or record.measured_at < moment
