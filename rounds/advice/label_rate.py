"""How much of a bought feed its label allows: so much for each litre of fresh water, and more only once it was proven.

Everything poured since the fill counts against it; what was topped up adds its share. Where no fill is on record, what
is in already is read off the conductivity.
"""

from __future__ import annotations

from rounds.advice.case import Case
from rounds.advice.projection import Projection
from rounds.book.composition import strength_for_ec
from rounds.book.ledger import LedgerEvent


def share_left(case: Case, projected: Projection) -> float | None:
    """Share of full strength, by the litres there are, that the label still allows; None where it does not hold. [-]"""
    if projected.feeding_proven:
        return None
    events = _since_fill(case)
    fresh_l = _fresh_l(case, events) + max(0.0, projected.volume_l - case.volume_l)
    allowed = [
        fresh_l - _poured_ml(events, part.id) / per_l
        for part, per_l in zip(case.feed.products, case.feed.ml_per_l, strict=True)
    ]
    filled = any(event.what == "renewed" for event in events)
    there_l = 0.0 if filled else _strength_read(case) * case.volume_l
    return max(0.0, min(min(allowed), fresh_l - there_l)) / projected.volume_l


def _since_fill(case: Case) -> list[LedgerEvent]:
    """From the last change-out on; all that is remembered where none is on record."""
    events = [event for event in case.ledger.events if event.at <= case.now]
    renewed = max((n for n, event in enumerate(events) if event.what == "renewed"), default=0)
    return events[renewed:]


def _fresh_l(case: Case, events: list[LedgerEvent]) -> float:
    """Litres of fresh water since the fill, that of the fill among them. [L]"""
    filled = next((event.value for event in events if event.what == "renewed"), case.volume_l)
    return filled + sum(e.value for e in events if e.what == "water" and e.item in case.farm.waters)


def _poured_ml(events: list[LedgerEvent], product: str) -> float:
    return sum(event.value for event in events if event.what in ("water", "dose") and event.item == product)


def _strength_read(case: Case) -> float:
    """Of full strength, by the conductivity read above that of the water. [-]"""
    if case.readings.ec_ms_cm is None:
        return 0.0
    return strength_for_ec(case.waters[0].solution, case.feed, case.readings.ec_ms_cm)
