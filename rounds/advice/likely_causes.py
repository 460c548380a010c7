"""What is likely wrong where a pH after a dose surprises."""

from __future__ import annotations

from datetime import datetime

from rounds.advice.case import MIXING_TURNOVERS, Case
from rounds.advice.earlier import ph_before
from rounds.book.message import Message, say
from rounds.farm.shelf import Base

_CLEARLY_PH = 0.15
_METER = say("ph-meter-off")


def likely_causes(case: Case) -> tuple[Message, ...]:
    """What is likely wrong where a reading after a dose surprises, the likeliest first, judged from what was seen."""
    surprise = case.answer.surprise
    if surprise is None:
        return ()
    dosed = next((e for e in reversed(case.ledger.events) if e.what in ("dose", "water")), None)
    before = ph_before(case, dosed.at) if dosed is not None else None
    start = surprise.expected if before is None else before
    base = dosed is not None and isinstance(case.farm.shelf.get(dosed.item), Base)
    causes = _causes(surprise.rival, surprise.read - start, surprise.expected - start, base=base)
    unmixed = dosed is not None and _turnovers_since(case, dosed.at) < MIXING_TURNOVERS
    return (say("not-yet-mixed"), *causes) if unmixed else causes


def _causes(rival: str, moved: float, meant: float, *, base: bool) -> tuple[Message, ...]:
    """By what would explain the reading far better, and by how far the pH moved against how far it was meant to.

    Where it went the other way nothing may have arrived either: CO2 that leaves and one reading's noise do that too.
    """
    weak = say("weak-base") if base else say("weak-acid")
    if rival == "other way" or (rival != "nothing" and moved * meant < 0.0 and abs(moved) > _CLEARLY_PH):
        return say("acid-instead-of-base") if base else say("base-instead-of-acid"), weak, _METER
    if rival == "nothing" or (rival == "" and abs(moved) < abs(meant)):
        return weak, say("dead-corner"), say("more-water"), _METER
    return say("poured-twice"), say("stronger-bottle"), say("less-water"), _METER


def _turnovers_since(case: Case, dosed_at: datetime) -> float:
    return (case.readings.at - dosed_at).total_seconds() / 60.0 / max(case.turnover_min, 1e-6)
