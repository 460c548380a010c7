"""Which dissolved forms a set of totals can take, laid out in columns for the solver."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from itertools import accumulate, chain

from rounds.science.activity import debye_hueckel
from rounds.science.constants import ANIONS, CATIONS, FORMED, HYDROGEN, MASTERS, Species, log_k_table

LN10 = math.log(10.0)
NONE = -1
"""Stands for "no cation" or "no anion": the last place of the solver's lists, always 1."""

_Law = tuple[float, float, float]
"""A z², B a and b of ln gamma = A z² sqrt(I) / (1 + B a sqrt(I)) + b I."""


@dataclass(frozen=True, slots=True)
class Forms:
    """Columns of equal length, one row per form, sorted by anion; laws of activity are shared and pointed at."""

    species: tuple[Species, ...]
    ln_k: tuple[float, ...]
    protons: tuple[int, ...]
    charges: tuple[int, ...]
    charge_squares: tuple[int, ...]
    cations: tuple[int, ...]
    anions: tuple[int, ...]
    spans: tuple[slice, ...]
    """Rows of each anion, and last those of none."""
    own_laws: tuple[int, ...]
    cation_laws: tuple[int, ...]
    anion_laws: tuple[int, ...]
    hydrogen_law: int
    laws: tuple[_Law, ...]


@lru_cache(maxsize=4096)
def forms_of(there: tuple[bool, ...], temperature_c: float) -> Forms:
    """The forms for which cation and anion are there, at a temperature.

    Parameters
    ----------
    there : tuple of bool
        Whether each of CATIONS and then each of ANIONS is there.
    temperature_c : float
        Temperature, 0-50. [degC]
    """
    by_anion = _by_anion(there)
    chosen = tuple(chain.from_iterable(by_anion))
    laws = _SharedLaws(chosen, temperature_c)
    return Forms(
        species=chosen,
        ln_k=tuple(LN10 * _log_k(s, temperature_c) for s in chosen),
        protons=tuple(s.protons for s in chosen),
        charges=tuple(s.charge for s in chosen),
        charge_squares=tuple(s.charge**2 for s in chosen),
        cations=tuple(_place(CATIONS, s.cation) for s in chosen),
        anions=tuple(_place(ANIONS, s.anion) for s in chosen),
        spans=_spans(by_anion),
        own_laws=laws.of_forms(chosen),
        cation_laws=laws.of_ions(s.cation for s in chosen),
        anion_laws=laws.of_ions(s.anion for s in chosen),
        hydrogen_law=laws.place_of[HYDROGEN.name],
        laws=(*laws.all, (0.0, 0.0, 0.0)),
    )


class _SharedLaws:
    """The laws of activity of some forms and of all master species at one temperature, each law once."""

    def __init__(self, forms: Iterable[Species], temperature_c: float) -> None:
        law_of = {species.name: _law(species, temperature_c) for species in (*forms, *MASTERS, HYDROGEN)}
        self.all = tuple(dict.fromkeys(law_of.values()))
        places = {law: place for place, law in enumerate(self.all)}
        self.place_of = {name: places[law] for name, law in law_of.items()}

    def of_forms(self, forms: Iterable[Species]) -> tuple[int, ...]:
        """Where the law of each form stands."""
        return tuple(self.place_of[species.name] for species in forms)

    def of_ions(self, ions: Iterable[str | None]) -> tuple[int, ...]:
        """Where the law of each ion's master species stands; behind all laws where there is no ion."""
        return tuple(len(self.all) if ion is None else self.place_of[_MASTER_OF[ion].name] for ion in ions)


_MASTER_OF = dict(zip((*CATIONS, *ANIONS), MASTERS, strict=True))
_ANION_PLACES = (*range(len(ANIONS)), NONE)


def _by_anion(there: tuple[bool, ...]) -> list[list[Species]]:
    """What can form, by the anion that it holds."""
    can = [species for species in FORMED if _can_form(species, there)]
    return [[species for species in can if _place(ANIONS, species.anion) == place] for place in _ANION_PLACES]


def _spans(groups: list[list[Species]]) -> tuple[slice, ...]:
    """Where each group stands among all of them."""
    ends = list(accumulate(len(group) for group in groups))
    return tuple(slice(end - len(group), end) for end, group in zip(ends, groups, strict=True))


def _place(names: tuple[str, ...], name: str | None) -> int:
    return NONE if name is None else names.index(name)


def _can_form(species: Species, there: tuple[bool, ...]) -> bool:
    cation = species.cation is None or there[CATIONS.index(species.cation)]
    return cation and (species.anion is None or there[len(CATIONS) + ANIONS.index(species.anion)])


def _log_k(species: Species, temperature_c: float) -> float:
    return log_k_table(temperature_c)[FORMED.index(species)]


def _law(species: Species, temperature_c: float) -> _Law:
    """Davies is the same law with B a = 1 and b = 0.3 A z²; uncharged forms without a law of their own have b = 0.1."""
    a, b = debye_hueckel(temperature_c)
    pull = -a * species.charge**2 * LN10
    if species.size_angstrom >= 0.0:
        return pull, b * species.size_angstrom, species.slope * LN10
    if species.charge == 0:
        return 0.0, 0.0, 0.1 * LN10
    return pull, 1.0, -0.3 * pull
