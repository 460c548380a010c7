"""Fertiliser salts: what a gram brings, and how much of it water takes.

Mind the bag of calcium nitrate: the pure tetrahydrate weighs 236 g per mol Ca, the granular trade product is a double
salt with 216 g per mol Ca and some ammonium. They are two entries here, and nothing called just "calcium nitrate".
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from rounds.errors import BadInput, OutOfRange
from rounds.science.atoms import ATOMIC_WEIGHTS, count_atoms, molar_mass_g
from rounds.science.solution import Solution

SOLUBILITY_SOURCE = "Western Australia Department of Agriculture, liquid fertiliser stock solutions, table 1 (20 degC)"
HANDBOOK = "CRC Handbook, rounded (from memory, 20 degC)"


@dataclass(frozen=True, slots=True, kw_only=True)
class Salt:
    """One salt: its formula, what one mmol of it brings, and its solubility."""

    name: str
    formula: str
    brings: Solution
    """Ions from one mmol of the formula. [mmol]"""
    solubility_g_l: float
    """Grams of this salt, crystal water included, that a litre of water takes at 20 degC. [g/L]"""
    solubility_source: str

    @property
    def molar_mass_g(self) -> float:
        """[g/mol]"""
        return molar_mass_g(self.formula)

    @property
    def per_gram(self) -> Solution:
        """Ions from one gram of the pure salt. [mmol/g]"""
        return self.brings.scaled(1000.0 / self.molar_mass_g)


def _hydrated_g_l(anhydrous_g_l: float, anhydrous: str, hydrate: str) -> float:
    """Grams of hydrate per litre of water added, from a table of the anhydrous salt: its own water dissolves too."""
    grams = anhydrous_g_l * molar_mass_g(hydrate) / molar_mass_g(anhydrous)
    own_water = grams - anhydrous_g_l
    return grams / (1.0 - own_water / 1000.0)


def _salt(name: str, formula: str, solubility: float, source: str, **ions: float) -> Salt:
    return Salt(
        name=name, formula=formula, brings=Solution(**ions), solubility_g_l=solubility, solubility_source=source
    )


SALTS: Mapping[str, Salt] = MappingProxyType({
    salt.name: salt
    for salt in (
        _salt("calcium_nitrate_tetrahydrate", "Ca(NO3)2.4H2O", 1290.0, SOLUBILITY_SOURCE, ca=1, no3=2),
        _salt("calcium_nitrate_double_salt", "5Ca(NO3)2.NH4NO3.10H2O", 1200.0, "trade sheets (from memory)",
              ca=5, no3=11, nh4=1),
        _salt("potassium_nitrate", "KNO3", 316.0, SOLUBILITY_SOURCE, k=1, no3=1),
        _salt("potassium_dihydrogen_phosphate", "KH2PO4", 226.0, HANDBOOK, k=1, po4=1),
        _salt("dipotassium_hydrogen_phosphate", "K2HPO4", 1600.0, HANDBOOK, k=2, po4=1),
        _salt("ammonium_dihydrogen_phosphate", "NH4H2PO4", 374.0, HANDBOOK, nh4=1, po4=1),
        _salt("magnesium_sulfate_heptahydrate", "MgSO4.7H2O", _hydrated_g_l(330.0, "MgSO4", "MgSO4.7H2O"),
              SOLUBILITY_SOURCE + ", printed for the anhydrous salt", mg=1, so4=1),
        _salt("potassium_sulfate", "K2SO4", 111.0, SOLUBILITY_SOURCE, k=2, so4=1),
        _salt("magnesium_nitrate_hexahydrate", "Mg(NO3)2.6H2O", 1250.0, HANDBOOK, mg=1, no3=2),
        _salt("ammonium_nitrate", "NH4NO3", 1902.0, SOLUBILITY_SOURCE, nh4=1, no3=1),
        _salt("ammonium_sulfate", "(NH4)2SO4", 750.0, SOLUBILITY_SOURCE, nh4=2, so4=1),
        _salt("potassium_chloride", "KCl", 340.0, SOLUBILITY_SOURCE, k=1, cl=1),
        _salt("calcium_chloride_dihydrate", "CaCl2.2H2O", 980.0, HANDBOOK, ca=1, cl=2),
        _salt("sodium_chloride", "NaCl", 359.0, HANDBOOK, na=1, cl=1),
        _salt("potassium_hydrogen_carbonate", "KHCO3", 337.0, HANDBOOK, k=1, carbonate=1),
    )
})  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class TraceSalt:
    """A salt weighed for a trace element; what else comes with it does not matter at a few milligrams."""

    name: str
    formula: str
    element: str
    purity: float = 1.0
    """Share of the formula in the powder. [-]"""

    @property
    def mg_per_g(self) -> float:
        """Trace element from one gram. [mg/g]"""
        atoms = count_atoms(self.formula)[self.element]
        return 1000.0 * self.purity * atoms * ATOMIC_WEIGHTS[self.element] / molar_mass_g(self.formula)


TRACE_SALTS: Mapping[str, TraceSalt] = MappingProxyType({
    salt.name: salt
    for salt in (
        TraceSalt(name="boric_acid", formula="H3BO3", element="B"),
        TraceSalt(name="manganese_chloride_tetrahydrate", formula="MnCl2.4H2O", element="Mn"),
        TraceSalt(name="manganese_sulfate_monohydrate", formula="MnSO4.H2O", element="Mn"),
        TraceSalt(name="zinc_sulfate_heptahydrate", formula="ZnSO4.7H2O", element="Zn"),
        TraceSalt(name="copper_sulfate_pentahydrate", formula="CuSO4.5H2O", element="Cu"),
        TraceSalt(name="molybdic_acid_85", formula="MoO3", element="Mo", purity=0.85),
        TraceSalt(name="sodium_molybdate_dihydrate", formula="Na2MoO4.2H2O", element="Mo"),
    )
})  # fmt: skip


def salt_named(name: str) -> Salt:
    """The salt of that name.

    Raises
    ------
    BadInput
        Where there is none, naming those that are nearest or all there are.
    """
    if name == "calcium_nitrate":
        raise BadInput(
            "Which calcium nitrate? The bags differ by a tenth.",
            "Write calcium_nitrate_double_salt (granules, about 15.5 % N) or calcium_nitrate_tetrahydrate (11.9 % N).",
        )
    if name not in SALTS:
        raise BadInput(f"'{name}' is no salt known here.", f"Expected one of {', '.join(SALTS)}.")
    return SALTS[name]


def solution_of_salts(grams_per_l: Mapping[str, float]) -> Solution:
    """What salts in a litre bring together.

    Parameters
    ----------
    grams_per_l : mapping
        Grams of each salt in a litre of solution, by name, 0-2000. Trace salts are passed over: they do not matter
        for pH or conductivity. [g/L]

    Raises
    ------
    BadInput
        Where a salt is not known.
    OutOfRange
        Where an amount is negative, absurd or not a number.

    Examples
    --------
    >>> round(solution_of_salts({"potassium_nitrate": 101.103}).k)
    1000
    """
    whole = Solution()
    for name, grams in grams_per_l.items():
        if not 0.0 <= grams <= 2000.0:
            raise OutOfRange(f"{grams} g/L of {name} cannot be.", "Expected 0 to 2000 g/L.")
        if name not in TRACE_SALTS:
            whole = whole.plus(salt_named(name).per_gram.scaled(grams))
    return whole


def too_much_to_dissolve(grams_per_l: Mapping[str, float]) -> dict[str, float]:
    """Salts of which more is asked for than cold water takes, each with the share of its solubility. [-]

    Each salt is looked at by itself at 20 degC. Salts with an ion in common take less, so that a share above about 0.8
    is worth a warning (common practice).

    Examples
    --------
    >>> too_much_to_dissolve({"potassium_sulfate": 222.0, "potassium_nitrate": 100.0})
    {'potassium_sulfate': 2.0}
    """
    shares = {name: grams / salt_named(name).solubility_g_l for name, grams in grams_per_l.items() if name in SALTS}
    return {name: share for name, share in shares.items() if not share <= 1.0 or math.isnan(share)}


ELEMENTS: Mapping[str, str] = MappingProxyType(
    {"no3": "N", "nh4": "N", "po4": "P", "so4": "S", "cl": "Cl", "k": "K", "ca": "Ca", "mg": "Mg", "na": "Na"}
)


def elements_mg_l(solution: Solution) -> dict[str, float]:
    """Nutrient elements of a solution; N is nitrate and ammonium together. [mg/L]

    Examples
    --------
    >>> elements_mg_l(Solution(no3=1.0, nh4=1.0))["N"]
    28.014
    """
    found: dict[str, float] = {}
    for name, element in ELEMENTS.items():
        found[element] = found.get(element, 0.0) + getattr(solution, name) * ATOMIC_WEIGHTS[element]
    return found
