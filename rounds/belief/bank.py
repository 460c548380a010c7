"""The bank: what is believed if all is as told, and beside it what would be believed under each named fault.

Each account has its own bell-shaped belief and a weight; every reading, jar test, strip and dip in buffer weighs them
anew. No weight is dropped for good: noise alone may speak against a fault that is there.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from rounds.belief.following import Following, Setting
from rounds.belief.gaussian import Gaussian
from rounds.belief.hypotheses import FAULTS, SOUND, Hypothesis
from rounds.book.ledger import LedgerEvent

_LEAST_SHARE = {"meter": 1e-3, "stuck": 1e-4, "water": 1e-3, "source": 1e-3, "bottle": 1e-4, "weak": 1e-3, "sound": 0.0}
"""No fault falls below this share of its prior: small enough that what speaks against it lets a dose through, or a
fault nobody has would hold every dose for good. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Account:
    """What is believed under one hypothesis, and how likely that hypothesis is."""

    hypothesis: Hypothesis
    state: Gaussian
    weight: float
    """Of all accounts together, 0-1. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bank:
    """All accounts; the sound one first."""

    accounts: tuple[Account, ...]
    rests_on: tuple[str, ...] = ()
    """Ids of the jars, strips and dips that the weights rest on."""
    jar_unexplained: bool = False
    """Whether the last jar test showed what cannot be if all is as told."""

    @property
    def sound(self) -> Account:
        """The account in which all is as told."""
        return self.accounts[0]

    @property
    def faults(self) -> tuple[Account, ...]:
        """The others."""
        return self.accounts[1:]

    @property
    def holding(self) -> tuple[Account, ...]:
        """Those whose fault would make a dose too strong."""
        return tuple(each for each in self.faults if each.hypothesis.sort not in ("weak", "water"))

    @property
    def by_sort(self) -> dict[str, float]:
        """How likely the faults of each sort are together. [-]"""
        found: dict[str, float] = {}
        for each in self.faults:
            found[each.hypothesis.sort] = found.get(each.hypothesis.sort, 0.0) + each.weight
        return found

    def likeliest_of(self, sort: str) -> Account:
        """The likeliest fault of a sort."""
        return max((each for each in self.faults if each.hypothesis.sort == sort), key=lambda account: account.weight)

    def with_sound(self, state: Gaussian) -> Bank:
        """The same with the belief that the correction itself works with as the sound one."""
        return replace(self, accounts=(replace(self.sound, state=state), *self.faults))


def bank_of(setting: Setting, events: Sequence[LedgerEvent]) -> Bank:
    """All accounts after some events, oldest first."""
    followed = [Following(setting, each) for each in (SOUND, *FAULTS)]
    for event in events:
        for each in followed:
            each.take(event)
    odds = [each.log_odds(followed[0]) for each in followed]
    top = max(odds)
    whole = math.fsum(math.exp(each - top) for each in odds)
    least = [_LEAST_SHARE[each.hypothesis.sort] * each.hypothesis.prior for each in followed]
    raw = [max(math.exp(each - top) / whole, low) for each, low in zip(odds, least, strict=True)]
    total = math.fsum(raw)
    return Bank(
        jar_unexplained=followed[0].jar_was_odd,
        accounts=tuple(
            Account(hypothesis=f.hypothesis, state=f.state or setting.supposed, weight=w / total)
            for f, w in zip(followed, raw, strict=True)
        ),
    )


def weights_of(bank: Bank) -> dict[str, float]:
    """The weights by code, as they are kept with a correction."""
    return {each.hypothesis.code: float(f"{each.weight:.3g}") for each in bank.faults}
