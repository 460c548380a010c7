"""The newest standing record of every station and item, kept ready: the first screen needs them all."""

from collections.abc import Callable, Iterable, Sequence

from rounds.history.query import answered, order
from rounds.history.record import Record

ReadAgain = Callable[[], Iterable[Record]]
Search = Callable[[str, str], Record | None]


class Newest:
    """Follows what is written; searches only where the newest one was replaced or taken back.

    Parameters
    ----------
    counts : callable
        Tells whether a record stands and is not void.
    search : callable
        Finds the newest standing record of a station and item among the months of the last 400 days.
    read_again : callable
        Gives all records of those months.
    """

    def __init__(self, counts: Callable[[Record], bool], search: Search, read_again: ReadAgain) -> None:
        self.items: dict[tuple[str, str], Record] = {}
        self._counts = counts
        self._search = search
        self._read_again = read_again

    def follow(self, records: Sequence[Record], is_odd: Callable[[Record], bool]) -> None:
        """Take new records in; `is_odd` tells of one that replaces another but does not stand itself."""
        replacing = [record for record in records if record.replaces]
        if any(map(is_odd, replacing)):
            self.rebuild()
            return
        if replacing:
            self._drop_replaced()
        self.begin_with(records)

    def begin_with(self, records: Iterable[Record]) -> None:
        """Let records become the newest of the items they answer."""
        for record in records:
            if self._counts(record):
                for item in answered(record):
                    current = self.items.get((record.station, item))
                    if current is None or current.measured_at < record.measured_at or order(current) < order(record):
                        self.items[record.station, item] = record

    def rebuild(self) -> None:
        self.items = {}
        self.begin_with(self._read_again())

    def records(self) -> list[Record]:
        """List each of them once."""
        return list({record.id: record for record in self.items.values()}.values())

    def _drop_replaced(self) -> None:
        gone = [key for key, record in self.items.items() if not self._counts(record)]
        for key in gone:
            found = self._search(*key)
            if found is None:
                del self.items[key]
            else:
                self.items[key] = found
