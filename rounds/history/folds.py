"""What must be known from all years, kept and continued: folds over the record, each with its checkpoints.

A fold is given every standing record of its kinds in order of time, one by one. Its state is kept at the ends of some
months; where a record comes in late, is replaced or goes, all that was folded behind it is folded anew from there.
"""

from collections.abc import Callable, Iterable
from datetime import datetime
from typing import Any, Protocol, TypeVar

import msgspec

from rounds.history.query import order
from rounds.history.record import Record, month_of

S = TypeVar("S")
Order = tuple[datetime, tuple[int, str, str]]
NEWEST_KEPT = 3
"""So many of the last checkpoints are kept; of the older ones, the last of each year."""


class Fold(Protocol[S]):
    """A question over the whole record, answered record by record."""

    @property
    def name(self) -> str:
        """Under which its state is kept."""
        ...

    @property
    def version(self) -> str:
        """Changes with its meaning, and with whatever else its states depend on: older states are thrown away."""
        ...

    @property
    def kinds(self) -> frozenset[str]:
        """The kinds of record that it looks at."""
        ...

    def empty(self) -> S:
        """The state before the first record: something msgspec writes as JSON and reads back by its type."""
        ...

    def step(self, state: S, record: Record) -> S:
        """The state after one more record; the state given may be changed and given back."""
        ...


class Checkpoint(msgspec.Struct, array_like=True):
    """The state of a fold after everything up to a record."""

    last: Order
    state: msgspec.Raw


class FoldRow(msgspec.Struct, array_like=True):
    """A fold as the summary keeps it."""

    name: str
    version: str
    kinds: list[str]
    checkpoints: list[Checkpoint] = []
    complete: bool = False
    """Whether the last checkpoint is at the end of the record."""


class Folding:
    """One fold on its way through the record."""

    def __init__(self, row: FoldRow) -> None:
        self._row = row
        self._fold: Fold[Any] | None = None
        self._state: Any = None
        self._last: Order | None = None
        self._next = ""
        """The month from which on nothing has been read yet, while it is being folded."""
        self.complete = row.complete
        self.is_unsaved = False
        """Whether months were read that the next start need not read again, once this is kept."""
        self.kinds = frozenset(row.kinds)

    @classmethod
    def begun(cls, fold: Fold[Any]) -> "Folding":
        """One of which nothing is kept."""
        return cls(FoldRow(name=fold.name, version=fold.version, kinds=sorted(fold.kinds)))

    def fits(self, fold: Fold[Any]) -> bool:
        """Tell whether what is kept belongs to a fold as it is now; from then on it is stepped as records come in."""
        if (self._row.version, self.kinds) != (fold.version, fold.kinds):
            return False
        if self._fold is None:
            self._fold = fold
            try:
                self._restore()
            except msgspec.ValidationError:
                return False
        return True

    def state(self) -> Any:
        """Give a copy of the state: nobody else changes this one."""
        return msgspec.json.decode(msgspec.json.encode(self._state), type=type(self._state))

    def row(self) -> FoldRow:
        """Give what the summary keeps."""
        points = list(self._row.checkpoints)
        if self._fold is not None and self._last is not None and (not points or points[-1].last < self._last):
            points.append(self._checkpoint(self._last))
        row = self._row
        return FoldRow(row.name, row.version, row.kinds, points, self.complete)

    def follow(self, record: Record) -> None:
        """Take in one record that is new, stands, and belongs to no family."""
        here, last = order(record), self._end()
        if self._fold is not None and self.complete and (last is None or here > last):
            self._step(record)
        else:
            self.drop(lambda each: each > here)

    def drop(self, is_gone: Callable[[Order], bool]) -> None:
        """Forget whatever was folded as far as something that does not hold, and stand at the checkpoint before."""
        self._row.checkpoints = [each for each in self._row.checkpoints if not is_gone(each.last)]
        self.complete, self._next = False, ""
        if self._last is not None and is_gone(self._last):
            self._restore()

    def first_unread(self) -> str:
        """Name the month to go on with."""
        return self._next or (month_of(self._last[0]) if self._last is not None else "")

    def read_on(self, month: str, records: Iterable[Record]) -> None:
        """Step through one month's standing records of its kinds, and go on to the next."""
        self.is_unsaved = True
        for record in sorted(records, key=order):
            if self._last is None or order(record) > self._last:
                self._step(record)
        self._next = month + "~"

    def _step(self, record: Record) -> None:
        assert self._fold is not None
        if self._last is not None and month_of(self._last[0]) != month_of(record.measured_at):
            points = self._row.checkpoints
            if not points or points[-1].last < self._last:
                points.append(self._checkpoint(self._last))
                self._row.checkpoints = _thinned(points)
        self._state = self._fold.step(self._state, record)
        self._last = order(record)

    def _end(self) -> Order | None:
        points = self._row.checkpoints
        return self._last if self._fold is not None else points[-1].last if points else None

    def _checkpoint(self, last: Order) -> Checkpoint:
        return Checkpoint(last, msgspec.Raw(msgspec.json.encode(self._state)))

    def _restore(self) -> None:
        assert self._fold is not None
        self._state, self._last = self._fold.empty(), None
        if self._row.checkpoints:
            point = self._row.checkpoints[-1]
            self._state = msgspec.json.decode(point.state, type=type(self._state))
            self._last = point.last


def _thinned(points: list[Checkpoint]) -> list[Checkpoint]:
    """The newest, and of the older ones the last of each year."""
    older = {each.last[0].year: each for each in points[:-NEWEST_KEPT]}
    return [*older.values(), *points[-NEWEST_KEPT:]]
