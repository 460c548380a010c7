"""Whether what was poured today did what it should: no third guess from a doubtful bottle."""

from __future__ import annotations

import math
from datetime import datetime, timedelta

from rounds.advice.case import Case
from rounds.belief import state as b
from rounds.belief.response import TWICE
from rounds.book.entries import Check, Dose, only
from rounds.book.ledger import read_since_fill
from rounds.book.offer import Finding, Refusal
from rounds.book.poured import kind_poured

NO_EFFECT_PH = 0.08
"""Two doses that moved the pH by less than this moved nothing. [-]"""
TWICE_EVIDENCE = 1.6
"""From e to this power on (five to one) it is said that twice as much seems to arrive. [-]"""
_TODAY = timedelta(hours=16)


def doses_today(case: Case) -> list[Dose]:
    """Acid and base that went into this reservoir in the last 16 hours."""
    since = case.now - _TODAY
    return [
        dose for dose in only(Dose, case.here)
        if since <= dose.measured_at <= case.now and kind_poured(case.farm, dose) is not None
    ]  # fmt: skip


def doses_of_this_feed(case: Case) -> list[Dose]:
    """Those of them that went into the feed of now, once it had been read: not the acid of its fill."""
    since = read_since_fill(case.ledger)
    return [dose for dose in doses_today(case) if since is None or dose.measured_at >= since]


def surprised(case: Case) -> Refusal | None:
    """The last reading was far from what the dose before it should have made."""
    surprise = case.answer.surprise
    if surprise is None or not surprise.after_dose:
        return None
    from rounds.advice.rechecks import likely_causes

    causes = "; ".join(likely_causes(case))
    return Refusal(
        code="surprise",
        text=f"pH {surprise.read:.2f} after the last dose, where {surprise.expected:.2f} was expected: "
        f"nothing more is poured until it is read again. Likely, in this order: {causes}.",
        instead="Read again in a few minutes, probe rinsed, pump running; then correct again.",
    )


def surprise_beside_water(case: Case) -> tuple[Finding, ...]:
    """The same, said beside water that is safe to pour whatever the cause."""
    surprise = case.answer.surprise
    if surprise is None or not surprise.after_dose:
        return ()
    from rounds.advice.rechecks import likely_causes

    return (
        Finding(
            code="surprise", severity="act",
            text=f"pH {surprise.read:.2f} after the last dose, where {surprise.expected:.2f} was expected. Likely, in "
            f"this order: {'; '.join(likely_causes(case))}. Water is safe; no acid or base until it is found.",
        ),
    )  # fmt: skip


def surprised_twice(case: Case) -> Refusal | None:
    """Two doses that did not do what they should within a day, or one that went the other way: no third guess."""
    since = case.readings.at - _TODAY
    recent = [s for s in case.answer.surprises if s.after_dose and s.at >= since and not _bottles_checked(case, s.at)]
    if len(recent) < 2 and not any(s.rival == "other way" for s in recent):
        return None
    names = {case.farm.shelf[s.item].name for s in recent if s.item in case.farm.shelf}
    return Refusal(
        code="bottle-doubtful",
        text=f"What was poured today did not do what it should ({', '.join(sorted(names)) or 'the last doses'}): "
        "nothing more is poured from it today.",
        instead="Look at the bottle and its label, dip a strip into it, look at the pump; type “bottles y” at the "
        "reservoir, then correct again.",
    )


def no_effect(case: Case, direction: str) -> Refusal | None:
    """Two doses or more today, and the pH has not moved."""
    doses = [r for r in doses_of_this_feed(case) if kind_poured(case.farm, r) == direction]
    doses = [r for r in doses if not _bottles_checked(case, r.measured_at)]
    if len(doses) < 2 or case.state is None:
        return None
    before = [e.value for e in case.ledger.events if e.what == "ph" and e.at <= doses[0].measured_at]
    moved = (case.state.mean[b.PH] - before[-1]) * (-1.0 if direction == "acid" else 1.0) if before else 1.0
    if moved >= NO_EFFECT_PH:
        return None
    product = case.farm.shelf.get(doses[-1].item)
    name = product.name if product is not None else doses[-1].item
    return Refusal(
        code="no-effect",
        text=f"{len(doses)} doses of {name} today have not moved the pH. Likely, in this order: water or a weak bottle "
        "instead; pump off or a dead corner; much hard water in it; the meter is off.",
        instead="Look at the bottle, the pump and the probe; type “bottles y” at the reservoir, then correct again.",
    )


def twice_suspected(case: Case) -> Finding | None:
    """Where the readings since the last doses look as if twice as much had arrived as was entered."""
    evidence = max((r.evidence for r in case.answer.rivals if r.name == TWICE), default=0.0)
    if evidence < TWICE_EVIDENCE:
        return None
    return Finding(
        code="arrives-twice", severity="act",
        text=f"The readings are {math.exp(min(evidence, 4.6)):.0f} times likelier if twice as much arrived as was "
        "entered: poured twice, a stronger bottle, or less water circulating than dipped (pump off, a dead corner). "
        "Look before the next dose.",
    )  # fmt: skip


def _bottles_checked(case: Case, since: datetime) -> bool:
    return any(
        check.item == "bottles" and check.value not in (False, None) and check.measured_at >= since
        for check in only(Check, case.entries)
    )
