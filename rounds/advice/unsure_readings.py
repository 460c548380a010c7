"""Which of the readings are hard to believe: they are read again before anything is poured on them."""

from __future__ import annotations

from dataclasses import dataclass

from rounds.advice.bottle_effect import surprised
from rounds.advice.case import Case
from rounds.advice.earlier import read_twice
from rounds.advice.fell_far import fell_from
from rounds.advice.gates import unbelievable
from rounds.advice.meanings import SAME_EC, dead_cell, ec_jump
from rounds.advice.misread import doubted_ph, reading_jump, too_alkaline
from rounds.advice.rechecks import ec_surprise
from rounds.book.message import Message
from rounds.book.offer import Finding, act


@dataclass(frozen=True, slots=True, kw_only=True)
class UnsureReadings:
    """What is hard to believe of a round's readings; None for what is not."""

    ph: Message | None
    ec: Message | None
    no_feed: bool
    """Whether concentrates stay shut, even where the EC was read twice."""
    ph_finding: Finding | None = None
    ec_finding: Finding | None = None

    @property
    def names(self) -> tuple[str, ...]:
        """The doubted readings; none where all are believed."""
        return tuple(name for name, why in (("pH", self.ph), ("EC", self.ec)) if why is not None)

    @property
    def why(self) -> tuple[Message, ...]:
        """All that speaks against them."""
        return tuple(why for why in (self.ph, self.ec) if why is not None)


def unsure(case: Case) -> UnsureReadings:
    """Weigh pH and EC against what was there before and what was poured."""
    dead = dead_cell(case)
    odd = dead or ec_surprise(case) or ec_jump(case)
    confirmed = dead is None and read_twice(case, "ec", case.readings.ec_ms_cm or 0.0, SAME_EC)
    fell = None if odd is not None or confirmed else _fell(case)
    odd = odd or fell
    return UnsureReadings(
        ph=_ph_doubted(case),
        ec=None if odd is None or confirmed else odd.says,
        no_feed=odd is not None,
        ph_finding=(reading_jump(case) or too_alkaline(case)) if case.readings.ph is not None else None,
        ec_finding=odd,
    )


def _fell(case: Case) -> Finding | None:
    then = fell_from(case)
    return None if then is None else act("ec-fell", now=case.readings.ec_ms_cm or 0.0, then=then)


def _ph_doubted(case: Case) -> Message | None:
    if case.readings.ph is None:
        return None
    refusal = surprised(case) or unbelievable(case)
    if refusal is not None:
        return refusal.says
    return doubted_ph(case)
