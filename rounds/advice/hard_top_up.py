"""Acid for a top-up of hard water, before A and B: never more than a trim pours on top of what the water takes."""

from __future__ import annotations

from rounds.advice.case import Case
from rounds.advice.explaining import of_dose
from rounds.advice.fill import ACID_SHARE, AIR_TURNOVERS, least_of
from rounds.advice.gates import MIXING_TURNOVERS, Gates, gates_for
from rounds.advice.least_buffered import careful
from rounds.advice.plan import StepPlan
from rounds.advice.planning_ph import PlannedDose, dose_for
from rounds.advice.products import Bottle, chosen
from rounds.advice.projection import Projection
from rounds.belief import state as b
from rounds.belief.gaussian import quantile
from rounds.book.composition import KnownWater
from rounds.book.offer import Finding, Refusal
from rounds.book.parcel import parcel_of
from rounds.errors import RoundsError
from rounds.science.dosing import dose_for_ph


def acid_of_hard_water(
    case: Case, plan: StepPlan, water: KnownWater, litres: float, findings: list[Finding], refusals: list[Refusal]
) -> bool:
    """Acid for a hard top-up, before A and B: what a trim may pour, and three quarters of what the water itself takes.

    Returns
    -------
    bool
        False where the acid hangs on a doubted reading: then it is read again before A and B.
    """
    low, high = case.stage.ph
    if plan.projected.state.mean[b.PH] <= (low + high) / 2.0:
        return True
    gates = gates_for(case, "acid")
    findings += gates.findings
    if gates.shut is not None:
        refusals.append(gates.shut)
        return True
    choice = chosen(case, "acid")
    findings += choice.findings
    refusals += choice.refusals
    if choice.bottle is None:
        return True
    dose = _hard_dose(case, plan.projected, choice.bottle, gates, (water, litres))
    if dose.measured.amount > 0.0:
        _pour_for_hard_water(case, plan, water, choice.bottle, dose, needs_buffer_dip=gates.needs_buffer_dip)
    return not gates.doubted


def _pour_for_hard_water(
    case: Case, plan: StepPlan, water: KnownWater, bottle: Bottle, dose: PlannedDose, *, needs_buffer_dip: bool
) -> None:
    if needs_buffer_dip:
        plan.buffer_dip()
    before, middle = plan.projected, sum(case.stage.ph) / 2.0
    plan.circulate("The hard water must have mixed.", MIXING_TURNOVERS)
    plan.read_again("pH", f"The acid is for the hard water alone: below pH {middle:.1f} it stays shut.")
    plan.dose(
        bottle, dose, f"More than a tenth is hard water ({water.name}): acid before A and B.",
        of_dose(case, before, bottle, dose),
    )  # fmt: skip
    plan.circulate("Stir and air: the CO2 that was set free leaves.", AIR_TURNOVERS)


def _hard_dose(
    case: Case, projected: Projection, bottle: Bottle, gates: Gates, topped: tuple[KnownWater, float]
) -> PlannedDose:
    """No more than a trim may pour on top of what the water itself takes, however alkaline the reservoir reads."""
    low, high = case.stage.ph
    cloud = projected.state.cloud(b.POINTS)
    per_ml = parcel_of(bottle.agent.per_ml.scaled(1.0 / projected.volume_l))
    aim = (low + high) / 2.0
    trim = dose_for(case, projected, bottle.agent, "acid", gates, bottle.most_ml)
    limits = {
        "three quarters": ACID_SHARE * max(0.0, quantile(b.demand(cloud, projected.curve, aim, per_ml), 0.5)),
        "far edge": careful(b.demand(cloud, projected.curve, low, per_ml)),
        "water and a step": _taken_by_water(case, bottle, *topped) + max(trim.wanted_ml, 0.0),
        "most at once": trim.limits_ml["most at once"],
        "last dose": trim.limits_ml["last dose"],
        "stock": bottle.most_ml,
    }
    return least_of(case, projected, bottle, limits, aim)


def _taken_by_water(case: Case, bottle: Bottle, water: KnownWater, litres: float) -> float:
    """Three quarters of the acid that brings the water alone to the middle of the band, its CO2 still in it. [mL]"""
    try:
        whole = dose_for_ph(water.solution, sum(case.stage.ph) / 2.0, bottle.agent, case.temperature_c, litres)
    except RoundsError:
        return 0.0
    return ACID_SHARE * whole
