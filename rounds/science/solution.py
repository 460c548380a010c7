"""What is dissolved in a reservoir, a water or a concentrate, and how such liquids add up.

Totals are kept in mmol/L, whatever form the substance takes: `po4` is all phosphate, `carbonate` all dissolved
inorganic carbon, `nh4` ammonium and ammonia together. Hydrogen ions are not kept: they follow from the charges, so
that nitric acid is simply nitrate that came without a cation, and potassium hydroxide potassium without an anion.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields

from rounds.errors import BadInput

CHARGES: Mapping[str, int] = {
    "no3": -1, "nh4": 1, "po4": -1, "so4": -2, "cl": -1, "k": 1, "ca": 2, "mg": 2, "na": 1,
    "carbonate": 0, "citrate": 0, "inert_meq_l": 1,
}  # fmt: skip
"""Charge each total counts with in the alkalinity: that of H2PO4-, NH4+, CO2 and H3Cit, the forms at the end point."""

LARGEST_MMOL_L = 20_000.0
"""More than the most soluble salt or acid on the shelf brings: beyond it a decimal point has slipped."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Solution:
    """Totals of everything dissolved that matters for pH and conductivity. [mmol/L]

    Parameters
    ----------
    no3, nh4, po4, so4, cl, k, ca, mg, na : float
        Totals of the ions, in whatever form. [mmol/L]
    carbonate : float
        Dissolved inorganic carbon: CO2, HCO3, CO3 and their pairs. [mmol/L]
    citrate : float
        Total citrate, from citric acid. [mmol/L]
    inert_meq_l : float
        Net charge of everything else (iron chelate, traces, silicate, what an analysis missed), positive for
        cations; counted as monovalent. [meq/L]

    Raises
    ------
    BadInput
        Where a total is negative, absurd, infinite or not a number.

    Examples
    --------
    >>> Solution(ca=2.0, no3=4.0).alkalinity_meq_l
    0.0
    """

    no3: float = 0.0
    nh4: float = 0.0
    po4: float = 0.0
    so4: float = 0.0
    cl: float = 0.0
    k: float = 0.0
    ca: float = 0.0
    mg: float = 0.0
    na: float = 0.0
    carbonate: float = 0.0
    citrate: float = 0.0
    inert_meq_l: float = 0.0

    def __post_init__(self) -> None:
        for name in TOTALS:
            value = getattr(self, name)
            if not 0.0 <= value <= LARGEST_MMOL_L:
                raise _bad_total(name, value)
        if not -LARGEST_MMOL_L <= self.inert_meq_l <= LARGEST_MMOL_L:
            raise _bad_total("inert_meq_l", self.inert_meq_l)

    @property
    def alkalinity_meq_l(self) -> float:
        """Acid it takes to the end point where only CO2, H2PO4- and NH4+ are left; negative: free acid. [meq/L]

        A sum of conserved totals, hence itself conserved: it mixes by volume and does not change as CO2 leaves.
        """
        return math.fsum(charge * getattr(self, name) for name, charge in CHARGES.items())

    def scaled(self, factor: float) -> Solution:
        """Every total times `factor`: half strength is 0.5. [-]"""
        if not 0.0 <= factor < math.inf:
            raise BadInput(f"A solution cannot be scaled by {factor}.", "Give a number of 0 or more.")
        return Solution(**{name: getattr(self, name) * factor for name in CHARGES})

    def plus(self, other: Solution) -> Solution:
        """Totals of both in the same litre (not a mixture of two volumes: that is `mix`)."""
        return Solution(**{name: getattr(self, name) + getattr(other, name) for name in CHARGES})


TOTALS: tuple[str, ...] = tuple(f.name for f in fields(Solution) if f.name != "inert_meq_l")


def mix(parts: Iterable[tuple[Solution, float]]) -> Solution:
    """One liquid out of several.

    Parameters
    ----------
    parts : iterable of (Solution, float)
        Each liquid with its volume. [L]

    Returns
    -------
    Solution
        The mixture; volumes are taken to add up.

    Raises
    ------
    BadInput
        Where a volume is negative or not a number, or all volumes are 0.

    Examples
    --------
    >>> mix([(Solution(k=2.0, no3=2.0), 30.0), (Solution(), 10.0)]).k
    1.5
    """
    pairs = [(solution, _volume(volume_l)) for solution, volume_l in parts]
    whole_l = math.fsum(volume_l for _, volume_l in pairs)
    if not whole_l > 0.0:
        raise BadInput("There is nothing to mix: the volumes add up to 0 L.", "Give at least one volume above 0 L.")
    return Solution(**{name: math.fsum(getattr(s, name) * v for s, v in pairs) / whole_l for name in CHARGES})


def _volume(volume_l: float) -> float:
    if not 0.0 <= volume_l < math.inf:
        raise BadInput(f"A volume of {volume_l} L cannot be mixed.", "Give litres, 0 or more.")
    return volume_l


def _bad_total(name: str, value: float) -> BadInput:
    unit = "meq/L" if name == "inert_meq_l" else "mmol/L"
    least = -LARGEST_MMOL_L if name == "inert_meq_l" else 0.0
    return BadInput(f"{name} of {value} {unit} is not possible.", f"Expected {least:g} to {LARGEST_MMOL_L:g} {unit}.")
