"""Every dose both ways: acid or base for a wanted pH, and the pH after a dose."""

from __future__ import annotations

import math

from rounds.errors import OutOfRange, Refused
from rounds.science.acids_bases import Agent, checked_dose
from rounds.science.equilibrium import Equilibrium
from rounds.science.solution import Solution, mix
from rounds.science.speciation import AIR_PCO2_ATM, co2_activity_m, ph_closed, ph_open

LOWEST_TARGET_PH, HIGHEST_TARGET_PH = 4.0, 8.0
MOST_ML_PER_L = 100.0
"""No dose is sought beyond a tenth of the volume."""

_SAME_PH = 0.005
_SAME_DOSE = 1e-6
_MOST_STEPS = 40


def dose_for_ph(
    solution: Solution,
    target_ph: float,
    agent: Agent,
    temperature_c: float,
    volume_l: float,
    pco2_atm: float | None = None,
) -> float:
    """Millilitres of an acid or base that bring a volume to a wanted pH.

    Parameters
    ----------
    solution : Solution
        What is in the reservoir; its own pH is where its charges balance (see `with_ph`). [mmol/L]
    target_ph : float
        Wanted pH, 4-8. [-]
    agent : Agent
        The bottle it is poured from.
    temperature_c : float
        Temperature, 0-50. [degC]
    volume_l : float
        Circulating volume, above 0. [L]
    pco2_atm : float, optional
        Partial pressure of CO2 to come to rest with; left out: the CO2 stays in. [atm]

    Returns
    -------
    float
        Dose, 0 where the solution is at the target already (within 0.005 pH). [mL]

    Raises
    ------
    OutOfRange
        Where target, volume or temperature is outside the range.
    Refused
        Where this agent moves the pH the other way, or cannot reach the target with a tenth of the volume.

    Examples
    --------
    >>> from rounds.science.acids_bases import agent_by_molarity
    >>> acid = agent_by_molarity("nitric", 1.0)
    >>> round(dose_for_ph(Solution(na=2.0, carbonate=2.14), 5.8, acid, 25.0, 100.0))
    151
    """
    _check_target(target_ph)
    _check_volume(volume_l)
    activity = None if pco2_atm is None else co2_activity_m(pco2_atm, temperature_c)
    equilibrium = Equilibrium(solution, temperature_c, activity)
    equilibrium.settle(target_ph)
    gap = equilibrium.charge_m
    if abs(gap) < _SAME_PH * equilibrium.buffer_m:
        return 0.0
    if (gap > 0.0) != agent.kind.is_acid:
        raise _wrong_way(agent, target_ph)
    return _dose_ml_per_l(equilibrium, solution, agent, target_ph) * volume_l


def after_dose(solution: Solution, agent: Agent, dose_ml: float, volume_l: float) -> Solution:
    """The solution once a dose is mixed in, its volume counted. [mmol/L]

    Examples
    --------
    >>> from rounds.science.acids_bases import agent_by_molarity
    >>> round(after_dose(Solution(), agent_by_molarity("nitric", 1.0), 100.0, 99.9).no3, 6)
    1.0
    """
    _check_volume(volume_l)
    concentrate = agent.per_ml.scaled(1000.0)
    return mix([(solution, volume_l), (concentrate, checked_dose(dose_ml) / 1000.0)])


def ph_after(
    solution: Solution,
    agent: Agent,
    dose_ml: float,
    volume_l: float,
    temperature_c: float,
    pco2_atm: float | None = None,
) -> float:
    """pH once a dose is mixed in: with its CO2 kept in, or at rest with air of a CO2 pressure. [-]

    Examples
    --------
    >>> from rounds.science.acids_bases import agent_by_molarity
    >>> acid = agent_by_molarity("nitric", 1.0)
    >>> round(ph_after(Solution(na=2.0, carbonate=2.14), acid, 151.0, 100.0, 25.0), 1)
    5.8
    """
    dosed = after_dose(solution, agent, dose_ml, volume_l)
    if pco2_atm is None:
        return ph_closed(dosed, temperature_c)
    return ph_open(dosed, temperature_c, pco2_atm)


def ph_when_aired(
    solution: Solution,
    agent: Agent,
    dose_ml: float,
    volume_l: float,
    temperature_c: float,
    pco2_atm: float = AIR_PCO2_ATM,
) -> float:
    """What the pH climbs back to after a dose, once the CO2 it set free has left. [-]"""
    return ph_after(solution, agent, dose_ml, volume_l, temperature_c, pco2_atm)


def acid_demand_meq_l(
    solution: Solution, target_ph: float, temperature_c: float, pco2_atm: float | None = None
) -> float:
    """Strong acid to a wanted pH, below 0 where base is needed: quick and signed, for ranges of what is believable.

    The acid's own volume and nutrient are left out; `dose_for_ph` has them.

    Examples
    --------
    >>> round(acid_demand_meq_l(Solution(na=2.0, carbonate=2.14), 5.8, 25.0), 2)
    1.52
    """
    _check_target(target_ph)
    activity = None if pco2_atm is None else co2_activity_m(pco2_atm, temperature_c)
    equilibrium = Equilibrium(solution, temperature_c, activity)
    equilibrium.settle(target_ph)
    return equilibrium.charge_m * 1000.0


def _dose_ml_per_l(equilibrium: Equilibrium, solution: Solution, agent: Agent, target_ph: float) -> float:
    """Secant on the charge left at the target: nearly straight, so that three or four steps do."""

    def charge(ml_per_l: float) -> float:
        equilibrium.load(after_dose(solution, agent, ml_per_l, 1.0))
        equilibrium.settle(target_ph)
        return equilibrium.charge_m * (1.0 + ml_per_l / 1000.0)

    one, at_one = 0.0, equilibrium.charge_m
    other = abs(at_one) * 1000.0 / agent.mol_per_l
    for _ in range(_MOST_STEPS):
        at_other = charge(other)
        slope = (at_other - at_one) / (other - one)
        if slope == 0.0 or (slope < 0.0) != agent.kind.is_acid:
            break
        following = other - at_other / slope
        if not 0.0 <= following <= MOST_ML_PER_L:
            break
        if abs(following - other) <= _SAME_DOSE * other:
            return following
        one, at_one, other = other, at_other, following
    raise _out_of_reach(agent, target_ph)


def _check_target(target_ph: float) -> None:
    if not LOWEST_TARGET_PH <= target_ph <= HIGHEST_TARGET_PH:
        raise OutOfRange(f"A target of pH {target_ph} is not one to grow at.", "Expected 4 to 8.")


def _check_volume(volume_l: float) -> None:
    if not 0.0 < volume_l < math.inf:
        raise OutOfRange(f"A volume of {volume_l} L cannot be dosed.", "Expected litres above 0.")


def _wrong_way(agent: Agent, target_ph: float) -> Refused:
    way = ("acid", "already at or below") if agent.kind.is_acid else ("base", "already at or above")
    return Refused(
        f"No {way[0]} is needed: the solution is {way[1]} pH {target_ph:g}.", "Nothing to pour from this bottle."
    )


def _out_of_reach(agent: Agent, target_ph: float) -> Refused:
    return Refused(
        f"{agent.kind.name} of {agent.mol_per_l:.3g} mol/L does not bring this solution to pH {target_ph:g}.",
        "Use a stronger bottle or another kind, or change the solution out.",
    )
