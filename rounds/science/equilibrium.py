"""The mass-action solver: how the totals of a solution share out over its dissolved forms.

One `Equilibrium` holds a solution at one temperature and is asked for one pH after another; each answer starts from
the last one (ionic strength, free ions), so that a search for the pH costs little more than one answer.
"""

from __future__ import annotations

import math
from functools import lru_cache

from rounds.errors import OutOfRange
from rounds.science.activity import debye_hueckel
from rounds.science.constants import ANIONS, CATIONS, FORMED, HYDROGEN, MASTERS, Species, log_k_table
from rounds.science.solution import Solution

LOWEST_PH, HIGHEST_PH = 0.5, 13.0
_LN10 = math.log(10.0)
_NONE = -1
_SETTLED = 1e-6
_PH_SETTLED = 1e-6
_QUICK_ROUNDS = 40
_MOST_ROUNDS = 500
_CARBONATE = ANIONS.index("carbonate")

_Form = tuple[int, int, int, int, int]
"""One species for the inner loops: its index, protons, charge, cation index, anion index."""


def _form(index: int, species: Species) -> _Form:
    cation = CATIONS.index(species.cation) if species.cation else _NONE
    anion = ANIONS.index(species.anion) if species.anion else _NONE
    return index, species.protons, species.charge, cation, anion


_FORMS = tuple(_form(i, s) for i, s in enumerate(FORMED))
_MASTER_CHARGES = tuple(s.charge for s in MASTERS)
_EVERY = (*FORMED, *MASTERS, HYDROGEN)


class Equilibrium:
    """A solution at one temperature, closed to the air or held at a CO2 activity.

    Parameters
    ----------
    solution : Solution
        Totals. With `co2_activity_m` its carbonate is not used.
    temperature_c : float
        Temperature, 0-50. [degC]
    co2_activity_m : float, optional
        Activity of dissolved CO2 that the air holds up. [mol/L]
    """

    def __init__(self, solution: Solution, temperature_c: float, co2_activity_m: float | None = None) -> None:
        self.temperature_c = temperature_c
        self.log_k = log_k_table(temperature_c)
        self.ph = math.nan
        self.charge_m = self.buffer_m = self.hydrogen_m = 0.0
        self._co2_activity_m = co2_activity_m
        self._laws = _laws(temperature_c)
        self.load(solution)

    def load(self, solution: Solution) -> None:
        """Take other totals, keeping the last answer as the first guess for the next."""
        s = solution
        first = math.isnan(self.ph)
        self._cations = [v / 1000.0 for v in (s.ca, s.mg, s.k, s.na, s.nh4)]
        self._anions = [v / 1000.0 for v in (s.po4, s.so4, s.carbonate, s.citrate)]
        if self._co2_activity_m is not None:
            self._anions[_CARBONATE] = 1.0
        self._strong = (s.inert_meq_l - s.no3 - s.cl) / 1000.0
        self._strong_strength = (abs(s.inert_meq_l) + s.no3 + s.cl) / 2000.0
        there_c, there_a = [t > 0.0 for t in self._cations] + [True], [t > 0.0 for t in self._anions] + [True]
        self._forms = [f for f in _FORMS if there_c[f[3]] and there_a[f[4]]]
        if first:
            self.free_cations_m = [*self._cations, 1.0]
            self.free_anions_m = [*(0.0 for _ in self._anions), 1.0]
            self.ionic_strength_m = self._strong_strength + sum(self._cations)

    def settle(self, ph: float) -> None:
        """Share the totals out at a given pH; afterwards concentrations, charge and ionic strength hold."""
        for _ in range(_MOST_ROUNDS):
            if self._round(ph) < _SETTLED:
                return
        raise OutOfRange(f"The solution does not settle at pH {ph}.", "Check the totals for a misplaced decimal point.")

    def balance(self, guess: float = 6.5) -> float:
        """The pH at which the charges balance.

        Newton steps run along with the sharing out, which is quick; where that does not end, steps inside a bracket.
        """
        ph = guess
        for _ in range(_QUICK_ROUNDS):
            shift = self._round(ph)
            step = self.charge_m / self.buffer_m
            ph += max(-1.0, min(1.0, step))
            if not LOWEST_PH < ph < HIGHEST_PH:
                break
            if abs(step) < _PH_SETTLED and shift < _SETTLED:
                return ph
        return self._bracketed()

    def _bracketed(self) -> float:
        low, high = LOWEST_PH, HIGHEST_PH
        while high - low > _PH_SETTLED:
            middle = (low + high) / 2.0
            self.settle(middle)
            low, high = (middle, high) if self.charge_m > 0.0 else (low, middle)
        return self._within((low + high) / 2.0)

    def _round(self, ph: float) -> float:
        """One pass of constants and sharing out at a pH; returns by which fraction the answer still moved."""
        self.ph = ph
        before = (*self.free_anions_m, self.ionic_strength_m)
        self._mass_action()
        self._share_out()
        self._share_out()
        self._count()
        after = (*self.free_anions_m, self.ionic_strength_m)
        return max(abs(a - b) / (a or 1.0) for b, a in zip(before, after, strict=True))

    def _within(self, ph: float) -> float:
        if not LOWEST_PH + 0.01 < ph < HIGHEST_PH - 0.01:
            raise OutOfRange(
                f"The charges of this solution balance only beyond pH {ph:.1f}.",
                f"Expected a solution between pH {LOWEST_PH:g} and {HIGHEST_PH:g}: check for a missing counter-ion.",
            )
        return ph

    def log_gammas(self) -> list[float]:
        """Activity coefficients (log base 10) of FORMED, MASTERS and H+ at the present ionic strength."""
        strength = self.ionic_strength_m
        root = math.sqrt(strength)
        return [pull * root / (1.0 + size * root) + slope * strength for pull, size, slope in self._laws]

    def _mass_action(self) -> None:
        """Conditional constants: concentration = k [free cation] [free anion]."""
        gammas = self.log_gammas()
        n = len(FORMED)
        cation_gammas = [*gammas[n : n + len(CATIONS)], 0.0]
        anion_gammas = [*gammas[n + len(CATIONS) : -1], 0.0]
        self._k = [
            10.0 ** (self.log_k[i] - protons * self.ph + cation_gammas[c] + anion_gammas[a] - gammas[i])
            for i, protons, _, c, a in self._forms
        ]
        self.hydrogen_m = 10.0 ** (-self.ph - gammas[-1])
        if self._co2_activity_m is not None:
            self._hold_co2(anion_gammas[_CARBONATE])

    def _hold_co2(self, log_gamma_carbonate: float) -> None:
        log_co2 = self.log_k[_CO2] - 2.0 * self.ph
        self._held_m = (self._co2_activity_m or 0.0) / 10.0 ** (log_co2 + log_gamma_carbonate)

    def _share_out(self) -> None:
        cations, anions = self.free_cations_m, self.free_anions_m
        share = [1.0] * (len(anions))
        for k, (_, _, _, c, a) in zip(self._k, self._forms, strict=True):
            share[a] += k * cations[c]
        for j, total in enumerate(self._anions):
            anions[j] = total / share[j]
        if self._co2_activity_m is not None:
            anions[_CARBONATE] = self._held_m
        share = [1.0] * (len(cations))
        for k, (_, _, _, c, a) in zip(self._k, self._forms, strict=True):
            share[c] += k * anions[a]
        for j, total in enumerate(self._cations):
            cations[j] = total / share[j]

    def _count(self) -> None:
        """Charge, ionic strength and buffer strength of what is there now."""
        cations, anions = self.free_cations_m, self.free_anions_m
        charge = self._strong + self.hydrogen_m
        twice = 2.0 * self._strong_strength + self.hydrogen_m
        for z, c in zip(_MASTER_CHARGES, (*cations[:-1], *anions[:-1]), strict=True):
            charge += z * c
            twice += z * z * c
        first, second = [0.0] * len(anions), [0.0] * len(anions)
        formed: list[float] = []
        self.formed_m = formed
        for k, (_, protons, z, c, a) in zip(self._k, self._forms, strict=True):
            amount = k * cations[c] * anions[a]
            formed.append(amount)
            charge += z * amount
            twice += z * z * amount
            first[a] += protons * amount
            second[a] += protons * protons * amount
        self.charge_m, self.ionic_strength_m = charge, twice / 2.0
        self.buffer_m = _LN10 * (self.hydrogen_m + self._spread(first, second))

    def _spread(self, first: list[float], second: list[float]) -> float:
        """How much the proton count of each anion varies over its forms: the buffer each gives."""
        spread = second[_NONE]
        for j, total in enumerate(self._anions):
            if j == _CARBONATE and self._co2_activity_m is not None:
                spread += second[j] - 4.0 * first[j] + 4.0 * (self.carbonate_m())
            elif total > 0.0:
                spread += second[j] - first[j] ** 2 / total
        return spread

    def carbonate_m(self) -> float:
        bound = sum(amount for amount, f in zip(self.formed_m, self._forms, strict=True) if f[4] == _CARBONATE)
        return bound + self.free_anions_m[_CARBONATE]

    def amounts_m(self) -> dict[str, float]:
        """Concentration of every species by name. [mol/L]"""
        found = {FORMED[f[0]].name: amount for amount, f in zip(self.formed_m, self._forms, strict=True)}
        masters = zip(MASTERS, (*self.free_cations_m[:-1], *self.free_anions_m[:-1]), strict=True)
        return {**found, **{s.name: amount for s, amount in masters}, HYDROGEN.name: self.hydrogen_m}

    def log_gammas_by_name(self) -> dict[str, float]:
        """Activity coefficient (log base 10) of every species by name. [-]"""
        return {s.name: g for s, g in zip(_EVERY, self.log_gammas(), strict=True)}


_CO2 = next(i for i, s in enumerate(FORMED) if s.name == "CO2")


@lru_cache(maxsize=1024)
def _laws(temperature_c: float) -> tuple[tuple[float, float, float], ...]:
    return tuple(_law(species, temperature_c) for species in _EVERY)


def _law(species: Species, temperature_c: float) -> tuple[float, float, float]:
    """A z², B a and b of log gamma = -A z² sqrt(I) / (1 + B a sqrt(I)) + b I; Davies has B a = 1, b = 0.3 A z²."""
    a, b = debye_hueckel(temperature_c)
    pull = -a * species.charge**2
    if species.size_angstrom >= 0.0:
        return pull, b * species.size_angstrom, species.slope
    if species.charge == 0:
        return 0.0, 0.0, 0.1
    return pull, 1.0, -0.3 * pull
