"""pH from composition, and composition from pH.

All pH are activities, as a glass electrode shows them, at the temperature of the solution.
"""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass
from types import MappingProxyType

from rounds.errors import BadInput, OutOfRange
from rounds.science.constants import CO2_SOLUBILITY, log_k
from rounds.science.equilibrium import Equilibrium
from rounds.science.solution import LARGEST_MMOL_L, Solution

AIR_PCO2_ATM = 4.2e-4
"""Partial pressure of CO2 in outdoor air at sea level, 420 ppm. [atm]"""

_MMOL = 1000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Speciation:
    """The dissolved forms of one solution at one pH and temperature."""

    ph: float
    temperature_c: float
    ionic_strength_mmol_l: float
    species_mmol_l: MappingProxyType[str, float]
    """Concentration by name, such as `HPO4-2`, `CaSO4`, `CO2`. [mmol/L]"""
    log_activity: MappingProxyType[str, float]
    """Activity by the same names, log base 10, only of what is there. [mol/L]"""
    buffer_meq_l_ph: float
    """Strong acid per litre that lowers the pH by one, near this pH, CO2 kept in. [meq/(L pH)]"""
    charge_meq_l: float
    """Charge left over: 0 where the pH is the solution's own; above 0: the solution's own pH is higher. [meq/L]"""


def speciate(solution: Solution, ph: float, temperature_c: float) -> Speciation:
    """The dissolved forms at a given pH, whether or not the charges balance there.

    Parameters
    ----------
    solution : Solution
        Totals. [mmol/L]
    ph : float
        pH at `temperature_c`, 1-12.5. [-]
    temperature_c : float
        Temperature, 0-50. [degC]

    Raises
    ------
    OutOfRange
        Where pH or temperature is outside the range.

    Examples
    --------
    >>> round(speciate(Solution(po4=1.0), 7.0, 25.0).species_mmol_l["HPO4-2"], 2)
    0.41
    """
    equilibrium = Equilibrium(solution, temperature_c)
    equilibrium.settle(checked_ph(ph))
    return _reported(equilibrium)


def ph_closed(solution: Solution, temperature_c: float, guess: float = 6.5) -> float:
    """pH of a solution whose CO2 cannot leave: the moment after mixing or dosing.

    Parameters
    ----------
    solution : Solution
        Totals. [mmol/L]
    temperature_c : float
        Temperature, 0-50. [degC]
    guess : float
        Where to start the search; saves time only. [-]

    Returns
    -------
    float
        pH at that temperature. [-]

    Raises
    ------
    OutOfRange
        Where the charges balance at no pH between 0.5 and 13, or the temperature is outside the range.

    Examples
    --------
    >>> round(ph_closed(Solution(no3=1.0), 25.0), 1)
    3.0
    """
    return Equilibrium(solution, temperature_c).balance(guess)


def ph_open(solution: Solution, temperature_c: float, pco2_atm: float = AIR_PCO2_ATM, guess: float = 7.0) -> float:
    """pH once the CO2 has come to rest with the air above; the solution's own carbonate does not matter then.

    Parameters
    ----------
    solution : Solution
        Totals; alkalinity and ions count, `carbonate` does not. [mmol/L]
    temperature_c : float
        Temperature, 0-50. [degC]
    pco2_atm : float
        Partial pressure of CO2, above 0 and up to 1; outdoor air 0.00042. [atm]
    guess : float
        Where to start the search; saves time only. [-]

    Raises
    ------
    OutOfRange
        As `ph_closed`, and where the partial pressure is outside the range.

    Examples
    --------
    >>> round(ph_open(Solution(), 25.0), 1)
    5.6
    """
    return Equilibrium(solution, temperature_c, co2_activity_m(pco2_atm, temperature_c)).balance(guess)


def pco2_atm(solution: Solution, temperature_c: float, ph: float | None = None) -> float:
    """Partial pressure of CO2 the solution would come to rest with; outdoor air has 0.00042. [atm]

    Parameters
    ----------
    solution : Solution
        Totals. [mmol/L]
    temperature_c : float
        Temperature, 0-50. [degC]
    ph : float, optional
        pH; the solution's own where left out. [-]
    """
    equilibrium = Equilibrium(solution, temperature_c)
    equilibrium.settle(equilibrium.balance() if ph is None else checked_ph(ph))
    co2_m = equilibrium.amounts_m().get("CO2", 0.0)
    log_gamma = equilibrium.log_gammas_by_name()["CO2"]
    return co2_m * math.pow(10.0, log_gamma - log_k(CO2_SOLUBILITY, temperature_c))


def aired(solution: Solution, temperature_c: float, pressure_atm: float = AIR_PCO2_ATM) -> Solution:
    """The solution with the carbonate it has once at rest with air of that CO2 pressure.

    Examples
    --------
    >>> aired(Solution(na=1.0, carbonate=5.0), 25.0).carbonate < 1.1
    True
    """
    equilibrium = Equilibrium(solution, temperature_c, co2_activity_m(pressure_atm, temperature_c))
    equilibrium.settle(equilibrium.balance(7.0))
    return dataclasses.replace(solution, carbonate=equilibrium.carbonate_m() * _MMOL)


def with_ph(solution: Solution, ph: float, temperature_c: float) -> Solution:
    """The solution with as much carbonate as makes its pH the one read, alkalinity and ions as they are.

    Use it where CO2 is what is unknown: a reading of a reservoir or of a water whose alkalinity is known.

    Parameters
    ----------
    solution : Solution
        Totals; its carbonate is replaced. [mmol/L]
    ph : float
        pH read, 3-9. [-]
    temperature_c : float
        Temperature, 0-50. [degC]

    Raises
    ------
    OutOfRange
        Where no amount of CO2 explains the reading: without any, the pH would already be lower than read, or the
        alkalinity is nil. The sentence says which pH is the highest possible.

    Examples
    --------
    >>> round(with_ph(Solution(na=2.0), 7.5, 25.0).carbonate, 2)
    2.13
    """
    carbonate = _carbonate_for(solution, checked_ph(ph), temperature_c)
    if carbonate is None:
        highest = ph_closed(dataclasses.replace(solution, carbonate=0.0), temperature_c)
        raise OutOfRange(
            f"pH {ph:g} does not fit this composition: without any CO2 it would be {highest:.2f}.",
            "Alkalinity, phosphate or ammonium are not what was assumed; or the meter is off.",
        )
    return dataclasses.replace(solution, carbonate=carbonate)


def with_ph_by_charge(solution: Solution, ph: float, temperature_c: float) -> Solution:
    """The solution with as much inert charge as makes its pH the one read, carbonate and ions as they are.

    Use it where alkalinity is what is unknown: the inert charge takes up what no one measured.

    Examples
    --------
    >>> round(with_ph_by_charge(Solution(carbonate=2.0), 6.35, 25.0).inert_meq_l, 1)
    1.0
    """
    bare = dataclasses.replace(solution, inert_meq_l=0.0)
    equilibrium = Equilibrium(bare, temperature_c)
    inert = 0.0
    for _ in range(50):
        equilibrium.settle(checked_ph(ph))
        change = -equilibrium.charge_m * _MMOL
        inert += change
        if abs(change) < 1e-9:
            break
        equilibrium.load(dataclasses.replace(bare, inert_meq_l=inert))
    return dataclasses.replace(bare, inert_meq_l=inert)


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
    carbonate = _carbonate_for(closed, ph, temperature_c) or 0.0
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


def co2_activity_m(pressure_atm: float, temperature_c: float) -> float:
    """Activity of dissolved CO2 under a partial pressure of CO2, above 0 and up to 1 atm. [mol/L]"""
    if not 0.0 < pressure_atm <= 1.0:
        raise OutOfRange(
            f"A CO2 pressure of {pressure_atm} atm is not believable.",
            "Expected above 0 and up to 1 atm; air has 0.00042.",
        )
    return pressure_atm * math.pow(10.0, log_k(CO2_SOLUBILITY, temperature_c))


def checked_ph(ph: float) -> float:
    """The pH, if it is one a solution here can have (1-12.5). [-]"""
    if not 1.0 <= ph <= 12.5:
        raise OutOfRange(f"A pH of {ph} is not believable.", "Expected 1 to 12.5.")
    return ph


def _carbonate_for(solution: Solution, ph: float, temperature_c: float) -> float | None:
    """Carbonate that balances the charges at a pH; None where a negative amount would be needed."""
    bare = dataclasses.replace(solution, carbonate=0.0)
    equilibrium = Equilibrium(bare, temperature_c)
    equilibrium.settle(ph)
    excess = equilibrium.charge_m * _MMOL
    if excess < 0.0:
        return None
    before, carbonate = (0.0, excess), excess
    for _ in range(50):
        if not carbonate <= LARGEST_MMOL_L:
            return None
        equilibrium.load(dataclasses.replace(bare, carbonate=carbonate))
        equilibrium.settle(ph)
        now = equilibrium.charge_m * _MMOL
        if abs(now) < 1e-9 or now == before[1]:
            return carbonate
        carbonate, before = _secant(before, (carbonate, now)), (carbonate, now)
    return carbonate


def _secant(one: tuple[float, float], other: tuple[float, float]) -> float:
    return max(0.0, other[0] - other[1] * (other[0] - one[0]) / (other[1] - one[1]))


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


def _reported(equilibrium: Equilibrium) -> Speciation:
    amounts = equilibrium.amounts_m()
    gammas = equilibrium.log_gammas_by_name()
    return Speciation(
        ph=equilibrium.ph,
        temperature_c=equilibrium.temperature_c,
        ionic_strength_mmol_l=equilibrium.ionic_strength_m * _MMOL,
        species_mmol_l=MappingProxyType({name: m * _MMOL for name, m in amounts.items()}),
        log_activity=MappingProxyType({n: math.log10(m) + gammas[n] for n, m in amounts.items() if m > 0.0}),
        buffer_meq_l_ph=equilibrium.buffer_m * _MMOL,
        charge_meq_l=equilibrium.charge_m * _MMOL,
    )
