"""Organic liquids, and bottles that hold the pH by themselves: what their EC does not tell, and how long acid waits."""

from __future__ import annotations

from datetime import timedelta

from rounds.advice.case import Case
from rounds.book.entries import Dose, only
from rounds.book.offer import Refusal, refused
from rounds.farm.shelf import Concentrate, Product

ACID_WAITS = timedelta(hours=24)
"""Before that neither has come to rest: practice."""


def _is_slow(product: Product | None) -> bool:
    label = product.label if isinstance(product, Concentrate) else None
    return label is not None and (label.organic or label.buffered)


def feed_not_by_ec(case: Case) -> Refusal | None:
    """Why no amount is worked out by EC, where a part of the feed is organic or buffered."""
    names = tuple(part.name for part in case.feed.products if _is_slow(part))
    return refused("feed-not-by-ec", names=names) if names else None


def acid_waits(case: Case) -> Refusal | None:
    """Neither acid nor base for a day after such a bottle was poured here."""
    slow = [
        dose for dose in only(Dose, case.here)
        if case.now - ACID_WAITS < dose.measured_at <= case.now and _is_slow(case.farm.shelf.get(dose.item))
    ]  # fmt: skip
    if not slow:
        return None
    last = slow[-1]
    hours = (last.measured_at + ACID_WAITS - case.now).total_seconds() / 3600.0
    return refused("acid-waits-for-bottle", name=case.farm.shelf[last.item].name, hours=hours)
