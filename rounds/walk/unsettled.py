"""What the whole record says of things that went wrong or were not ended: folds, each asked when it is wanted."""

from __future__ import annotations

from functools import cached_property
from typing import Any

from rounds.book.dated_notes import DatedNotes, Dating
from rounds.book.last_answers import Answers, LastAnswers
from rounds.book.levels import AllLevels, Levels
from rounds.book.open_pairs import OpenPairs, PairState
from rounds.book.passing import AllPassing, Passing
from rounds.book.settling import AllSettled, Settling
from rounds.book.undone import AllUndone, Undone
from rounds.checklist.load import Checklists
from rounds.checklist.still_off import StillOff, still_off
from rounds.farm.farm import Farm
from rounds.history.folds import Fold
from rounds.history.store import History


class Unsettled:
    """What the record says now; months are opened only where it was not read that far yet."""

    def __init__(self, history: History, farm: Farm) -> None:
        self._history, self._farm = history, farm

    @cached_property
    def answers(self) -> LastAnswers:
        """The last own answers to each item."""
        return self._history.folded(Answers())

    @cached_property
    def undone(self) -> AllUndone:
        """What was begun and not ended, or left."""
        return self._history.folded(Undone())

    @cached_property
    def settled(self) -> AllSettled:
        """What was said to settle it."""
        return self._history.folded(Settling())

    @cached_property
    def levels(self) -> AllLevels:
        """The levels of the reservoirs, and their unexplained falls."""
        return self._history.folded(Levels(self._farm))

    @cached_property
    def passing(self) -> AllPassing:
        """What was left in a passing state."""
        return self._history.folded(Passing())

    @cached_property
    def notes(self) -> DatedNotes:
        """The notes that may name a day."""
        return self._history.folded(Dating())

    @cached_property
    def pairs(self) -> PairState:
        """Where A or B waits for its other half."""
        return self._history.folded(OpenPairs(self._farm))

    def off(self, checklists: Checklists) -> list[StillOff]:
        """What was off by its last own answer, and is not settled."""
        return still_off(self._farm, checklists, self.answers, self.undone)

    def read_all(self) -> None:
        """Read the record as far back as it goes; the next start finds it read."""
        for fold in _folds(self._farm):
            self._history.folded(fold)

    @property
    def is_known(self) -> bool:
        """Whether all of it is known without opening months."""
        return all(self._history.is_folded(each) for each in _folds(self._farm))

    @property
    def tells_off(self) -> bool:
        """Whether what was off is known without opening months."""
        return all(self._history.is_folded(each) for each in (Answers(), Undone(), Passing()))


def _folds(farm: Farm) -> tuple[Fold[Any], ...]:
    return Answers(), Undone(), Settling(), Levels(farm), OpenPairs(farm), Passing(), Dating()
