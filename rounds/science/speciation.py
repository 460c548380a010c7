"""pH from composition; composition from pH is in `ph_fit`, waters from analyses in `water_analysis`.

All pH are activities, as a glass electrode shows them, at the temperature of the solution.
"""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass
from types import MappingProxyType

from rounds.errors import OutOfRange
from rounds.science.constants import CO2_SOLUBILITY, log_k
from rounds.science.equilibrium import Equilibrium, checked_ph
from rounds.science.ph_fit import with_ph, with_ph_by_charge
from rounds.science.solution import Solution
from rounds.science.water_analysis import AnalysedWater, carbonate_from_alkalinity, water_from_analysis

__all__ = [
    "AIR_PCO2_ATM", "AnalysedWater", "Speciation", "aired", "carbonate_from_alkalinity", "checked_ph", "co2_activity_m",
    "pco2_atm", "ph_closed", "ph_open", "speciate", "water_from_analysis", "with_ph", "with_ph_by_charge",
]  # fmt: skip

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


def co2_activity_m(pressure_atm: float, temperature_c: float) -> float:
    """Activity of dissolved CO2 under a partial pressure of CO2, above 0 and up to 1 atm. [mol/L]"""
    if not 0.0 < pressure_atm <= 1.0:
        raise OutOfRange(
            f"A CO2 pressure of {pressure_atm} atm is not believable.",
            "Expected above 0 and up to 1 atm; air has 0.00042.",
        )
    return pressure_atm * math.pow(10.0, log_k(CO2_SOLUBILITY, temperature_c))


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
