"""The one way into the record: a draft is judged and permitted, then saved, and whoever asked is told what changed.

Who judges and who permits stands above this room, and is passed in. Nothing else calls what writes in the history.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING, cast

from rounds.book.entries import Unknown
from rounds.book.entry import TYPES, Entry, RecordLike
from rounds.book.error_texts import in_words
from rounds.errors import BadInput
from rounds.farm.model import Person
from rounds.history.record import Draft, Record
from rounds.history.store import History
from rounds.record_kinds import KINDS

if TYPE_CHECKING:
    from rounds.history.merge import MergePreview

Rule = Callable[[Sequence[Draft], Person | None], None]
"""Raises a `RoundsError` where drafts may not be written by somebody."""
Changed = Callable[[frozenset[str], frozenset[str], frozenset[str]], None]
"""Is told the kinds, stations and what they touch (`rounds.record_kinds.Touches`) of what was written.

No station at all means any: another window or device has written. The farm as a whole is the station "".
"""
_EVERYTHING = frozenset(touch for kind in KINDS.values() for touch in kind.touches)


class Gate:
    """Writes into one history.

    Parameters
    ----------
    history : History
        What is written into.
    rules : iterable of callable
        Each is asked before anything is written, in their order.
    """

    def __init__(self, history: History, rules: Iterable[Rule] = ()) -> None:
        self._history = history
        self._rules = tuple(rules)
        self._told: list[Changed] = []

    def subscribe(self, changed: Changed) -> Callable[[], None]:
        """Have somebody told after each writing; give what ends that."""
        self._told.append(changed)
        return lambda: self._told.remove(changed)

    def ask(self, *drafts: Draft, by: Person | None) -> None:
        """Ask whether drafts may be written, without writing them. Raises as `write` before it saves."""
        for draft in drafts:
            if draft.kind not in KINDS and not draft.void:
                raise in_words(BadInput, "no-kind", kind=draft.kind[:40], known=", ".join(KINDS))
        for rule in self._rules:
            rule(drafts, by)

    def write(self, *drafts: Draft, by: Person | None) -> tuple[Record, ...]:
        """Write drafts down, all in one; durable when it returns.

        Raises
        ------
        BadInput
            Where a draft cannot be kept as it is, or is of no kind that there is.
        Refused
            Where somebody may not write it.
        NotSaved
            Where nothing was saved; the sentence says why.
        """
        self.ask(*drafts, by=by)
        records = self._history.save(*drafts)
        self._tell(records)
        return records

    def write_many(self, drafts: Sequence[Draft], *, by: Person | None) -> int:
        """Write a whole table of drafts down, all or nothing; give how many. Raises as `write`."""
        self.ask(*drafts, by=by)
        count = self._history.add_bulk(drafts)
        self._tell(drafts)
        return count

    def take_back(self, record: Record, *, by: Person | None, why: str) -> tuple[Record, ...]:
        """Say that a record does not count; give the one that counts again, where it had replaced one.

        Raises
        ------
        NotFound, NotSaved, Refused
            Where it is not there, could not be written, or is not theirs to take back.
        """
        void = Draft(kind=record.kind, station=record.station, measured_at=record.measured_at, replaces=record.id,
                     void=True)  # fmt: skip
        before = self._history.get(record.replaces) if record.replaces else None
        again = [] if before is None or before.void else [_anew(before)]
        self.ask(void, by=by)
        self._history.void(record.id, person=by.id if by is not None else "", note=why)
        restored = self._history.save(*again)
        self._tell([record, *restored])
        return restored

    def merge(self, found: MergePreview) -> int:
        """Take in what another device wrote, all or nothing; the preview holds what may come in.

        Raises
        ------
        NotSaved
            Where nothing was taken in.
        """
        from rounds.history.merge import apply

        count = apply(self._history, found)
        self._tell(found.new)
        return count

    def refresh(self) -> bool:
        """Read what another window, process or device has added; tell whether there was anything."""
        found = self._history.refresh()
        if found:
            for changed in tuple(self._told):
                changed(frozenset(KINDS), frozenset(), _EVERYTHING)
        return found

    def _tell(self, written: Sequence[Draft | Record]) -> None:
        if not written or not self._told:
            return
        kinds = frozenset(each.kind for each in written)
        stations = frozenset(each.station for each in written)
        touches = frozenset(touch for each in written for touch in _touches(each))
        for changed in tuple(self._told):
            changed(kinds, stations, touches)


def entry_of_draft(draft: Draft) -> Entry:
    """A draft, typed as the record that it will be; it has no id yet."""
    return TYPES.get(draft.kind, Unknown)(cast(RecordLike, draft))


def _touches(written: Draft | Record) -> frozenset[str]:
    known = KINDS.get(written.kind)
    return _EVERYTHING if known is None else known.touches


def _anew(before: Record) -> Draft:
    fields = {name: getattr(before, name) for name in Draft.__struct_fields__}
    return Draft(**fields | {"replaces": None, "marks": (*before.marks, "counts again")})
