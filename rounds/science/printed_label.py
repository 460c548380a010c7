"""What the label of a nutrient bottle or bag prints: percents in the forms of the trade, by weight or by volume."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from rounds.errors import BadInput, OutOfRange
from rounds.science.atoms import molar_mass_g

Part = Literal["whole", "calcium", "rest"]
Habit = Literal["oxides", "elements"]

FORMS: Mapping[str, tuple[str, float]] = MappingProxyType({
    name: (quantity, atoms / molar_mass_g(formula))
    for name, quantity, formula, atoms in (
        ("n", "n", "N", 1), ("no3_n", "no3", "N", 1), ("nh4_n", "nh4", "N", 1), ("urea_n", "urea", "N", 1),
        ("p", "po4", "P", 1), ("p2o5", "po4", "P2O5", 2), ("k", "k", "K", 1), ("k2o", "k", "K2O", 2),
        ("ca", "ca", "Ca", 1), ("cao", "ca", "CaO", 1), ("mg", "mg", "Mg", 1), ("mgo", "mg", "MgO", 1),
        ("s", "so4", "S", 1), ("so3", "so4", "SO3", 1), ("cl", "cl", "Cl", 1), ("na", "na", "Na", 1),
    )
})  # fmt: skip
"""Name of a printed form: what it stands for, and its mmol in a milligram."""
TRACES = frozenset({"fe", "mn", "zn", "cu", "b", "mo", "si"})
"""Printed too, and passed over: iron chelate and traces matter neither for pH nor for EC."""
HEAVIEST = MappingProxyType({"n": 46.6, "po4": 85.0, "k": 63.0})
"""More percent of N than urea has, of P2O5 than phosphoric acid sold as 85 %, of K2O than potassium chloride: no
fertiliser. Figures of the pure substances, P and K as oxides; computed. [%]"""
_MOST_P_AND_K = 95.0
"""P2O5 and K2O together: potassium phosphate has 87, potassium polyphosphate 94. Computed. [%]"""
_SPARE = 1.05
DENSITY_KG_L = (0.95, 1.7)
"""Liquid nutrients lie between water and the heaviest salt solutions. [kg/L]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintedLabel:
    """A label as it was entered.

    Parameters
    ----------
    percent : tuple of (str, float)
        Printed form by its name in FORMS, and its percent. [%]
    habit : str, optional
        How P and K of the names `p_as_printed` and `k_as_printed` are meant; both are held possible where left out.
    by : str, optional
        Percent by weight or by volume (grams in 100 mL); both are held possible where left out.
    density_kg_l : float, optional
        Of a liquid, 0.95-1.7. [kg/L]
    stock_g_l : float, optional
        For a powder: grams dissolved to a litre of stock solution, which is what is poured. [g/L]
    part : str
        `whole`: the one bottle of a feed; `calcium`: a part without phosphate; `rest`: one with phosphate or sulfate,
        and hence without calcium.

    Raises
    ------
    BadInput, OutOfRange
        Where the label cannot be: the sentence says what and why.
    """

    percent: tuple[tuple[str, float], ...]
    habit: Habit | None = None
    by: Literal["weight", "volume"] | None = None
    density_kg_l: float | None = None
    stock_g_l: float | None = None
    part: Part = "whole"

    def __post_init__(self) -> None:
        for name, value in self.percent:
            if name not in FORMS and name not in TRACES and name not in ("p_as_printed", "k_as_printed"):
                raise BadInput(f"'{name}' is no printed form known here.", f"Expected one of {', '.join(FORMS)}.")
            if not 0.0 <= value <= 100.0:
                raise OutOfRange(f"{name} of {value:g} % cannot be.", "Expected 0 to 100 %.")
        _check_twice(self.main)
        _check_together(dict(self.percent))
        _check_forms_of_n(dict(self.percent))
        if self.density_kg_l is not None and not DENSITY_KG_L[0] <= self.density_kg_l <= DENSITY_KG_L[1]:
            raise OutOfRange(
                f"A density of {self.density_kg_l:g} kg/L is not that of a nutrient.",
                f"Expected {DENSITY_KG_L[0]:g} to {DENSITY_KG_L[1]:g} kg/L: weigh 100 mL on the kitchen scale; "
                "the grams divided by 100 are it.",
            )
        if self.stock_g_l is not None and not 0.0 < self.stock_g_l <= 600.0:
            raise OutOfRange(f"A stock of {self.stock_g_l:g} g/L cannot be dissolved.", "Expected up to 600 g/L.")

    @property
    def is_powder(self) -> bool:
        """Whether it is weighed, not measured: its percents are by weight then."""
        return self.stock_g_l is not None

    @property
    def main(self) -> tuple[tuple[str, float], ...]:
        """What is printed beside traces. [%]"""
        return tuple((name, value) for name, value in self.percent if name not in TRACES)

    def told(self, habit: Habit) -> dict[str, float]:
        """What the label tells of each quantity, P and K read by a habit. [mmol in a gram or mL of 100 %]"""
        found = {}
        for name, value in self.main:
            if name in ("p_as_printed", "k_as_printed"):
                name = {"p": "p2o5", "k": "k2o"}[name[0]] if habit == "oxides" else name[0]
            quantity, mmol_mg = FORMS[name]
            found[quantity] = value * 10.0 * mmol_mg
        return found


def _check_twice(percent: tuple[tuple[str, float], ...]) -> None:
    seen: dict[str, str] = {}
    for name, _ in percent:
        quantity = FORMS[name][0] if name in FORMS else {"p": "po4", "k": "k"}[name[0]]
        if quantity in seen:
            raise BadInput(f"{seen[quantity]} and {name} say the same thing twice.", "Keep the one that is printed.")
        seen[quantity] = name


def _check_together(percent: Mapping[str, float]) -> None:
    oxides = {"n": percent.get("n", 0.0)}
    oxides["po4"] = percent.get("p2o5", percent.get("p_as_printed", percent.get("p", 0.0) / 0.4364))
    oxides["k"] = percent.get("k2o", percent.get("k_as_printed", percent.get("k", 0.0) / 0.8301))
    names = {"n": "N", "po4": "P2O5", "k": "K2O"}
    for quantity, most in HEAVIEST.items():
        if oxides[quantity] > most:
            raise OutOfRange(
                f"{oxides[quantity]:g} % of {names[quantity]} is more than any fertiliser holds.",
                f"Expected at most {most:g} %: look at the label again.",
            )
    if oxides["n"] / HEAVIEST["n"] + (oxides["po4"] + oxides["k"]) / _MOST_P_AND_K > _SPARE:
        told = "-".join(f"{oxides[quantity]:g}" for quantity in ("n", "po4", "k"))
        raise OutOfRange(
            f"N-P-K of {told} cannot be: no salts hold so much of all three.",
            "Expected less in all, such as 20-20-20: look at the label again.",
        )


def _check_forms_of_n(percent: Mapping[str, float]) -> None:
    forms = sum(percent.get(name, 0.0) for name in ("no3_n", "nh4_n", "urea_n"))
    whole = percent.get("n")
    if whole is not None and forms > whole * 1.05 + 0.05:
        raise BadInput(
            f"Nitrate, ammonium and urea nitrogen make {forms:g} %, more than the {whole:g} % of N.",
            "Look at the label again: the forms add up to the whole.",
        )
