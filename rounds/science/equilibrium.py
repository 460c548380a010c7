"""The mass-action solver: how the totals of a solution share out over its dissolved forms.

One `Equilibrium` holds a solution at one temperature and is asked for one pH after another; each answer starts from
the last one (ionic strength, free ions), so that a search for the pH costs little more than one answer.
"""

from __future__ import annotations

import math
from operator import mul

from rounds.errors import OutOfRange
from rounds.science.constants import ANIONS, CATIONS, FORMED, HYDROGEN, MASTERS, log_gamma, log_k_table
from rounds.science.forms import LN10, forms_of
from rounds.science.solution import Solution

LOWEST_PH, HIGHEST_PH = 0.5, 13.0
STRONGEST_M = 1.0
"""Ionic strength up to which activities follow the law; above it they stay. [mol/L]"""
_SETTLED = 1e-6
_PH_SETTLED = 1e-6
_QUICK_ROUNDS = 40
_MOST_ROUNDS = 500
_CARBONATE = ANIONS.index("carbonate")
_CATION_CHARGES = tuple(s.charge for s in MASTERS[: len(CATIONS)])
_ANION_CHARGES = tuple(s.charge for s in MASTERS[len(CATIONS) :])
_MASTER_CHARGES = (*_CATION_CHARGES, *_ANION_CHARGES)
_MASTER_SQUARES = tuple(z * z for z in _MASTER_CHARGES)
_CARBONATE_ION = MASTERS[len(CATIONS) + _CARBONATE]
_CO2 = next(i for i, s in enumerate(FORMED) if s.name == "CO2")


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
        self.ph = math.nan
        self.charge_m = self.hydrogen_m = 0.0
        self._co2_activity_m = co2_activity_m
        self._formed_m: list[float] = []
        self.load(solution)
        self._free_cations = [*self._cations, 1.0]
        self._free_anions = [*(0.0 for _ in ANIONS), 1.0]
        self.ionic_strength_m = self._strong_strength + sum(self._cations)

    def load(self, solution: Solution) -> None:
        """Take other totals, keeping the last answer as the first guess for the next."""
        s = solution
        self._cations = [v / 1000.0 for v in (s.ca, s.mg, s.k, s.na, s.nh4)]
        self._anions = [v / 1000.0 for v in (s.po4, s.so4, s.carbonate, s.citrate)]
        if self._co2_activity_m is not None:
            self._anions[_CARBONATE] = 1.0
        self._strong = (s.inert_meq_l - s.no3 - s.cl) / 1000.0
        self._strong_strength = (abs(s.inert_meq_l) + s.no3 + s.cl) / 2000.0
        self._forms = forms_of(tuple(t > 0.0 for t in (*self._cations, *self._anions)), self.temperature_c)

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
                return _within(ph)
        return self._bracketed()

    def carbonate_m(self) -> float:
        """Dissolved inorganic carbon: where CO2 is held, what it holds. [mol/L]"""
        return sum(self._formed_m[self._forms.spans[_CARBONATE]]) + self._free_anions[_CARBONATE]

    def amounts_m(self) -> dict[str, float]:
        """Concentration of every form by name. [mol/L]"""
        found = {s.name: amount for s, amount in zip(self._forms.species, self._formed_m, strict=True)}
        masters = zip(MASTERS, (*self._free_cations[:-1], *self._free_anions[:-1]), strict=True)
        return {**found, **{s.name: amount for s, amount in masters}, HYDROGEN.name: self.hydrogen_m}

    def log_gammas_by_name(self) -> dict[str, float]:
        """Activity coefficient (log base 10) of every species by name. [-]"""
        every = (*FORMED, *MASTERS, HYDROGEN)
        return {s.name: log_gamma(s, self._strength_of_the_law, self.temperature_c) for s in every}

    @property
    def _strength_of_the_law(self) -> float:
        """Ionic strength for the law of activity, which is not stretched beyond what it was made for. [mol/L]"""
        return min(self.ionic_strength_m, STRONGEST_M)

    def _bracketed(self) -> float:
        low, high = LOWEST_PH, HIGHEST_PH
        while high - low > _PH_SETTLED:
            middle = (low + high) / 2.0
            self.settle(middle)
            low, high = (middle, high) if self.charge_m > 0.0 else (low, middle)
        return _within((low + high) / 2.0)

    def _round(self, ph: float) -> float:
        """One pass of constants and sharing out at a pH; returns by which fraction the answer still moved."""
        self.ph = ph
        before = (*self._free_anions, self.ionic_strength_m)
        self._mass_action()
        self._share_out()
        self._share_out()
        self._count()
        after = (*self._free_anions, self.ionic_strength_m)
        return max(abs(a - b) / (a or 1.0) for b, a in zip(before, after, strict=True))

    def _mass_action(self) -> None:
        """Conditional constants: concentration = k [free cation] [free anion]."""
        forms, strength = self._forms, self._strength_of_the_law
        root, ln_h = math.sqrt(strength), -LN10 * self.ph
        g = [pull * root / (1.0 + size * root) + slope * strength for pull, size, slope in forms.laws]
        columns = zip(forms.ln_k, forms.protons, forms.cation_laws, forms.anion_laws, forms.own_laws, strict=True)
        self._k = [math.exp(ln_k + n * ln_h + g[c] + g[a] - g[own]) for ln_k, n, c, a, own in columns]
        self.hydrogen_m = math.exp(ln_h - g[forms.hydrogen_law])
        if self._co2_activity_m is not None:
            self._held_m = self._carbonate_ion_held()

    def _carbonate_ion_held(self) -> float:
        log_gamma_ion = log_gamma(_CARBONATE_ION, self._strength_of_the_law, self.temperature_c)
        log_co2 = log_k_table(self.temperature_c)[_CO2] - 2.0 * self.ph
        return (self._co2_activity_m or 0.0) / math.pow(10.0, log_co2 + log_gamma_ion)

    def _share_out(self) -> None:
        """Each free anion from its total over what one mol of it drags along, then each free cation likewise."""
        forms, cations, anions = self._forms, self._free_cations, self._free_anions
        with_cation = list(map(mul, self._k, map(cations.__getitem__, forms.cations)))
        for j, total in enumerate(self._anions):
            anions[j] = total / (1.0 + sum(with_cation[forms.spans[j]]))
        if self._co2_activity_m is not None:
            anions[_CARBONATE] = self._held_m
        share = [1.0] * len(cations)
        for k, c, a in zip(self._k, forms.cations, forms.anions, strict=True):
            share[c] += k * anions[a]
        for j, total in enumerate(self._cations):
            cations[j] = total / share[j]

    def _count(self) -> None:
        """Charge and ionic strength of what is there now."""
        forms, cations, anions = self._forms, self._free_cations, self._free_anions
        with_cation = map(mul, self._k, map(cations.__getitem__, forms.cations))
        formed = self._formed_m = list(map(mul, with_cation, map(anions.__getitem__, forms.anions)))
        free = (*cations[:-1], *anions[:-1])
        self.charge_m = (
            self._strong + self.hydrogen_m + sum(map(mul, _MASTER_CHARGES, free)) + sum(map(mul, forms.charges, formed))
        )
        squares = sum(map(mul, _MASTER_SQUARES, free)) + sum(map(mul, forms.charge_squares, formed))
        self.ionic_strength_m = self._strong_strength + (self.hydrogen_m + squares) / 2.0

    @property
    def buffer_m(self) -> float:
        """Strong acid per pH, near the present pH: how much the proton count varies over the forms. [mol/(L pH)]"""
        forms = self._forms
        bound = list(map(mul, forms.protons, self._formed_m))
        spread = math.fsum(map(mul, forms.protons, bound))
        for j, total in enumerate(self._anions):
            mean = sum(bound[forms.spans[j]])
            if j == _CARBONATE and self._co2_activity_m is not None:
                spread += 4.0 * self.carbonate_m() - 4.0 * mean
            elif total > 0.0:
                spread -= mean * mean / total
        return LN10 * (self.hydrogen_m + spread)


def checked_ph(ph: float) -> float:
    """The pH, if it is one a solution here can have (1-12.5). [-]"""
    if not 1.0 <= ph <= 12.5:
        raise OutOfRange(f"A pH of {ph} is not believable.", "Expected 1 to 12.5.")
    return ph


def _within(ph: float) -> float:
    if not LOWEST_PH + 0.01 < ph < HIGHEST_PH - 0.01:
        raise OutOfRange(
            f"The charges of this solution balance only beyond pH {ph:.1f}.",
            f"Expected a solution between pH {LOWEST_PH:g} and {HIGHEST_PH:g}: check for a missing counter-ion.",
        )
    return ph
