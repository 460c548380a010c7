"""From what the farm's files say to what is dissolved: concentrates, feeds, acids and bases; for waters the door."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from rounds.book.error_texts import in_words
from rounds.book.labelled import Doubt, believed_of, doubt_of
from rounds.book.waters import HARD_MEQ_L, KnownWater, alkalinity_of, blended, water_known
from rounds.errors import BadInput, Refused, RoundsError
from rounds.farm.farm import Farm, FaultyFiles
from rounds.farm.feeds import Feed
from rounds.farm.shelf import Acid, Base, Concentrate
from rounds.science.acids_bases import Agent, agent_by_molarity, agent_by_percent
from rounds.science.conductivity import ec25_ms_cm
from rounds.science.densities import table_density_kg_l
from rounds.science.salts import solution_of_salts
from rounds.science.solution import TOTALS, Solution

_SHARE_STEPS = 3
__all__ = [
    "HARD_MEQ_L", "KnownFeed", "KnownWater", "agent_of", "alkalinity_of", "blended", "concentrate_solution",
    "density_of", "feed_known", "is_unknown", "mixed_feed", "share_at_ec", "strength_for_ec",
    "unknown_feed", "water_known",
]  # fmt: skip


def concentrate_solution(product: Concentrate) -> Solution:
    """What is dissolved in a litre of a concentrate. [mmol/L]

    By its salts, or the middle of what is believed of its label.

    Raises
    ------
    BadInput
        Where a salt is not known, or a label cannot be.
    """
    try:
        believed = believed_of(product)
    except RoundsError as error:
        raise in_words(BadInput, "agent-odd", product=product.name, sentence=error.sentence, hint=error.hint) from error
    return solution_of_salts(product.salts_g_l) if believed is None else believed.per_ml.scaled(1000.0)


def is_unknown(product: Concentrate) -> bool:
    """Whether nothing is known of what a concentrate brings: no label, and no salts or traces alone."""
    return not any(getattr(concentrate_solution(product), ion) for ion in TOTALS)


def unknown_feed(parts: Iterable[Concentrate]) -> Refused:
    """What is said where nothing is known of concentrates: no amount can be worked out, and what to enter."""
    return in_words(Refused, "salts-unknown", products=" and ".join(part.name for part in parts))


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownFeed:
    """A nutrient feed as the chemistry sees it: what each part brings to a litre at full strength."""

    feed: Feed
    products: tuple[Concentrate, ...]
    """The parts on the shelf, in the order of pouring."""
    brings: tuple[Solution, ...]
    """What each part brings to a litre at full strength. [mmol/L]"""

    @property
    def full(self) -> Solution:
        """What all parts bring to a litre at full strength. [mmol/L]"""
        whole = self.brings[0]
        for each in self.brings[1:]:
            whole = whole.plus(each)
        return whole

    @property
    def ids(self) -> tuple[str, ...]:
        """Ids of the parts, in the order of pouring."""
        return tuple(part.id for part in self.products)

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the parts, in the order of pouring."""
        return tuple(part.name for part in self.products)

    @property
    def ml_per_l(self) -> tuple[float, ...]:
        """What each part is poured at for full strength. [mL/L]"""
        return tuple(part.ml_per_l for part in self.feed.parts)

    @property
    def is_labelled(self) -> bool:
        """Whether a part was bought with a label, and not weighed from salts."""
        return any(part.label is not None for part in self.products)

    @property
    def doubts(self) -> tuple[Doubt, ...]:
        """How far each part is known, before anything was seen of it."""
        return tuple(doubt_of(part) for part in self.products)

    @property
    def phosphate_sd(self) -> float:
        """Spread of the logarithm of the feed's phosphate, beyond what a drum of salts is in doubt. [-]"""
        whole = self.full.po4
        sds = [each.po4 * doubt.phosphate_sd for each, doubt in zip(self.brings, self.doubts, strict=True)]
        return math.hypot(*sds) / whole if whole > 0.0 else 0.0

    @property
    def unknown(self) -> tuple[Concentrate, ...]:
        """Parts of which nothing is known: no amount can be worked out for them."""
        return tuple(part for part in self.products if is_unknown(part))


def feed_known(farm: Farm, feed: Feed) -> KnownFeed:
    """A feed whose concentrates are on the shelf.

    Raises
    ------
    FaultyFiles
        Where a concentrate is missing from the shelf, or shelf.toml cannot be read.
    BadInput
        Where a concentrate holds an unknown salt.
    """
    found = [farm.shelf.get(part.product) for part in feed.parts]
    products = tuple(product for product in found if isinstance(product, Concentrate))
    if len(products) < len(found):
        unread = next((each for each in farm.mistakes if each.unreadable and each.file == "shelf.toml"), None)
        if unread is not None:
            raise FaultyFiles(str(unread), "Put it right in shelf.toml, then try again.")
        raise FaultyFiles(
            f"The concentrates of the nutrient feed {feed.name} are not on the shelf.",
            "Enter all its parts in shelf.toml, with their salts or labels.",
        )
    return KnownFeed(
        feed=feed, products=products,
        brings=tuple(
            concentrate_solution(product).scaled(part.ml_per_l / 1000.0)
            for product, part in zip(products, feed.parts, strict=True)
        ),
    )  # fmt: skip


def density_of(product: Acid | Base) -> float | None:
    """Density of a bottle: from its label, else that of its strength by the handbook; None without either. [kg/L]

    Raises
    ------
    OutOfRange
        Where its percent is beyond the handbook's table.
    """
    if product.density_kg_l is not None or product.percent is None:
        return product.density_kg_l
    return table_density_kg_l(product.agent, product.percent)


def agent_of(product: Acid | Base) -> Agent:
    """An acid or base on the shelf with its strength in mol/L.

    Raises
    ------
    BadInput
        Where no strength was entered, or it cannot be: then there is no dose.
    """
    try:
        if product.molarity_mol_l is not None:
            return agent_by_molarity(product.agent, product.molarity_mol_l)
        if product.percent is not None:
            return agent_by_percent(product.agent, product.percent, density_of(product))
    except RoundsError as error:
        raise in_words(BadInput, "agent-odd", product=product.name, sentence=error.sentence, hint=error.hint) from error
    raise in_words(BadInput, "strength-unknown", product=product.name)


def share_at_ec(solution: Solution, ec_ms_cm: float, *, exact: bool) -> float:
    """The share of a solution at which it shows a conductivity, 0.05 to 5; without `exact` straight by the ratio. [-]

    A thin solution conducts better for what is in it, so that the ratio alone leaves it up to a tenth too strong.
    """
    share = 1.0
    for _ in range(_SHARE_STEPS if exact else 1):
        share *= ec_ms_cm / max(ec25_ms_cm(solution.scaled(share), 6.0), 1e-6)
        share = min(max(share, 0.05), 5.0)
    return share


def mixed_feed(water: Solution, feed: KnownFeed, strength: float) -> Solution:
    """A water with a nutrient feed in it, at a share of full strength. [mmol/L]"""
    return water.plus(feed.full.scaled(strength))


def strength_for_ec(water: Solution, feed: KnownFeed, ec_ms_cm: float, ph: float = 6.0) -> float:
    """The share of full strength at which a water with feed in it shows a conductivity; 0 where the water has more.

    Two secant steps: conductivity is nearly straight in strength.
    """
    low_ec = ec25_ms_cm(water, ph)
    missing = max(ec_ms_cm - low_ec, 0.0)
    full_ec = ec25_ms_cm(mixed_feed(water, feed, 1.0), ph)
    strength = missing / max(full_ec - low_ec, 1e-6)
    here = ec25_ms_cm(mixed_feed(water, feed, min(strength, 10.0)), ph)
    return min(10.0, strength * missing / max(here - low_ec, 1e-6))
