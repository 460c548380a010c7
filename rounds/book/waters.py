"""Waters at hand as the chemistry sees them: what is dissolved, and how far the alkalinity is known."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from functools import lru_cache

from rounds.book.error_texts import in_words
from rounds.book.titrated import titrated_doubt
from rounds.errors import BadInput, NotFound
from rounds.farm.farm import Farm
from rounds.farm.model import Water
from rounds.science.solution import Solution, mix
from rounds.science.speciation import AnalysedWater, water_from_analysis
from rounds.science.water_told import USUAL_PH, believed_water

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
    by_strip: bool = False
    """Whether its alkalinity was read from a strip, whose lower pad counts for acid."""
    shares: Mapping[str, float] | None = None
    """For a blend, what it is mixed of."""

    @property
    def is_hard(self) -> bool:
        """Whether phosphate would fall out where it meets a fresh feed unacidified."""
        return self.alkalinity_meq_l >= HARD_MEQ_L


def alkalinity_of(water: Water) -> float:
    """The alkalinity of a water, whichever of its forms was given, or what is believed of it. [meq/L]"""
    if water.alkalinity_meq_l is not None:
        return water.alkalinity_meq_l
    if water.alkalinity_mg_l_caco3 is not None:
        return water.alkalinity_mg_l_caco3 / _MEQ_CACO3_MG
    if water.hco3_mg_l is not None:
        return water.hco3_mg_l / _HCO3_MG
    return believed_water(water.told()).alkalinity_meq_l


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
        known = _analysed(water, today) if water.is_analysed else _read(water)
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


def _read(water: Water) -> KnownWater:
    """A water by drops, strips and a pen: what is missing follows from its charges, with doubt."""
    believed = believed_water(water.told())
    ph = USUAL_PH if water.ph is None else min(max(water.ph, 4.0), 9.5)
    found = _made_consistent(believed.ions, believed.alkalinity_meq_l, ph)
    return KnownWater(
        id=water.id, name=water.name, solution=found.solution, alkalinity_meq_l=believed.alkalinity_meq_l,
        doubt=believed.doubt, ec_ms_cm=believed.ec_ms_cm,
        by_strip=water.alkalinity is not None and water.alkalinity.by == "strip",
    )  # fmt: skip


def _analysed(water: Water, today: date) -> KnownWater:
    alkalinity, ph = alkalinity_of(water), USUAL_PH if water.ph is None else water.ph
    found = _made_consistent(_ions(water), alkalinity, min(max(ph, 4.0), 9.5))
    fresh = water.analysed_on is not None and (today - water.analysed_on).days <= FRESH_DAYS
    doubt = ALKALINITY_DOUBT_FRESH if fresh else ALKALINITY_DOUBT
    unbalanced = abs(found.imbalance_percent) > _WORST_IMBALANCE_PERCENT and water.has_ions
    return KnownWater(
        id=water.id,
        name=water.name,
        solution=found.solution,
        alkalinity_meq_l=alkalinity,
        doubt=doubt * 1.5 if unbalanced else doubt,
        ec_ms_cm=believed_water(water.told()).ec_ms_cm if water.ec_ms_cm is None else water.ec_ms_cm,
        imbalance_percent=found.imbalance_percent if water.has_ions else 0.0,
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
