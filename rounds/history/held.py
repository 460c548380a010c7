"""The few months that are held open, the one used longest ago let go of first."""

from collections import OrderedDict
from collections.abc import Iterable

from rounds.history.files import Key
from rounds.history.record import Record

HELD_RECORDS = 30_000


class HeldMonths:
    """All records of some months, by their ids."""

    def __init__(self) -> None:
        self._months: OrderedDict[Key, dict[str, Record]] = OrderedDict()

    def get(self, key: Key) -> dict[str, Record] | None:
        """Give a month where it is held."""
        if key in self._months:
            self._months.move_to_end(key)
        return self._months.get(key)

    def hold(self, key: Key, records: Iterable[Record]) -> dict[str, Record]:
        """Hold a month open; others may have to go for it."""
        month = self._months[key] = {each.id: each for each in records}
        self._months.move_to_end(key)
        while sum(map(len, self._months.values())) > HELD_RECORDS and len(self._months) > 1:
            self._months.popitem(last=False)
        return month

    def add(self, key: Key, records: Iterable[Record]) -> None:
        """Add what came into a month, where it is held."""
        if key in self._months:
            self._months[key].update((each.id, each) for each in records)

    def drop(self, key: Key) -> None:
        """Let go of a month."""
        self._months.pop(key, None)

    def clear(self) -> None:
        """Let go of all."""
        self._months.clear()

    def find(self, id: str) -> Record | None:
        """Give a record by its id, where its month is held."""
        return next((month[id] for month in self._months.values() if id in month), None)

    def __contains__(self, key: Key) -> bool:
        return key in self._months

    def __len__(self) -> int:
        return len(self._months)
