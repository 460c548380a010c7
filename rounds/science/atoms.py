"""Atomic weights, and molar masses from formulas."""

from __future__ import annotations

import re
from collections.abc import Mapping
from types import MappingProxyType

from rounds.errors import BadInput

ATOMIC_WEIGHTS: Mapping[str, float] = MappingProxyType({
    "H": 1.008, "B": 10.81, "C": 12.011, "N": 14.007, "O": 15.999, "Na": 22.990, "Mg": 24.305, "P": 30.974,
    "S": 32.06, "Cl": 35.45, "K": 39.098, "Ca": 40.078, "Mn": 54.938, "Fe": 55.845, "Cu": 63.546, "Zn": 65.38,
    "Mo": 95.95,
})  # fmt: skip
"""Standard atomic weights, IUPAC 2021, abridged (from memory; a test holds them against another library). [g/mol]"""

_PART = re.compile(r"([A-Z][a-z]?)(\d*)|\(([^()]*)\)(\d*)")


def count_atoms(formula: str) -> dict[str, int]:
    """How many atoms of each element a formula holds.

    Parameters
    ----------
    formula : str
        As in `5Ca(NO3)2.NH4NO3.10H2O`: parts joined by points, one level of brackets.

    Raises
    ------
    BadInput
        Where the formula cannot be read or holds an element not known here.

    Examples
    --------
    >>> count_atoms("Ca(NO3)2.4H2O")
    {'Ca': 1, 'N': 2, 'O': 10, 'H': 8}
    """
    atoms: dict[str, int] = {}
    for part in formula.split("."):
        number = re.match(r"\d*", part)
        lead = number.group() if number else ""
        for element, count in _atoms_of(part[len(lead) :], formula).items():
            atoms[element] = atoms.get(element, 0) + int(lead or 1) * count
    return atoms


def molar_mass_g(formula: str) -> float:
    """Mass of one mol. [g/mol]

    Examples
    --------
    >>> round(molar_mass_g("KNO3"), 2)
    101.1
    """
    return sum(ATOMIC_WEIGHTS[element] * count for element, count in count_atoms(formula).items())


def _atoms_of(part: str, whole: str) -> dict[str, int]:
    atoms: dict[str, int] = {}
    read = 0
    for match in _PART.finditer(part):
        element, count, inner, times = match.groups()
        read += len(match.group())
        for name, n in (_atoms_of(inner, whole) if inner else {element: 1}).items():
            atoms[_known(name, whole)] = atoms.get(name, 0) + n * int((times if inner else count) or 1)
    if read != len(part) or not part:
        raise BadInput(f"The formula '{whole}' cannot be read.", "Expected something like Ca(NO3)2.4H2O.")
    return atoms


def _known(element: str, whole: str) -> str:
    if element not in ATOMIC_WEIGHTS:
        raise BadInput(f"'{element}' in '{whole}' is no element known here.", "Check capital and small letters.")
    return element
