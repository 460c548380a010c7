"""What earlier corrections believed of the faults of a bottle and a meter, as far as it still holds."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime

from rounds.advice.case import Case
from rounds.belief.following import NEXT_DAY_H
from rounds.belief.hypotheses import FAULTS, Hypothesis
from rounds.book.entries import only
from rounds.book.ledger import LedgerEvent
from rounds.book.offered import FaultsKept, Offer

_REMEMBERED_DAYS = {
    "bottle": 3650.0,
    "water": 7.0,
    "source": 7.0,
    "meter": 3.0,
    "stuck": 3.0,
    "weak": 30.0,
    "sound": 1.0,
}
"""In so many days what was learned of a fault fades by two thirds: a batch stays what it is, apart from a bottle that
is filled up or changes its place; a meter may stick any day. Practice. [d]"""
_OF_BOTTLE = ("bottle", "weak")
_LEAST_SOUND = 1e-6
_MOST_KEPT = 12
_RESTS_ON = ("jar", "strip", "buffer")


@dataclass(frozen=True, slots=True, kw_only=True)
class Remembered:
    """What is known of faults before anything new is read; empty where nothing was learned."""

    odds: Mapping[str, float] = field(default_factory=dict)
    """By code, against all being as told. [-]"""
    since: Mapping[str, datetime] = field(default_factory=dict)
    """By code: what was read until then is in the odds already."""
    rests_on: tuple[str, ...] = ()
    """Ids of the jars, strips and dips that it rests on: where one is taken back or put right, it no longer holds."""


def remembered(case: Case, item: str) -> Remembered:
    """What the newest correction that still holds believed of this bottle; nothing where it was another batch.

    A bottle is the same at every reservoir, and so is the meter where there is one only; standing water is not. With
    the days a meter may go wrong anew, and another part of the water may stand still.
    """
    standing = {entry.id for entry in case.entries}
    anywhere = [o for o in only(Offer, case.entries) if o.measured_at <= case.now and _holds(case, o, item, standing)]
    newest = anywhere[-1:]
    here = [offer for offer in anywhere if offer.station == case.reservoir.id][-1:]
    everywhere = _everywhere(case)
    told = [(fault, offer) for fault in FAULTS for offer in (newest if fault.sort in everywhere else here)
            if fault.code in offer.faults[item].weights]  # fmt: skip
    return Remembered(
        odds={fault.code: _odds_by_now(case, fault, offer, item) for fault, offer in told},
        since=_since_opened(case, item) | {fault.code: offer.measured_at for fault, offer in told},
        rests_on=tuple(dict.fromkeys(_ids(newest, item) + _ids(here, item)))[-_MOST_KEPT:],
    )


def _since_opened(case: Case, item: str) -> dict[str, datetime]:
    """By code: what the bottle before this one did says nothing of this one."""
    opened = case.farm.opened.get(item)
    return {} if opened is None else {fault.code: opened for fault in FAULTS if fault.sort in _OF_BOTTLE}


def _odds_by_now(case: Case, fault: Hypothesis, offer: Offer, item: str) -> float:
    days = max(0.0, (case.now - offer.measured_at).total_seconds() / 86400.0)
    return _relaxed(fault, _odds(offer.faults[item], fault.code), days)


def resting_on(before: Remembered, events: Iterable[LedgerEvent]) -> tuple[str, ...]:
    """Ids of all jars, strips and dips that what is believed now rests on."""
    new = [event.record_id for event in events if event.what in _RESTS_ON and event.record_id]
    return tuple(dict.fromkeys((*before.rests_on, *new)))[-_MOST_KEPT:]


def made_of(case: Case, item: str) -> str:
    """Which batch is in the bottle: when it was opened, as somebody said, else made, as far as the shelf says."""
    opened = case.farm.opened.get(item)
    if opened is not None:
        return opened.isoformat()
    product = case.farm.shelf.get(item)
    made = getattr(product, "made_on", None)
    return made.isoformat() if made is not None else ""


def _holds(case: Case, offer: Offer, item: str, standing: Collection[str]) -> bool:
    """Whether it was of the same batch, and nothing that it rests on was put right or taken back since."""
    kept = offer.faults.get(item)
    return kept is not None and kept.made == made_of(case, item) and all(each in standing for each in kept.rests_on)


def _ids(offers: list[Offer], item: str) -> list[str]:
    return [each for offer in offers for each in offer.faults[item].rests_on]


def _everywhere(case: Case) -> tuple[str, ...]:
    """Sorts of faults that are the same at every reservoir."""
    meters = [meter for meter in case.farm.meters.values() if "ph" in meter.tolerance]
    return ("bottle", "weak", "meter", "stuck") if len(meters) == 1 else ("bottle", "weak")


def _odds(kept: FaultsKept, code: str) -> float:
    return kept.weights[code] / max(1.0 - math.fsum(kept.weights.values()), _LEAST_SOUND)


def _relaxed(hypothesis: Hypothesis, odds: float, days: float) -> float:
    if hypothesis.sort == "stuck" and days * 24.0 > NEXT_DAY_H:
        return hypothesis.prior
    return hypothesis.prior + (odds - hypothesis.prior) * math.exp(-days / _REMEMBERED_DAYS[hypothesis.sort])
