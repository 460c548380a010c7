"""From a laboratory's sheet to a water whose charges balance, with the imbalance told."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

from rounds.errors import BadInput, OutOfRange
from rounds.science.ph_fit import carbonate_for
from rounds.science.solution import Solution


@dataclass(frozen=True, slots=True, kw_only=True)
class AnalysedWater:
    """A water analysis made consistent, and by how much it was not."""

    solution: Solution
    """Ions as analysed, carbonate from alkalinity and pH, the rest closed on `inert_meq_l`."""
    imbalance_meq_l: float
    """Cations less anions as analysed; above 0: anions are missing. [meq/L]"""
    imbalance_percent: float
    """The same in percent of half the sum of all charges; laboratories accept about 5. [%]"""


def water_from_analysis(
    ions: Solution, alkalinity_meq_l: float, ph: float, temperature_c: float = 20.0
) -> AnalysedWater:
    """From a laboratory's sheet (ions, alkalinity, pH) to a solution that has exactly this alkalinity and pH.

    Parameters
    ----------
    ions : Solution
        What was analysed; carbonate and inert charge must be 0 in it. [mmol/L]
    alkalinity_meq_l : float
        Total alkalinity, 0-20. [meq/L]
    ph : float
        pH, 4-9.5. [-]
    temperature_c : float
        Temperature of the pH reading, 0-50. [degC]

    Raises
    ------
    BadInput
        Where alkalinity or pH is outside the range, or carbonate or an inert charge was given already.

    Examples
    --------
    >>> water = water_from_analysis(Solution(ca=2.0, cl=1.0), 3.2, 7.4)
    >>> round(water.imbalance_meq_l, 1), round(water.solution.alkalinity_meq_l, 1)
    (-0.2, 3.2)
    """
    _check_analysis(ions, alkalinity_meq_l, ph)
    imbalance = ions.alkalinity_meq_l - alkalinity_meq_l
    closed = dataclasses.replace(ions, inert_meq_l=-imbalance)
    carbonate = carbonate_for(closed, ph, temperature_c) or 0.0
    solution = dataclasses.replace(closed, carbonate=carbonate)
    return AnalysedWater(
        solution=solution,
        imbalance_meq_l=imbalance,
        imbalance_percent=100.0 * imbalance / max(_half_charges(ions, alkalinity_meq_l), 1e-9),
    )


def carbonate_from_alkalinity(alkalinity_meq_l: float, ph: float, temperature_c: float = 20.0) -> float:
    """Dissolved inorganic carbon of a plain water of known alkalinity and pH, its cation taken as sodium. [mmol/L]

    Examples
    --------
    >>> round(carbonate_from_alkalinity(2.0, 7.5, 25.0), 2)
    2.13
    """
    plain = Solution(na=max(alkalinity_meq_l, 0.0))
    return water_from_analysis(plain, alkalinity_meq_l, ph, temperature_c).solution.carbonate


def _check_analysis(ions: Solution, alkalinity_meq_l: float, ph: float) -> None:
    if ions.carbonate or ions.inert_meq_l:
        raise BadInput(
            "The analysis holds carbonate beside the alkalinity.",
            "Give the alkalinity alone: carbonate follows from it.",
        )
    if not 0.0 <= alkalinity_meq_l <= 20.0:
        raise OutOfRange(
            f"An alkalinity of {alkalinity_meq_l} meq/L is not believable.",
            "Expected 0 to 20 meq/L (0 to 1000 mg/L as CaCO3).",
        )
    if not 4.0 <= ph <= 9.5:
        raise OutOfRange(f"pH {ph} is not that of a water to grow with.", "Expected 4 to 9.5.")


def _half_charges(ions: Solution, alkalinity_meq_l: float) -> float:
    cations = 2.0 * (ions.ca + ions.mg) + ions.k + ions.na + ions.nh4
    anions = ions.no3 + ions.cl + 2.0 * ions.so4 + ions.po4 + alkalinity_meq_l
    return (cations + anions) / 2.0
