"""Would this mixture throw down? Saturation of gypsum, calcium carbonate and calcium phosphate."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from rounds.errors import OutOfRange
from rounds.science.constants import Terms, log_k
from rounds.science.solution import Solution
from rounds.science.speciation import Speciation, ph_closed, speciate

STRONGEST_MMOL_L = 1000.0
"""Ionic strength up to which the indices can be believed. [mmol/L]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mineral:
    """A solid that can form, as the product of the activities of its ions."""

    name: str
    ions: Mapping[str, int]
    log_product: Terms
    falls_from: float
    """Index from which it is seen to fall out in hours: some supersaturation is carried for days."""


MINERALS: tuple[Mineral, ...] = (
    Mineral(name="gypsum", ions={"Ca+2": 1, "SO4-2": 1}, log_product=(93.7, 5.99e-3, -4.0e3, -35.019, 0.0, 0.0),
            falls_from=0.1),
    Mineral(name="calcite", ions={"Ca+2": 1, "CO3-2": 1}, log_product=(17.118, -0.046528, -3496.0, 0.0, 0.0, 0.0),
            falls_from=0.8),
    Mineral(name="brushite", ions={"Ca+2": 1, "H+": 1, "PO4-3": 1},
            log_product=(-18.995 + 23000.0 / (2.302585 * 8.314463 * 298.15), 0.0, -23000.0 / (2.302585 * 8.314463),
                         0.0, 0.0, 0.0), falls_from=0.3),
)  # fmt: skip
"""Gypsum and calcite: USGS PHREEQC `Amm.dat` (Appelo 2015; Ellis 1959, Plummer and Busenberg 1982). Brushite,
CaHPO4.2H2O, the calcium phosphate that forms first below pH 7: NIST 46 as in MINTEQ version 4. `falls_from`: practice.
"""

WORDS: Mapping[str, str] = {"gypsum": "gypsum", "calcite": "lime (calcium carbonate)", "brushite": "calcium phosphate"}


def saturation_indices(solution: Solution, temperature_c: float, ph: float | None = None) -> dict[str, float]:
    """Saturation index (log10 of ion product over solubility product) of gypsum, calcite and brushite.

    Parameters
    ----------
    solution : Solution
        Totals, up to an ionic strength of 1 mol/L. [mmol/L]
    temperature_c : float
        Temperature, 0-50. [degC]
    ph : float, optional
        pH; the solution's own where left out. [-]

    Returns
    -------
    dict of str to float
        Index by mineral; 0 is saturated, above 0 it may fall out; minus infinity where an ion is missing. [-]

    Raises
    ------
    OutOfRange
        Where the solution is stronger than that: it is a concentrate, and the activity law does not hold.

    Examples
    --------
    >>> saturation_indices(Solution(ca=20.0, so4=20.0), 25.0)["gypsum"] > 0
    True
    """
    found = speciate(solution, ph_closed(solution, temperature_c) if ph is None else ph, temperature_c)
    if not found.ionic_strength_mmol_l <= STRONGEST_MMOL_L:
        raise OutOfRange(
            f"An ionic strength of {found.ionic_strength_mmol_l / 1000.0:.1f} mol/L is beyond the activity law.",
            "Ask about the mixture as it will be diluted.",
        )
    return {mineral.name: _index(mineral, found) for mineral in MINERALS}


def would_throw_down(solution: Solution, temperature_c: float, ph: float | None = None) -> list[str]:
    """Sentences about what would fall out of a mixture; empty where nothing would. Concentrates are asked diluted.

    Examples
    --------
    >>> would_throw_down(Solution(k=6.0, no3=6.0), 20.0)
    []
    """
    indices = saturation_indices(_within_the_law(solution), temperature_c, ph)
    return [
        f"This mixture would throw down {WORDS[m.name]}: {10.0 ** indices[m.name]:.1f} times saturated."
        for m in MINERALS
        if indices[m.name] > m.falls_from
    ]


def _index(mineral: Mineral, found: Speciation) -> float:
    product = sum(n * found.log_activity.get(ion, -math.inf) for ion, n in mineral.ions.items())
    return product - log_k(mineral.log_product, found.temperature_c)


def _within_the_law(solution: Solution) -> Solution:
    """A concentrate thinned to what the law covers: what falls out thinned falls out all the more undiluted."""
    s = solution
    rough = (s.no3 + s.cl + s.k + s.na + s.nh4 + s.po4 + abs(s.inert_meq_l)) / 2.0 + 2.0 * (s.ca + s.mg + s.so4)
    return solution if rough <= STRONGEST_MMOL_L * 0.9 else solution.scaled(STRONGEST_MMOL_L * 0.9 / rough)
