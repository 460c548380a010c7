"""The folds of a history, taken on by whatever comes in."""

from collections.abc import Callable, Collection, Iterable, Sequence
from functools import partial
from operator import le
from typing import Any

from rounds.history.folds import Fold, Folding, FoldRow
from rounds.history.query import order
from rounds.history.record import Record, month_of
from rounds.history.replacements import Replacements

MOST_FAMILIES = 20
"""Where more records that replace or are replaced come in at once, it is quicker to fold everything anew."""
Find = Callable[[str], Record | None]
Standing = Callable[[str, frozenset[str]], Iterable[Record]]


class KeptFolds:
    """All folds of which anything is kept, also those that nobody has asked for since the start.

    Parameters
    ----------
    replacements : Replacements
        Tells which records are one family.
    find : callable
        Gives a record by its id.
    standing : callable
        Gives what stands of some kinds in a month of all devices.
    """

    def __init__(self, replacements: Replacements, find: Find, standing: Standing) -> None:
        self._replacements = replacements
        self._find = find
        self._standing = standing
        self._foldings: dict[str, Folding] = {}

    def load(self, rows: Iterable[FoldRow]) -> None:
        """Begin with what the summary kept."""
        self._foldings = {row.name: Folding(row) for row in rows}

    def rows(self) -> list[FoldRow]:
        """Give what the summary is to keep."""
        return [each.row() for each in self._foldings.values()]

    def are_unsaved(self) -> bool:
        """Tell whether months were read that a summary written now would spare the next start."""
        return any(each.is_unsaved for each in self._foldings.values())

    def note_saved(self) -> None:
        """The summary holds all of it."""
        for each in self._foldings.values():
            each.is_unsaved = False

    def of(self, fold: Fold[Any]) -> Folding:
        """Give a fold's way so far; a new one where none is kept, or what is kept is of another version."""
        known = self._foldings.get(fold.name)
        if known is None or not known.fits(fold):
            known = self._foldings[fold.name] = Folding.begun(fold)
            known.fits(fold)
        return known

    def read_on(self, fold: Fold[Any], months: Iterable[str]) -> Folding:
        """Take a fold one month nearer to the end of the record."""
        folding = self.of(fold)
        if not folding.complete:
            left = sorted({month for month in months if month >= folding.first_unread()})
            if left:
                folding.read_on(left[0], self._standing(left[0], fold.kinds))
            folding.complete = len(left) < 2
        return folding

    def take_in(self, records: Sequence[Record]) -> None:
        """Take in records that are new here; where one replaces another, back to the first of its family."""
        tied = [each for each in records if self._foldings and self._is_tied(each)]
        if len(tied) > MOST_FAMILIES:
            self.clear()
            return
        family = self._members(tied)
        self._follow([each for each in records if each.id not in family and not each.void])
        self._unfold(family.values())

    def _is_tied(self, record: Record) -> bool:
        return record.replaces is not None or bool(self._replacements.children(record.id))

    def _members(self, tied: Sequence[Record]) -> dict[str, Record]:
        """All that is linked to some records by replacing, as far as it is here."""
        known = {each.id: each for each in tied}
        others = {id for each in tied for id in self._replacements.family(each.id)} - known.keys()
        return known | {each.id: each for each in map(self._find, others) if each is not None}

    def _follow(self, records: Sequence[Record]) -> None:
        """Take in new records that stand and belong to no family."""
        for folding in self._foldings.values():
            mine = [each for each in records if each.kind in folding.kinds]
            for record in sorted(mine, key=order) if len(mine) > 1 else mine:
                folding.follow(record)

    def _unfold(self, records: Collection[Record]) -> None:
        """Fold anew from the first of some records, of which it has changed whether they stand."""
        for folding in self._foldings.values():
            first = min((order(each) for each in records if each.kind in folding.kinds), default=None)
            if first is not None:
                folding.drop(partial(le, first))

    def unfold_from(self, month: str) -> None:
        """Fold anew from the beginning of a month, whatever was in it."""
        for folding in self._foldings.values():
            folding.drop(lambda last: month_of(last[0]) >= month)

    def clear(self) -> None:
        """Fold everything anew."""
        self._foldings = {}
