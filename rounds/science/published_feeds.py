"""Published full nutrient solutions: the range over which an untold composition is believed to lie.

One table, each row with where it is printed. "Read" rows were read in the named text; rows marked "memory" are
remembered and were not looked up. Totals in mmol/L at the strength they are printed for; phosphate is counted as one
charge here, where Japanese texts count it as three.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from rounds.science.salts import solution_of_salts
from rounds.science.solution import Solution

Mark = Literal["read", "memory"]
_HANDBOOK = "Plant Factory Handbook 1997"
_IKEDA = "H. Ikeda 1996, as printed by Takii Seed; " + _HANDBOOK
_SONNEVELD = "C. Sonneveld, recipes for recirculating feed"


@dataclass(frozen=True, slots=True, kw_only=True)
class PublishedFeed:
    """One published nutrient solution."""

    name: str
    solution: Solution
    """Totals at printed strength. [mmol/L]"""
    source: str
    mark: Mark


def _of_salts(name: str, grams_m3: tuple[float, float, float, float]) -> PublishedFeed:
    salts = ("potassium_nitrate", "calcium_nitrate_tetrahydrate", "magnesium_sulfate_heptahydrate",
             "ammonium_dihydrogen_phosphate")  # fmt: skip
    solution = solution_of_salts({salt: g / 1000.0 for salt, g in zip(salts, grams_m3, strict=True)})
    return PublishedFeed(name=name, solution=solution, source=_IKEDA, mark="read")


def _of_meq(name: str, *meq: float) -> PublishedFeed:
    """Of NO3, NH4, phosphate counted with three charges, K, Ca, Mg, S. [meq/L]"""
    no3, nh4, p, k, ca, mg, s = meq
    solution = Solution(no3=no3, nh4=nh4, po4=p / 3.0, k=k, ca=ca / 2.0, mg=mg / 2.0, so4=s / 2.0)
    return PublishedFeed(name=name, solution=solution, source=_HANDBOOK, mark="read")


def _of_mmol(name: str, source: str, *mmol: float, mark: Mark = "memory") -> PublishedFeed:
    """Of NO3, NH4, PO4, K, Ca, Mg, SO4. [mmol/L]"""
    totals = dict(zip(("no3", "nh4", "po4", "k", "ca", "mg", "so4"), mmol, strict=True))
    return PublishedFeed(name=name, solution=Solution(**totals), source=source, mark=mark)


PUBLISHED: tuple[PublishedFeed, ...] = (
    _of_salts("lettuce, Yamazaki", (404.0, 236.0, 123.0, 57.0)),
    _of_salts("tomato, Yamazaki", (404.0, 354.0, 246.0, 76.0)),
    _of_salts("pepper, Yamazaki", (606.0, 354.0, 185.0, 95.0)),
    _of_salts("cucumber, Yamazaki", (606.0, 826.0, 492.0, 114.0)),
    _of_meq("strawberry", 5.0, 0.5, 1.5, 3.0, 2.0, 1.0, 1.0),
    _of_meq("watercress", 4.5, 1.0, 3.0, 3.5, 1.0, 1.0, 1.0),
    _of_meq("turnip", 7.0, 0.5, 1.5, 5.0, 2.0, 1.0, 1.0),
    _of_meq("spinach", 12.0, 1.3, 4.0, 8.0, 4.0, 4.0, 4.0),
    _of_salts("all crops, Enshi", (808.0, 944.0, 492.0, 152.0)),
    _of_mmol("Hoagland and Arnon No. 1", "Hoagland & Arnon, Circular 347; D. R. Hershey 1997",
             15.0, 0.0, 1.0, 6.0, 5.0, 2.0, 2.0, mark="read"),
    _of_mmol("Hoagland and Arnon No. 2", "Hoagland & Arnon, Circular 347", 14.0, 1.0, 1.0, 6.0, 4.0, 2.0, 2.0),
    _of_mmol("Steiner", "A. A. Steiner 1984", 12.0, 0.0, 1.0, 7.0, 4.5, 2.0, 3.5),
    _of_mmol("Long Ashton, nitrate", "E. J. Hewitt 1966, its sodium counted as potassium",
             12.0, 0.0, 1.33, 5.33, 4.0, 1.5, 1.5),
    _of_mmol("lettuce in recirculation", _SONNEVELD, 19.0, 1.25, 2.0, 11.0, 4.5, 1.0, 1.125),
    _of_mmol("tomato in recirculation", _SONNEVELD, 10.75, 1.0, 1.25, 6.5, 2.75, 1.0, 1.5),
    _of_mmol("cucumber in recirculation", _SONNEVELD, 11.75, 1.0, 1.25, 6.5, 2.75, 1.0, 1.0),
    _of_mmol("strawberry on substrate", _SONNEVELD, 11.0, 1.0, 1.0, 5.25, 2.75, 1.125, 1.125),
    _of_mmol("sweet pepper on substrate", _SONNEVELD, 15.5, 1.25, 1.25, 6.5, 4.75, 1.5, 1.75),
)  # fmt: skip
"""Read: ten rows, their feeds as salts or charges printed in the sources named. Memory: the rest, so as they are
usually quoted; their charges balance within a twentieth."""
