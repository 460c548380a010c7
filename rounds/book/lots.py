"""Pours of A or B that wait for their other half, dose by dose."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Literal

import msgspec

from rounds.book.amounts import ML_PER_UNIT, SMALLEST_ML
from rounds.book.entries import Dose
from rounds.book.offered import Offer
from rounds.farm.farm import Farm
from rounds.farm.feeds import Feed
from rounds.farm.shelf import Concentrate
from rounds.farm.stations import Reservoir

ENDED_FROM = 0.5
"""From this share of what is owed on, the other half has been poured: as near as a step's amount must be. [-]"""

Part = Literal["A", "B"]
Action = Literal["concentrate_a", "concentrate_b"]
OTHER: dict[Part, Part] = {"A": "B", "B": "A"}
_PARTS: dict[str, Part] = {"concentrate_a": "A", "concentrate_b": "B"}
ACTIONS: dict[Part, Action] = {"A": "concentrate_a", "B": "concentrate_b"}
Advised = Mapping[str, Mapping[str, float]]
"""By the id of a correction, what it advised of each concentrate. [mL]"""


class Lot(msgspec.Struct, kw_only=True):
    """One pour that waits for its other half."""

    dose: str
    """Id of its record."""
    at: datetime
    product: str
    correction: str | None
    part: Part
    owed_ml: float
    paid_ml: float = 0.0

    @property
    def left_ml(self) -> float:
        return max(0.0, self.owed_ml - self.paid_ml)

    @property
    def is_ended(self) -> bool:
        return self.paid_ml >= ENDED_FROM * self.owed_ml or self.left_ml < SMALLEST_ML


def lots_after(farm: Farm, reservoir: Reservoir, lots: list[Lot], dose: Dose, advised: Advised) -> list[Lot]:
    """What waits for its other half after one more dose.

    Parameters
    ----------
    lots : list of Lot
        What waited before.
    advised : mapping
        What each correction advised of each concentrate, by its id. [mL]
    """
    ml, part = dose.ml, _part_of(farm, dose)
    if ml <= 0.0:
        return lots
    if dose.renews:
        return []
    return (
        lots
        if part is None or _is_alone(farm, reservoir, dose)
        else _poured(lots, dose, part, ml, _per_ml(farm, reservoir, advised, dose, part))
    )


def _poured(lots: list[Lot], dose: Dose, part: Part, ml: float, per_ml: float) -> list[Lot]:
    """The lots after one more pour: it ends those of the other half, its own correction's first, or waits itself.

    What is left over once they are ended is too much of one half, not half a pair.
    """
    waiting = [lot for lot in lots if lot.part != part]
    if not waiting:
        lot = Lot(
            dose=dose.id, at=dose.measured_at, product=dose.item, correction=dose.correction_id, part=part,
            owed_ml=ml * per_ml,
        )  # fmt: skip
        return lots if lot.is_ended else [*lots, lot]
    own = dose.correction_id
    for lot in sorted(waiting, key=lambda lot: own is None or lot.correction != own):
        paid = min(ml, lot.left_ml)
        lot.paid_ml += paid
        ml -= paid
    return [lot for lot in lots if not lot.is_ended]


def _per_ml(farm: Farm, reservoir: Reservoir, advised: Advised, dose: Dose, part: Part) -> float:
    """How much of the other half belongs to 1 mL: as its correction advised them, else as the feed has them. [mL]"""
    of_correction = advised.get(dose.correction_id or "", {})
    own, other = of_correction.get(ACTIONS[part], 0.0), of_correction.get(ACTIONS[OTHER[part]], 0.0)
    if own > 0.0 and other > 0.0:
        return other / own
    feed = feed_of(farm, reservoir, dose.item)
    if feed is None or feed.b_ml_per_l is None or not min(feed.a_ml_per_l, feed.b_ml_per_l) > 0.0:
        return 1.0
    b_per_a = feed.b_ml_per_l / feed.a_ml_per_l
    return b_per_a if part == "A" else 1.0 / b_per_a


def advised_ml(offer: Offer) -> dict[str, float]:
    """What a correction advised of each concentrate. [mL]"""
    found: dict[str, float] = {}
    for step in offer.steps:
        if step.action in _PARTS:
            found[step.action] = found.get(step.action, 0.0) + step.amount * ML_PER_UNIT.get(step.unit, 1.0)
    return found


def feed_of(farm: Farm, reservoir: Reservoir, product: str) -> Feed | None:
    """The feed that a poured concentrate belongs to: the reservoir's own, or the one it had before."""
    own = farm.feeds.get(reservoir.feed)
    feeds = [*([own] if own is not None else []), *farm.feeds.values()]
    return next((feed for feed in feeds if product in feed.products), own)


def _is_alone(farm: Farm, reservoir: Reservoir, dose: Dose) -> bool:
    """Whether a poured part is the only one of its feed, which has no other half."""
    feed = feed_of(farm, reservoir, dose.item)
    return feed is not None and feed.part_b is None


def _part_of(farm: Farm, dose: Dose) -> Part | None:
    """A or B; what else a feed has is no half of a pair."""
    if dose.feeds:
        return _PARTS.get(dose.action)
    product = farm.shelf.get(dose.item)
    if dose.action or not isinstance(product, Concentrate):
        return None
    return {"A": "A", "B": "B"}.get(product.part)  # type: ignore[return-value]
