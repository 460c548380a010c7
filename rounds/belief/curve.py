"""The titration curve of one reservoir, in tables: what makes hundreds of believable reservoirs cheap to try.

The full speciation is asked at a dozen pH; what each mmol of phosphate and carbonate then carries of the alkalinity is
kept, and read off in between. Phosphate and carbonate may then be varied freely: the ion pairs hardly notice.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from rounds.science.constants import CO2_SOLUBILITY, FORMED, log_k
from rounds.science.equilibrium import Equilibrium
from rounds.science.solution import Solution

LOWEST_PH, HIGHEST_PH = 3.0, 10.0
_COARSE = 0.5
_PER_PH = 20
"""Rows of the fine table per pH."""
_ROWS = int((HIGHEST_PH - LOWEST_PH) * _PER_PH)
_LAST = _ROWS - 1e-6


@dataclass(frozen=True, slots=True)
class Curve:
    """Alkalinity against pH, part by part.

    alkalinity = phosphate x `per_phosphate` + carbonate x `per_carbonate` + `bare`, to the end point where only
    H2PO4-, CO2 and NH4+ are left. [meq/L, mmol/L]
    """

    per_phosphate: tuple[float, ...]
    per_carbonate: tuple[float, ...]
    bare: tuple[float, ...]
    held: tuple[float, ...]
    """Carbonate that a CO2 pressure holds. [mmol/(L atm)]"""
    held_alkalinity: tuple[float, ...]
    """`held` x `per_carbonate`. [meq/(L atm)]"""

    def parts(self, ph: float) -> tuple[float, float, float, float]:
        """per_phosphate, per_carbonate, bare and held at a pH of 3-10."""
        at = _place(ph)
        i = int(at)
        f = at - i
        g = 1.0 - f
        return (
            g * self.per_phosphate[i] + f * self.per_phosphate[i + 1],
            g * self.per_carbonate[i] + f * self.per_carbonate[i + 1],
            g * self.bare[i] + f * self.bare[i + 1],
            g * self.held[i] + f * self.held[i + 1],
        )

    def alkalinity_meq_l(self, ph: float, phosphate: float, carbonate: float) -> float:
        """Alkalinity at a pH, with all CO2 kept in. [meq/L]"""
        per_p, per_c, bare, _ = self.parts(ph)
        return phosphate * per_p + carbonate * per_c + bare

    def ph_closed(self, alkalinity_meq_l: float, phosphate: float, carbonate: float, guess: float = 6.0) -> float:
        """The pH of that alkalinity, phosphate and carbonate; held at 3 and 10 where it lies beyond."""
        return _solve(alkalinity_meq_l, phosphate, self.per_phosphate, carbonate, self.per_carbonate, self.bare, guess)

    def ph_held(self, alkalinity_meq_l: float, phosphate: float, pressure_atm: float, guess: float = 6.0) -> float:
        """The pH of that alkalinity and phosphate under a CO2 pressure; held at 3 and 10 where it lies beyond."""
        return _solve(
            alkalinity_meq_l, phosphate, self.per_phosphate, pressure_atm, self.held_alkalinity, self.bare, guess
        )

    def slope_meq_l_ph(self, ph: float, phosphate: float, carbonate: float) -> float:
        """Strong acid per litre and pH, with all CO2 kept in. [meq/(L pH)]"""
        i = int(_place(ph))
        here, there = (
            phosphate * self.per_phosphate[j] + carbonate * self.per_carbonate[j] + self.bare[j] for j in (i, i + 1)
        )
        return (there - here) * _PER_PH


def curve_of(solution: Solution, temperature_c: float) -> Curve:
    """The curve of a composition.

    Parameters
    ----------
    solution : Solution
        Totals as assumed; a little phosphate and carbonate is put in where there is none. [mmol/L]
    temperature_c : float
        Temperature, 0-50. [degC]
    """
    rows = _coarse_rows(solution, temperature_c)
    per_phosphate, per_carbonate, bare, log_held = (_fine([row[k] for row in rows]) for k in range(4))
    held = tuple(10.0**v for v in log_held)
    return Curve(
        per_phosphate=per_phosphate,
        per_carbonate=per_carbonate,
        bare=bare,
        held=held,
        held_alkalinity=tuple(h * c for h, c in zip(held, per_carbonate, strict=True)),
    )


def _coarse_rows(solution: Solution, temperature_c: float) -> list[tuple[float, float, float, float]]:
    import dataclasses
    import math

    there = dataclasses.replace(
        solution, po4=max(solution.po4, 1e-3), carbonate=min(max(solution.carbonate, 1e-3), 2.0), citrate=0.0
    )
    equilibrium = Equilibrium(there, temperature_c)
    log_solubility = log_k(CO2_SOLUBILITY, temperature_c)
    rows = []
    for step in range(int((HIGHEST_PH - LOWEST_PH) / _COARSE) + 1):
        equilibrium.settle(LOWEST_PH + step * _COARSE)
        amounts = equilibrium.amounts_m()
        log_gamma_co2 = equilibrium.log_gammas_by_name()["CO2"]
        per_p, per_c, bare = _shares(amounts, there)
        pressure = amounts["CO2"] * 10.0 ** (log_gamma_co2 - log_solubility)
        rows.append((per_p, per_c, bare, math.log10(there.carbonate / pressure)))
    return rows


def _shares(amounts: dict[str, float], solution: Solution) -> tuple[float, float, float]:
    phosphate, carbonate, bare = 2.0 * amounts["PO4-3"], 2.0 * amounts["CO3-2"], amounts_without_anion(amounts)
    for species in FORMED:
        amount = amounts.get(species.name, 0.0)
        if species.anion == "po4":
            phosphate += (2 - species.protons) * amount
        elif species.anion == "carbonate":
            carbonate += (2 - species.protons) * amount
        elif species.anion == "so4":
            bare -= species.protons * amount
    return phosphate * 1000.0 / solution.po4, carbonate * 1000.0 / solution.carbonate, bare * 1000.0


def amounts_without_anion(amounts: dict[str, float]) -> float:
    """Alkalinity of the water itself and of ammonia: OH- and NH3 less H+. [mol/L]"""
    return amounts.get("OH-", 0.0) + amounts.get("NH3", 0.0) - amounts["H+"]


def _fine(values: Sequence[float]) -> tuple[float, ...]:
    """A cubic through the coarse rows, read off at the fine ones."""
    n = len(values)
    slopes = [
        (values[min(i + 1, n - 1)] - values[max(i - 1, 0)]) / (min(i + 1, n - 1) - max(i - 1, 0)) for i in range(n)
    ]
    per = int(_PER_PH * _COARSE)
    fine = []
    for row in range(_ROWS + 1):
        i = min(row // per, n - 2)
        t = row / per - i
        rise = values[i + 1] - values[i]
        bend = slopes[i] + slopes[i + 1] - 2.0 * rise
        fine.append(values[i] + t * (slopes[i] + t * (3.0 * rise - 2.0 * slopes[i] - slopes[i + 1] + t * bend)))
    return tuple(fine)


def _place(ph: float) -> float:
    return min(max((ph - LOWEST_PH) * _PER_PH, 0.0), _LAST)


def _solve(
    target: float,
    first: float,
    firsts: tuple[float, ...],
    second: float,
    seconds: tuple[float, ...],
    bare: tuple[float, ...],
    guess: float,
) -> float:
    """Row by row towards the target: Newton between neighbouring rows, halving where that does not settle."""
    low, high, i = 0, _ROWS, int(_place(guess))
    while True:
        here = first * firsts[i] + second * seconds[i] + bare[i]
        slope = first * firsts[i + 1] + second * seconds[i + 1] + bare[i + 1] - here
        ahead = (target - here) / slope
        if 0.0 <= ahead <= 1.0:
            return LOWEST_PH + (i + ahead) / _PER_PH
        if ahead > 1.0:
            low = i + 1
        else:
            high = i
        if low >= high:
            return LOWEST_PH + (low if ahead > 0.0 else high) / _PER_PH
        jump = i + int(ahead) if -20.0 < ahead < 20.0 else i + (20 if ahead > 0.0 else -20)
        i = jump if low <= jump < high else (low + high) // 2
