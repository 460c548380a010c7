"""Acids and bases on the shelf: what they are, how strong, and what a millilitre brings."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from rounds.errors import BadInput, OutOfRange
from rounds.science.atoms import ATOMIC_WEIGHTS, count_atoms, molar_mass_g
from rounds.science.densities import check_label
from rounds.science.solution import Solution

NUTRIENTS = ("N", "P", "K", "S", "Cl")
"""Elements that are booked where an acid or base brings them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """One acid or base as a substance."""

    name: str
    formula: str
    is_acid: bool
    brings: Solution
    """What one mmol adds to a litre. [mmol]"""
    strongest_mol_l: float
    """The strongest the trade or its solubility allows. [mol/L]"""
    not_for_recirculation: str = ""
    """Why it must not go into a recirculating feed; empty where it may."""

    @property
    def molar_mass_g(self) -> float:
        """[g/mol]"""
        return molar_mass_g(self.formula)

    @property
    def nutrients_mg(self) -> Mapping[str, float]:
        """Nutrient elements that come with one mmol. [mg/mmol]"""
        atoms = count_atoms(self.formula)
        return {element: atoms[element] * ATOMIC_WEIGHTS[element] for element in NUTRIENTS if element in atoms}


def _kind(name: str, formula: str, most: float, against: str = "", **brings: float) -> Kind:
    return Kind(
        name=name,
        formula=formula,
        is_acid=not brings.get("k"),
        brings=Solution(**brings),
        strongest_mol_l=most,
        not_for_recirculation=against,
    )


CITRIC_REASON = (
    "Citric acid is eaten by bacteria within days: the pH climbs back and slime clogs roots and filters. "
    "Use nitric, phosphoric or sulfuric acid."
)

KINDS: Mapping[str, Kind] = MappingProxyType({
    kind.name: kind
    for kind in (
        _kind("nitric", "HNO3", 16.0, no3=1),
        _kind("phosphoric", "H3PO4", 16.5, po4=1),
        _kind("sulfuric", "H2SO4", 18.8, so4=1),
        _kind("hydrochloric", "HCl", 13.0, cl=1),
        _kind("citric", "C6H8O7", 5.0, CITRIC_REASON, citrate=1),
        _kind("potassium_hydroxide", "KOH", 14.0, k=1),
        _kind("potassium_carbonate", "K2CO3", 6.3, k=2, carbonate=1),
        _kind("potassium_hydrogen_carbonate", "KHCO3", 3.2, k=1, carbonate=1),
    )
})  # fmt: skip


def kind_named(name: str) -> Kind:
    """The kind of that name.

    Raises
    ------
    BadInput
        Where there is none, naming those there are.
    """
    try:
        return KINDS[name]
    except KeyError:
        raise BadInput(f"'{name}' is no acid or base known here.", f"Expected one of {', '.join(KINDS)}.") from None


@dataclass(frozen=True, slots=True, kw_only=True)
class Agent:
    """One bottle: a kind of acid or base at a strength.

    Parameters
    ----------
    kind : Kind
        What is in it.
    mol_per_l : float
        Strength, above 0 and up to what the kind allows. [mol/L]

    Raises
    ------
    OutOfRange
        Where the strength is not a number in that range.
    """

    kind: Kind
    mol_per_l: float

    def __post_init__(self) -> None:
        if not 0.0 < self.mol_per_l <= self.kind.strongest_mol_l:
            raise OutOfRange(
                f"{self.kind.name} of {self.mol_per_l:g} mol/L is not a strength to dose from.",
                f"Expected above 0 and up to {self.kind.strongest_mol_l:g} mol/L.",
            )

    @property
    def per_ml(self) -> Solution:
        """What one mL brings, as mmol (in mmol/L where it goes into one litre). [mmol]"""
        return self.kind.brings.scaled(self.mol_per_l)

    def nutrients_mg(self, dose_ml: float) -> dict[str, float]:
        """Nutrient elements (N, P, K, S, Cl) that come with a dose, to be booked. [mg]

        Examples
        --------
        >>> agent_by_molarity("nitric", 1.0).nutrients_mg(10.0)
        {'N': 140.07}
        """
        return {element: mg * self.mol_per_l * dose_ml for element, mg in self.kind.nutrients_mg.items()}


def agent_by_molarity(kind: str, mol_per_l: float) -> Agent:
    """A bottle whose strength is known in mol/L.

    Examples
    --------
    >>> agent_by_molarity("potassium_hydroxide", 1.5).per_ml.k
    1.5
    """
    return Agent(kind=kind_named(kind), mol_per_l=mol_per_l)


def agent_by_percent(kind: str, percent_w_w: float, density_kg_l: float | None) -> Agent:
    """A bottle whose label says percent by mass and density.

    Parameters
    ----------
    kind : str
        A name from KINDS.
    percent_w_w : float
        Strength, above 0 and up to 100. [% by mass]
    density_kg_l : float
        Density, 0.95-2.0. [kg/L]

    Raises
    ------
    BadInput
        Where the density is missing (percent by mass says nothing about a millilitre without it), or differs from the
        handbook's for that strength by more than a label's rounding.
    OutOfRange
        Where one of them is outside its range, or both together make more than the kind allows.

    Examples
    --------
    >>> round(agent_by_percent("nitric", 68.0, 1.4048).mol_per_l, 2)
    15.16
    """
    if density_kg_l is None:
        raise BadInput(
            f"The density of the {percent_w_w:g} % {kind} is missing.",
            "Enter it in kg/L from the label or weigh 100 mL; percent by mass alone gives no dose in mL.",
        )
    if not 0.0 < percent_w_w <= 100.0:
        raise OutOfRange(f"A strength of {percent_w_w} % cannot be.", "Expected above 0 and up to 100 % by mass.")
    if not 0.95 <= density_kg_l <= 2.0:
        raise OutOfRange(f"A density of {density_kg_l} kg/L cannot be.", "Expected 0.95 to 2.0 kg/L.")
    found = kind_named(kind)
    check_label(kind, percent_w_w, density_kg_l)
    return Agent(kind=found, mol_per_l=percent_w_w * 10.0 * density_kg_l / found.molar_mass_g)


def checked_dose(dose_ml: float) -> float:
    """The dose, if it is a number of 0 or more. [mL]"""
    if not 0.0 <= dose_ml < math.inf:
        raise BadInput(f"A dose of {dose_ml} mL cannot be poured.", "Give millilitres, 0 or more.")
    return dose_ml
