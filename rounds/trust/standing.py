"""Whose each key is, by the statements that stand in a farm's folder."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import datetime
from typing import Literal

from rounds.history.farm_id import FarmId
from rounds.trust.statements import Block, Granted, Introduced, Mine, Opened, Revoked, Statement, Taken, is_sound

MOST_FAILED = 500
"""So many signatures are tried in vain before the rest goes for unsigned: each costs 0.1 ms."""
Rank = Literal["grower", "helper", "revoked", "unknown"]


class Standing:
    """What the folder's own statements come to. They are as good as the folder: who can write there has the farm."""

    def __init__(self, statements: Iterable[Statement]) -> None:
        there = list(statements)
        self.farm_ids = frozenset(each.id for each in there if isinstance(each, FarmId))
        self.opened_with = next((each.key for each in there if isinstance(each, Opened)), "")
        self.mine: dict[str, datetime] = {}
        """The grower's keys by the word of the folder's owner, and when that was last said."""
        self.signs_since: datetime | None = None
        """When the grower of this farm began to sign; None where nobody did yet."""
        for said in (each for each in there if isinstance(each, Mine)):
            self.mine[said.key] = max(said.at, self.mine.get(said.key, said.at))
            self.signs_since = min(said.at, self.signs_since or said.at)
        self.introduced: dict[str, Introduced] = {}
        self.granted: dict[str, Granted] = {}
        self.revoked: dict[str, Revoked] = {}
        self.blocks: dict[tuple[str, str], list[Block]] = {}
        """By device and month; believed as they stand, since whoever could forge them could forge the records."""
        for block in (each for each in there if isinstance(each, Block)):
            self.blocks.setdefault((block.device, block.month), []).append(block)
        self.taken = {(each.record, each.digest) for each in there if isinstance(each, Taken)}
        """Records that the grower has taken in one by one, with the digest of each."""
        self._unsound: set[Statement] = set()
        self.failed = 0
        """Signatures that were tried in vain."""
        self._take_in(there, self._was_a_growers)

    def take_in(self, statements: Iterable[Statement]) -> list[Statement]:
        """Take in what a key that is the grower's now states elsewhere of other keys; give what was new.

        A key that is the grower's by the word of the folder's owner is not revoked from elsewhere.
        """
        some = [each for each in statements if not (isinstance(each, Revoked) and each.key in self.mine)]
        heard: list[Statement] = [*self._take_in(some, lambda key: self.rank(key) == "grower")]
        for each in (each for each in some if isinstance(each, Taken)):
            if self.rank(each.by) == "grower" and self._is_sound(each):
                self.taken.add((each.record, each.digest))
                heard.append(each)
        return heard

    def _is_sound(self, statement: Introduced | Granted | Revoked | Taken) -> bool:
        """Whether a statement is of this farm and signed as it says; nobody has it tried without end."""
        if statement.farm not in self.farm_ids or self.failed > MOST_FAILED or statement in self._unsound:
            return False
        if is_sound(statement):
            return True
        self.failed += 1
        self._unsound.add(statement)
        return False

    def _take_in(self, statements: Iterable[Statement], may_state: Callable[[str], bool]) -> list[Statement]:
        """Go through statements until nothing is new: one may stand before the one that it hangs on."""
        waiting = [each for each in statements if isinstance(each, Introduced | Granted | Revoked)]
        taken: list[Statement] = []
        while True:
            now = [
                each
                for each in waiting
                if each.key not in self._table(each) and may_state(each.by) and self._is_sound(each)
            ]
            if not now:
                return taken
            for each in now:
                self._enter(each)
            taken += now

    def rank(self, key: str) -> Rank:
        """Whose a key is."""
        if key in self.revoked and not (key in self.mine and self.mine[key] > self.revoked[key].at):
            return "revoked"
        if self._was_a_growers(key):
            return "grower"
        return "helper" if key in self.granted else "unknown"

    def signer_of(self, device: str, month: str, number: int) -> str:
        """The key that stands for a record that is here; empty where none does."""
        blocks = self.blocks.get((device, month), ())
        return next((each.by for each in blocks if each.first <= number <= each.last), "")

    def keys_of(self, device: str) -> frozenset[str]:
        """The keys with which a device has signed here."""
        return frozenset(each.by for (name, _), some in self.blocks.items() if name == device for each in some)

    def _was_a_growers(self, key: str) -> bool:
        return key in self.mine or key in self.introduced

    def _enter(self, statement: Introduced | Granted | Revoked) -> None:
        self._table(statement)[statement.key] = statement

    def _table(self, statement: Introduced | Granted | Revoked) -> dict[str, Introduced | Granted | Revoked]:
        tables = {Introduced: self.introduced, Granted: self.granted, Revoked: self.revoked}
        return tables[type(statement)]  # type: ignore[return-value]
