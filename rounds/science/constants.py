"""The equilibria of a nutrient solution: which species there are, and their formation constants by temperature.

Every species is written as formed from at most one cation, one anion (PO4-3, SO4-2, CO3-2, Cit-3) and hydrogen ions.

References
----------
Unless said otherwise the constants, enthalpies and ion sizes are those of `phreeqc.dat` / `Amm.dat`, the databases of
PHREEQC version 3 (D. L. Parkhurst, C. A. J. Appelo, USGS Techniques and Methods 6-A43, 2013; public domain), which for
carbonates follow L. N. Plummer, E. Busenberg, Geochim. Cosmochim. Acta 46 (1982) 1011. Citrate: NIST 46 as in
MINTEQ version 4.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from rounds.science.activity import KELVIN, checked_temperature, debye_hueckel, log_gamma_davies

Terms = tuple[float, float, float, float, float, float]
"""log K = t0 + t1 T + t2/T + t3 log10 T + t4/T² + t5 T², with T in kelvin."""

DAVIES = -1.0
"""Stands for the ion size where the Davies law is used instead."""

CATIONS = ("ca", "mg", "k", "na", "nh4")
ANIONS = ("po4", "so4", "carbonate", "citrate")


@dataclass(frozen=True, slots=True)
class Species:
    """One dissolved form: its parts, its charge, and what its formation and activity depend on."""

    name: str
    charge: int
    protons: int = 0
    cation: str | None = None
    anion: str | None = None
    terms: Terms = (0.0,) * 6
    size_angstrom: float = DAVIES
    slope: float = 0.0
    """The b of log gamma = -A z² sqrt(I) / (1 + B a sqrt(I)) + b I."""


def _terms(*values: float) -> Terms:
    t0, t1, t2, t3, t4, t5 = (*values, 0.0, 0.0, 0.0, 0.0, 0.0)[:6]
    return t0, t1, t2, t3, t4, t5


def _at_25(log_k: float, enthalpy_kj: float = 0.0) -> Terms:
    slope = enthalpy_kj * 1000.0 / (math.log(10.0) * 8.314462618)
    return _terms(log_k + slope / 298.15, 0.0, -slope)


def _sum(one: Terms, other: Terms) -> Terms:
    return _terms(*(a + b for a, b in zip(one, other, strict=True)))


_KCAL = 4.184
_HCO3 = _terms(107.8871, 0.03252849, -5151.79, -38.92561, 563713.9)
_HPO4 = _at_25(12.346, -3.53 * _KCAL)
_H2PO4 = _at_25(19.553, -4.52 * _KCAL)

MASTERS: tuple[Species, ...] = (
    Species("Ca+2", 2, size_angstrom=5.0, slope=0.165),
    Species("Mg+2", 2, size_angstrom=5.5, slope=0.2),
    Species("K+", 1, size_angstrom=3.5, slope=0.015),
    Species("Na+", 1, size_angstrom=4.08, slope=0.082),
    Species("NH4+", 1, size_angstrom=2.5),
    Species("PO4-3", -3, size_angstrom=4.0),
    Species("SO4-2", -2, size_angstrom=5.0, slope=-0.04),
    Species("CO3-2", -2, size_angstrom=5.4),
    Species("Cit-3", -3),
)
"""Free ions, in the order of CATIONS and then ANIONS."""

HYDROGEN = Species("H+", 1, size_angstrom=9.0)

FORMED: tuple[Species, ...] = (
    Species("OH-", -1, -1, terms=_terms(293.29227, 0.1360833, -10576.913, -123.73158, 0.0, -6.996455e-5),
            size_angstrom=3.5),
    Species("NH3", 0, -1, "nh4", terms=_terms(0.6322, -0.001225, -2835.76)),
    Species("HPO4-2", -2, 1, None, "po4", _HPO4, 5.0),
    Species("H2PO4-", -1, 2, None, "po4", _H2PO4, 5.4),
    Species("H3PO4", 0, 3, None, "po4", _at_25(21.721, -10.1)),
    Species("HSO4-", -1, 1, None, "so4", _terms(-56.889, 0.006473, 2307.9, 19.8858)),
    Species("HCO3-", -1, 1, None, "carbonate", _HCO3, 5.4),
    Species("CO2", 0, 2, None, "carbonate", _terms(464.1965, 0.09344813, -26986.16, -165.75951, 2248628.9),
            0.0, 0.066),
    Species("CaPO4-", -1, 0, "ca", "po4", _at_25(6.459, 3.1 * _KCAL), 5.4),
    Species("CaHPO4", 0, 1, "ca", "po4", _sum(_HPO4, _at_25(2.739, 3.3 * _KCAL))),
    Species("CaH2PO4+", 1, 2, "ca", "po4", _sum(_H2PO4, _at_25(1.408, 3.4 * _KCAL)), 5.4),
    Species("MgPO4-", -1, 0, "mg", "po4", _at_25(6.589, 3.1 * _KCAL), 5.4),
    Species("MgHPO4", 0, 1, "mg", "po4", _sum(_HPO4, _at_25(2.87, 3.3 * _KCAL))),
    Species("MgH2PO4+", 1, 2, "mg", "po4", _sum(_H2PO4, _at_25(1.513, 3.4 * _KCAL)), 5.4),
    Species("KHPO4-", -1, 1, "k", "po4", _sum(_HPO4, _at_25(0.29)), 5.4),
    Species("NaHPO4-", -1, 1, "na", "po4", _sum(_HPO4, _at_25(0.29)), 5.4),
    Species("CaSO4", 0, 0, "ca", "so4", _at_25(2.25, 1.325 * _KCAL)),
    Species("MgSO4", 0, 0, "mg", "so4", _terms(0.0, 9.64e-3, -136.0), 0.0, 0.2),
    Species("KSO4-", -1, 0, "k", "so4", _terms(-3.0246, 9.986e-3, 0.0, 0.0, 1.093e5), 5.4, 0.19),
    Species("NaSO4-", -1, 0, "na", "so4", _terms(255.903, 0.10057, 0.0, -111.138, -8.5983e5), 5.5),
    Species("NH4SO4-", -1, 0, "nh4", "so4", _at_25(1.211, 8.56), 2.08, -0.0416),
    Species("CaCO3", 0, 0, "ca", "carbonate", _terms(-1228.732, -0.29944, 35512.75, 485.818)),
    Species("CaHCO3+", 1, 1, "ca", "carbonate", _terms(-6.009, 3.377e-2, 2044.0), 6.0),
    Species("MgCO3", 0, 0, "mg", "carbonate", _terms(0.991, 0.00667)),
    Species("MgHCO3+", 1, 1, "mg", "carbonate",
            _terms(48.6721, 0.03252849, -2614.335, -18.00263, 563713.9), 4.0),
    Species("NaHCO3", 0, 1, "na", "carbonate", _sum(_HCO3, _at_25(-0.06, 21.0)), 0.0, 0.2),
    Species("KHCO3", 0, 1, "k", "carbonate", _sum(_HCO3, _at_25(-0.35, 12.0)), 0.0, 9.4e-3),
    Species("HCit-2", -2, 1, None, "citrate", _at_25(6.396, 3.3472)),
    Species("H2Cit-", -1, 2, None, "citrate", _at_25(11.157, 1.297)),
    Species("H3Cit", 0, 3, None, "citrate", _at_25(14.285, -2.7614)),
    Species("CaCit-", -1, 0, "ca", "citrate", _at_25(4.87, -8.368)),
    Species("CaHCit", 0, 1, "ca", "citrate", _at_25(9.26, -0.8368)),
    Species("CaH2Cit+", 1, 2, "ca", "citrate", _at_25(12.257)),
    Species("MgCit-", -1, 0, "mg", "citrate", _at_25(4.89, 8.368)),
    Species("MgHCit", 0, 1, "mg", "citrate", _at_25(8.91, 3.3472)),
    Species("MgH2Cit+", 1, 2, "mg", "citrate", _at_25(12.2)),
    Species("KCit-2", -2, 0, "k", "citrate", _at_25(1.1, 5.4392)),
    Species("NaCit-2", -2, 0, "na", "citrate", _at_25(1.03, -2.8033)),
)  # fmt: skip
"""Everything formed from the masters with hydrogen ions taken up (protons > 0) or given off."""

CO2_SOLUBILITY = _terms(10.5624, -2.3547e-2, -3972.8, 0.0, 5.8746e5, 1.9194e-5)
"""log of activity of dissolved CO2 over partial pressure. [mol/(L atm)]"""


def log_k(terms: Terms, temperature_c: float) -> float:
    """Formation constant, log base 10, at a temperature of 0-50 degC. [-]

    Examples
    --------
    >>> round(log_k(CO2_SOLUBILITY, 25.0), 2)
    -1.47
    """
    t = checked_temperature(temperature_c) + KELVIN
    t0, t1, t2, t3, t4, t5 = terms
    return t0 + t1 * t + t2 / t + t3 * math.log10(t) + t4 / t**2 + t5 * t**2


@lru_cache(maxsize=1024)
def log_k_table(temperature_c: float) -> tuple[float, ...]:
    """Formation constants of FORMED, in that order."""
    return tuple(log_k(species.terms, temperature_c) for species in FORMED)


def log_gamma(species: Species, ionic_strength_m: float, temperature_c: float) -> float:
    """Activity coefficient (log base 10) of one species: by its ion size where known, else by Davies. [-]

    References
    ----------
    A. H. Truesdell, B. F. Jones, J. Res. USGS 2 (1974) 233, for the law with ion sizes.
    """
    if species.size_angstrom == DAVIES:
        return log_gamma_davies(species.charge, ionic_strength_m, temperature_c)
    a, b = debye_hueckel(temperature_c)
    root = math.sqrt(ionic_strength_m)
    pull = root / (1.0 + b * species.size_angstrom * root)
    return -a * species.charge**2 * pull + species.slope * ionic_strength_m
