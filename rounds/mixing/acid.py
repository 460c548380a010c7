"""The acid that a tank or a change-out is made with: the first suitable bottle on the shelf."""

from __future__ import annotations

from collections.abc import Mapping

from rounds.book.composition import agent_of
from rounds.book.stock import millilitres_left
from rounds.errors import RoundsError
from rounds.farm.farm import Farm
from rounds.farm.shelf import Acid
from rounds.science.acids_bases import Agent

_BEST_FIRST = ("nitric", "sulfuric", "phosphoric", "hydrochloric")
"""Phosphoric acid adds phosphate to the recipe, hydrochloric acid chloride: they come last. Common practice."""


def acid_for(farm: Farm, stock: Mapping[str, float], *, stock_acid: bool = False) -> tuple[Acid, Agent] | None:
    """The working acid to take and its strength; None where none of known strength is left.

    Parameters
    ----------
    stock : mapping
        Amount of every product now, each in its unit of the shelf.
    stock_acid : bool
        Whether acid as bought may be taken, as for a change-out of a large reservoir.
    """
    found = []
    for product in farm.shelf.values():
        if not isinstance(product, Acid) or product.working == stock_acid:
            continue
        try:
            agent = agent_of(product)
        except RoundsError:
            continue
        if not agent.kind.not_for_recirculation and millilitres_left(farm, dict(stock), product.id) >= 1.0:
            found.append((product, agent))
    return min(found, key=lambda pair: _BEST_FIRST.index(pair[1].kind.name), default=None)


def why_not_dosed(farm: Farm) -> list[str]:
    """Why each working acid cannot be used: no strength was entered, or one that cannot be."""
    reasons = []
    for product in farm.shelf.values():
        if isinstance(product, Acid) and product.working:
            try:
                agent_of(product)
            except RoundsError as error:
                reasons.append(error.sentence)
    return reasons
