"""Which of the readings are hard to believe: they are read again before anything is poured on them."""

from __future__ import annotations

from dataclasses import dataclass

from rounds.advice.bottle_effect import surprised
from rounds.advice.case import Case
from rounds.advice.earlier import read_twice
from rounds.advice.gates import unbelievable
from rounds.advice.meanings import SAME_EC, dead_cell, ec_jump
from rounds.advice.misread import doubted_ph, reading_jump, too_alkaline
from rounds.advice.rechecks import ec_surprise
from rounds.book.offer import Finding


@dataclass(frozen=True, slots=True, kw_only=True)
class UnsureReadings:
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
        unsure = [name for name, why in (("pH", self.ph), ("EC", self.ec)) if why is not None]
        return f"the {unsure[0]}" if len(unsure) == 1 else " and ".join(unsure)

    @property
    def why(self) -> str:
        """All that speaks against them."""
        return " ".join(dict.fromkeys(why for why in (self.ph, self.ec) if why is not None))


def unsure(case: Case) -> UnsureReadings:
    """Weigh pH and EC against what was there before and what was poured."""
    dead = dead_cell(case)
    odd = dead or ec_surprise(case) or ec_jump(case)
    confirmed = dead is None and odd is not None and read_twice(case, "ec", case.readings.ec_ms_cm or 0.0, SAME_EC)
    return UnsureReadings(
        ph=_ph_doubted(case),
        ec=None if odd is None or confirmed else odd.text,
        no_feed=odd is not None,
        ph_finding=(reading_jump(case) or too_alkaline(case)) if case.readings.ph is not None else None,
        ec_finding=odd,
    )


def _ph_doubted(case: Case) -> str | None:
    if case.readings.ph is None:
        return None
    refusal = surprised(case) or unbelievable(case)
    if refusal is not None:
        return refusal.text
    return doubted_ph(case)
