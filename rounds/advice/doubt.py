"""Which of the readings are hard to believe: they are read again before anything is poured on them."""

from __future__ import annotations

from dataclasses import dataclass

from rounds.advice.case import Case
from rounds.advice.doubtful import surprised
from rounds.advice.earlier import poured_since, read_before, read_twice
from rounds.advice.gates import reading_jump, unbelievable
from rounds.advice.meanings import SAME_EC, dead_cell, ec_jump
from rounds.advice.rechecks import ec_surprise
from rounds.advice.steps import Finding

PH_JUMP = 0.8
"""As the checklist has it, so that both call the same reading hard to believe. [-]"""
SAME_PH = 0.2


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubt:
    """What is hard to believe of a round's readings; None for what is not."""

    ph: str | None
    ec: str | None
    no_feed: bool
    """Whether concentrates stay shut, even where the EC was read twice."""
    ph_finding: Finding | None = None
    ec_finding: Finding | None = None

    @property
    def names(self) -> str:
        """The doubted readings; empty where all are believed."""
        doubted = [name for name, why in (("pH", self.ph), ("EC", self.ec)) if why is not None]
        return f"the {doubted[0]}" if len(doubted) == 1 else " and ".join(doubted)

    @property
    def why(self) -> str:
        """All that speaks against them."""
        return " ".join(dict.fromkeys(why for why in (self.ph, self.ec) if why is not None))


def doubted(case: Case) -> Doubt:
    """Weigh pH and EC against what was there before and what was poured."""
    dead = dead_cell(case)
    odd = dead or ec_surprise(case) or ec_jump(case)
    confirmed = dead is None and odd is not None and read_twice(case, "ec", case.readings.ec_ms_cm or 0.0, SAME_EC)
    return Doubt(
        ph=_ph_doubted(case),
        ec=None if odd is None or confirmed else odd.text,
        no_feed=odd is not None,
        ph_finding=reading_jump(case) if case.readings.ph is not None else None,
        ec_finding=odd,
    )


def _ph_doubted(case: Case) -> str | None:
    if case.readings.ph is None:
        return None
    refusal = surprised(case) or unbelievable(case)
    if refusal is not None:
        return refusal.text
    jump = reading_jump(case)
    return jump.text if jump is not None else _far_from_before(case)


def _far_from_before(case: Case) -> str | None:
    """A pH that the checklist calls hard to believe, whatever the chemistry makes of it."""
    now, then = case.readings.ph, read_before(case, "ph")
    if now is None or then is None or abs(now - then) <= PH_JUMP:
        return None
    if poured_since(case, "ph") or read_twice(case, "ph", now, SAME_PH):
        return None
    return f"pH {now:.2f} is hard to believe after {then:.2f} before."
