"""From what the farm's files say to what is dissolved: waters, blends, concentrates, acids and bases."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from functools import lru_cache

from rounds.book.error_texts import in_words
from rounds.book.titrated import titrated_doubt
from rounds.errors import BadInput, NotFound, Refused, RoundsError
from rounds.farm.farm import Farm, FaultyFiles
from rounds.farm.feeds import Feed
from rounds.farm.model import Water
from rounds.farm.shelf import Acid, Base, Concentrate
from rounds.science.acids_bases import Agent, agent_by_molarity, agent_by_percent
from rounds.science.conductivity import ec25_ms_cm
from rounds.science.salts import solution_of_salts
from rounds.science.solution import TOTALS, Solution, mix
from rounds.science.speciation import AnalysedWater, water_from_analysis

ALKALINITY_DOUBT = 0.3
"""Spread of the logarithm of a water's alkalinity where the analysis has no date or is old. [-]"""
ALKALINITY_DOUBT_FRESH = 0.15
FRESH_DAYS = 400
HARD_MEQ_L = 2.0
"""From this alkalinity a water is called hard here: practice. [meq/L]"""
_WORST_IMBALANCE_PERCENT = 5.0
_MEQ_CACO3_MG, _HCO3_MG, _N_MG, _NO3_MG = 50.04, 61.02, 14.007, 62.005
_MG_MMOL = {"ca": 40.078, "mg": 24.305, "na": 22.990, "k": 39.098, "cl": 35.45, "so4": 96.06}
_DEEPEST_BLEND = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownWater:
    """A water at hand as the chemistry sees it."""

    id: str
    name: str
    solution: Solution
    alkalinity_meq_l: float
    doubt: float
    """Spread of the logarithm of the alkalinity. [-]"""
    ec_ms_cm: float
    imbalance_percent: float = 0.0
    shares: Mapping[str, float] | None = None
    """For a blend, what it is mixed of."""

    @property
    def is_hard(self) -> bool:
        """Whether phosphate would fall out where it meets a fresh feed unacidified."""
        return self.alkalinity_meq_l >= HARD_MEQ_L


def alkalinity_of(water: Water) -> float:
    """The alkalinity of an analysis, whichever of its three forms was given. [meq/L]"""
    if water.alkalinity_meq_l is not None:
        return water.alkalinity_meq_l
    if water.alkalinity_mg_l_caco3 is not None:
        return water.alkalinity_mg_l_caco3 / _MEQ_CACO3_MG
    return (water.hco3_mg_l or 0.0) / _HCO3_MG


def water_known(farm: Farm, water_id: str, today: date, depth: int = 0) -> KnownWater:
    """A water of the farm, or a blend worked out from its parts.

    Raises
    ------
    NotFound
        Where there is no such water.
    BadInput
        Where the analysis cannot be, or a blend is mixed of itself.
    """
    water = farm.waters.get(water_id)
    if water is None:
        raise in_words(NotFound, "no-water", water=water_id[:40])
    if depth > _DEEPEST_BLEND:
        raise in_words(BadInput, "blend-of-itself", water=water.name)
    if not water.blend:
        known = _analysed(water, today)
        doubt = titrated_doubt(farm, known.id, known.alkalinity_meq_l, today)
        return known if doubt is None else replace(known, doubt=doubt)
    parts = [(water_known(farm, part, today, depth + 1), share) for part, share in water.blend.items()]
    return blended(parts, id=water.id, name=water.name)


def blended(parts: list[tuple[KnownWater, float]], *, id: str, name: str) -> KnownWater:
    """A blend of known waters by shares."""
    whole = sum(share for _, share in parts)
    alkalinity = sum(w.alkalinity_meq_l * s for w, s in parts) / whole
    doubt = sum(w.alkalinity_meq_l * s * w.doubt for w, s in parts) / max(alkalinity * whole, 1e-9)
    return KnownWater(
        id=id,
        name=name,
        solution=mix([(w.solution, s) for w, s in parts]),
        alkalinity_meq_l=alkalinity,
        doubt=doubt if alkalinity > 0.0 else ALKALINITY_DOUBT,
        ec_ms_cm=sum(w.ec_ms_cm * s for w, s in parts) / whole,
        imbalance_percent=max((w.imbalance_percent for w, _ in parts), key=abs),
        shares={w.id: s / whole for w, s in parts},
    )


def _analysed(water: Water, today: date) -> KnownWater:
    alkalinity = alkalinity_of(water)
    found = _made_consistent(_ions(water), alkalinity, min(max(water.ph, 4.0), 9.5))
    fresh = water.analysed_on is not None and (today - water.analysed_on).days <= FRESH_DAYS
    doubt = ALKALINITY_DOUBT_FRESH if fresh else ALKALINITY_DOUBT
    unbalanced = abs(found.imbalance_percent) > _WORST_IMBALANCE_PERCENT and _has_ions(water)
    return KnownWater(
        id=water.id,
        name=water.name,
        solution=found.solution,
        alkalinity_meq_l=alkalinity,
        doubt=doubt * 1.5 if unbalanced else doubt,
        ec_ms_cm=water.ec_ms_cm,
        imbalance_percent=found.imbalance_percent if _has_ions(water) else 0.0,
    )


@lru_cache(maxsize=64)
def _made_consistent(ions: Solution, alkalinity_meq_l: float, ph: float) -> AnalysedWater:
    """An analysis made consistent; a farm has few waters and asks for them at every correction."""
    return water_from_analysis(ions, alkalinity_meq_l, ph)


def _ions(water: Water) -> Solution:
    nitrate = 0.0
    if water.no3_mg_l is not None:
        nitrate = water.no3_mg_l / _NO3_MG
    elif water.no3_n_mg_l is not None:
        nitrate = water.no3_n_mg_l / _N_MG
    found = {ion: getattr(water, f"{ion}_mg_l") / mass for ion, mass in _MG_MMOL.items()}
    return Solution(no3=nitrate, **found)


def _has_ions(water: Water) -> bool:
    return (water.ca_mg_l + water.na_mg_l + water.mg_mg_l) > 0.0


def concentrate_solution(product: Concentrate) -> Solution:
    """What is dissolved in a litre of a concentrate. [mmol/L]

    Raises
    ------
    BadInput
        Where a salt is not known.
    """
    return solution_of_salts(product.salts_g_l)


def is_unknown(product: Concentrate) -> bool:
    """Whether nothing is known of what a concentrate brings: no salts are entered, or traces alone."""
    return not any(getattr(concentrate_solution(product), ion) for ion in TOTALS)


def unknown_feed(parts: Iterable[Concentrate]) -> Refused:
    """What is said where nothing is known of concentrates: no amount can be worked out, and what to enter."""
    return in_words(Refused, "salts-unknown", products=" and ".join(part.name for part in parts))


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownFeed:
    """A nutrient feed as the chemistry sees it: what each part brings to a litre at full strength."""

    feed: Feed
    a: Concentrate
    b: Concentrate
    of_a: Solution
    of_b: Solution

    @property
    def full(self) -> Solution:
        """What both parts bring to a litre at full strength. [mmol/L]"""
        return self.of_a.plus(self.of_b)

    @property
    def unknown(self) -> tuple[Concentrate, ...]:
        """Parts of which nothing is known: no amount can be worked out for them."""
        return tuple(part for part in (self.a, self.b) if is_unknown(part))


def feed_known(farm: Farm, feed: Feed) -> KnownFeed:
    """A feed whose concentrates are on the shelf.

    Raises
    ------
    FaultyFiles
        Where a concentrate is missing from the shelf, or shelf.toml cannot be read.
    BadInput
        Where a concentrate holds an unknown salt.
    """
    a, b = farm.shelf.get(feed.part_a), farm.shelf.get(feed.part_b)
    if not isinstance(a, Concentrate) or not isinstance(b, Concentrate):
        unread = next((each for each in farm.mistakes if each.unreadable and each.file == "shelf.toml"), None)
        if unread is not None:
            raise FaultyFiles(str(unread), "Put it right in shelf.toml, then try again.")
        raise FaultyFiles(
            f"The concentrates of the nutrient feed {feed.name} are not on the shelf.",
            "Enter both parts in shelf.toml with their salts.",
        )
    return KnownFeed(
        feed=feed, a=a, b=b,
        of_a=concentrate_solution(a).scaled(feed.a_ml_per_l / 1000.0),
        of_b=concentrate_solution(b).scaled(feed.b_ml_per_l / 1000.0),
    )  # fmt: skip


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
            return agent_by_percent(product.agent, product.percent, product.density_kg_l)
    except RoundsError as error:
        raise in_words(BadInput, "agent-odd", product=product.name, sentence=error.sentence, hint=error.hint) from error
    raise in_words(BadInput, "strength-unknown", product=product.name)


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
