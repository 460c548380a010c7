"""One line of the record: what all of them have, and how a door reads what stands in one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any, ClassVar, Protocol

from rounds.book.amounts import number
from rounds.record_kinds import KINDS, Touches


class RecordLike(Protocol):
    """What this room needs of a record; `rounds.history.record.Record` has it all."""

    @property
    def id(self) -> str: ...
    @property
    def kind(self) -> str: ...
    @property
    def station(self) -> str: ...
    @property
    def item(self) -> str: ...
    @property
    def value(self) -> float | int | str | bool | None: ...
    @property
    def unit(self) -> str | None: ...
    @property
    def measured_at(self) -> datetime: ...
    @property
    def meter(self) -> str | None: ...
    @property
    def note(self) -> str | None: ...
    @property
    def data(self) -> Mapping[str, Any]: ...


REASON = "reason"
"""The key of the reason for which an entry was put right."""
TYPES: dict[str, type[Entry]] = {}
"""What a record of each kind is read as; `rounds.book.entries` has all of them."""


def data_beside(record: RecordLike, **more: Any) -> dict[str, Any]:
    """What stands beside a record's value, with more of it: for the one that takes its place."""
    return {**record.data, **more}


class Entry:
    """One line of the record."""

    __slots__ = ("record",)
    kind: ClassVar[str] = ""
    """Its name in `rounds.record_kinds.KINDS`; empty for what several kinds have in common."""
    touches: ClassVar[frozenset[Touches]] = frozenset()

    def __init_subclass__(cls, kind: str = "") -> None:
        """Bind the class to its row of the table; a kind without a row is a mistake in the program."""
        super().__init_subclass__()
        if kind:
            cls.kind, cls.touches = kind, KINDS[kind].touches
            TYPES[kind] = cls

    def __init__(self, record: RecordLike) -> None:
        self.record = record

    @property
    def marks(self) -> Sequence[str]:
        """What it is marked as."""
        found: Sequence[str] = getattr(self.record, "marks", ())
        return found

    @property
    def id(self) -> str:
        """Id of the record."""
        return self.record.id

    @property
    def station(self) -> str:
        """Id of its station; empty for the farm as a whole."""
        return self.record.station

    @property
    def item(self) -> str:
        """What it is of: a reading, a check, a product."""
        return self.record.item

    @property
    def measured_at(self) -> datetime:
        """When it happened."""
        return self.record.measured_at

    @property
    def value(self) -> float | int | str | bool | None:
        """What was entered."""
        return self.record.value

    @property
    def number(self) -> float | None:
        """The value as a finite number; None where it is none."""
        return number(self.record.value)

    @property
    def unit(self) -> str | None:
        """The unit beside the value."""
        return self.record.unit

    @property
    def meter(self) -> str | None:
        """Id of the meter."""
        return self.record.meter

    @property
    def note(self) -> str:
        """What was written beside it."""
        return self.record.note or ""

    @property
    def person(self) -> str:
        """Who wrote it."""
        return str(getattr(self.record, "person", ""))

    @property
    def why_replacing(self) -> str:
        """Why it was put in the place of an earlier entry; empty where nobody said."""
        return self._text(REASON) or ""

    def _text(self, key: str) -> str | None:
        found = self.record.data.get(key)
        return found if isinstance(found, str) else None

    def _table(self, key: str) -> Mapping[str, Any]:
        found = self.record.data.get(key)
        return found if isinstance(found, Mapping) else {}

    def _texts(self, key: str) -> tuple[str, ...]:
        found = self.record.data.get(key)
        return tuple(each for each in found if isinstance(each, str)) if isinstance(found, list | tuple) else ()

    def _tables(self, key: str) -> tuple[Mapping[str, Any], ...]:
        found = self.record.data.get(key)
        return tuple(each for each in found if isinstance(each, Mapping)) if isinstance(found, list | tuple) else ()
