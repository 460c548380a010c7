"""Each reservoir learns on top of what all have shown: the habits of the others as the start for this one."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from rounds.belief import state as b
from rounds.belief.gaussian import Gaussian, independent
from rounds.belief.stored import BELIEVABLE, gaussian_of
from rounds.book.entries import entries_of, only
from rounds.book.entry import Entry, RecordLike
from rounds.book.offered import Offer

OWN_SHARE = 0.6
"""How much of the spread between farms is one between reservoirs of the same farm: practice. [-]"""
_FEWEST_CLOSED = 3
"""A reservoir with fewer closed corrections has shown nothing yet."""
_HABITS = 4


def pooled_habits(records: Iterable[RecordLike | Entry], reservoir_id: str, aerated: bool) -> Gaussian:
    """The four habits to begin with, from the newest belief of every other reservoir.

    Parameters
    ----------
    records : iterable of record or entry
        Oldest first; corrections of other reservoirs among them, where at hand.
    """
    start = b.habits(aerated)
    others = _newest_beliefs(only(Offer, entries_of(records)), reservoir_id)
    means, sds = [], []
    for i in range(_HABITS):
        spread = start.covariance[i][i]
        own = OWN_SHARE * spread
        weights = [1.0 / (spread - own)]
        values = [start.mean[i]]
        for mean, variance in (other[i] for other in others):
            weights.append(1.0 / (variance + own))
            values.append(mean)
        whole = sum(weights)
        means.append(sum(w * v for w, v in zip(weights, values, strict=True)) / whole)
        sds.append((own + 1.0 / whole) ** 0.5)
    return independent(means, sds)


def _newest_beliefs(offers: Iterable[Offer], reservoir_id: str) -> list[list[tuple[float, float]]]:
    newest = {offer.station: offer.belief for offer in offers if offer.station != reservoir_id}
    found = (_habits_in(kept) for kept in newest.values())
    return [habits for habits in found if habits is not None]


def _habits_in(kept: Mapping[str, Any]) -> list[tuple[float, float]] | None:
    """Mean and variance of the four habits in a stored belief; None where it has shown nothing yet."""
    if not kept.get("state") or int(kept.get("closed", 0)) < _FEWEST_CLOSED:
        return None
    state = gaussian_of(kept["state"], BELIEVABLE)
    if state is None:
        return None
    return [(state.mean[i], state.covariance[i][i]) for i in range(b.RESTING, b.PLANTS + 1)]
