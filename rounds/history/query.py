"""What is asked of records: equal fields, the items they answer, their order in time."""

from collections.abc import Collection
from datetime import datetime
from typing import Protocol

import msgspec

from rounds.history.month import Doc, Texts
from rounds.history.record import Record

as_json = msgspec.json.encode
_ESCAPE = b"\\"


class Equals:
    """A TinyDB query for documents whose fields have given values; true where it asks for anything."""

    def __init__(self, **wanted: str | None) -> None:
        self._pairs = tuple((name, value) for name, value in wanted.items() if value is not None)
        self._words = tuple(word for _, value in self._pairs if value and _ESCAPE not in (word := as_json(value)))

    def __bool__(self) -> bool:
        return bool(self._pairs)

    def __call__(self, doc: Doc) -> bool:
        for name, value in self._pairs:  # noqa: SIM110
            if doc.get(name, "") != value:
                return False
        return True

    def likely(self, texts: Texts) -> Texts:
        """Leave out what cannot be wanted: in the JSON of the others each value stands as it is, or escaped.

        Examples
        --------
        >>> texts = [("1", b'{"item":"ph"}'), ("2", b'{"item":"ec"}'), ("3", b'{"item":"\\u0070h"}')]
        >>> [key for key, _ in Equals(item="ph").likely(texts)]
        ['1', '3']
        """
        for word in self._words:
            texts = [each for each in texts if word in each[1] or _ESCAPE in each[1]]
        return texts

    def accepts(self, record: Record) -> bool:
        return all(getattr(record, name) == value for name, value in self._pairs)

    def is_cacheable(self) -> bool:
        return False


class OfKinds(Equals):
    """The same for documents of some kinds."""

    def __init__(self, kinds: Collection[str], **wanted: str | None) -> None:
        super().__init__(**wanted)
        self._kinds = kinds
        self._kind_words = tuple(map(as_json, kinds))

    def __bool__(self) -> bool:
        return True

    def __call__(self, doc: Doc) -> bool:
        return doc.get("kind") in self._kinds and super().__call__(doc)

    def likely(self, texts: Texts) -> Texts:
        kinds = self._kind_words
        return [each for each in super().likely(texts) if any(map(each[1].__contains__, kinds)) or _ESCAPE in each[1]]

    def accepts(self, record: Record) -> bool:
        return record.kind in self._kinds and super().accepts(record)


def answered(record: Record) -> tuple[str, ...]:
    """Give what a record is the newest of: its item, the items an "all well" covers, its marks, as `kind:dose`.

    Of a doing the item is a mark, too: `did:calibrated`.
    """
    covers = record.data.get("covers") if record.data else None
    covered = [item for item in covers if isinstance(item, str)] if isinstance(covers, list) else []
    item = f"did:{record.item}" if record.kind == "doing" else record.item  # a verb is no answer to a check of its name
    return item, *covered, *_marks(record)


def _marks(record: Record) -> list[str]:
    if record.kind == "reading":
        return []
    if record.kind == "check":
        return [f"off:{record.item}"] if record.value is False else []
    action = record.data.get("action")
    return [f"kind:{record.kind}", *([f"action:{action}"] if isinstance(action, str) else [])]


class InTime(Protocol):
    """What can be put in order."""

    @property
    def measured_at(self) -> datetime: ...
    @property
    def rank(self) -> tuple[int, str, str]: ...


def order(record: InTime) -> tuple[datetime, tuple[int, str, str]]:
    """Order of records in time; of two measured at the same moment, the one written later comes later."""
    return record.measured_at, record.rank
