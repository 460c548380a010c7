"""Acid for a top-up of hard water, before A and B: never more than a trim pours on top of what the water takes."""

from __future__ import annotations

import math
from dataclasses import replace

from rounds.advice.case import MIXING_TURNOVERS, Case
from rounds.advice.dosing_ph import BELIEVED, FAULTS, PlannedDose, dose_for
from rounds.advice.explaining import of_dose
from rounds.advice.fill import ACID_SHARE, AIR_TURNOVERS, least_of
from rounds.advice.gates import Gates, gates_for
from rounds.advice.least_buffered import careful
from rounds.advice.plan import StepPlan
from rounds.advice.products import Bottle, chosen
from rounds.advice.projection import Projection
from rounds.advice.stopping import fault_stops
from rounds.belief import state as b
from rounds.belief.gaussian import quantile
from rounds.book.composition import KnownWater
from rounds.book.message import say
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
    if dose.ruling is not None:
        stopped = fault_stops(plan, dose.ruling, choice.bottle, dose.rest_ml / plan.projected.volume_l, findings)
        if stopped is not None:
            refusals.append(stopped)
            return True
    if dose.trial is not None and not (gates.needs_buffer_dip and dose.trial.code == "buffer-4"):
        plan.ask(dose.trial, choice.bottle, first=True)
    if dose.measured.amount > 0.0:
        _pour_for_hard_water(case, plan, water, choice.bottle, dose, needs_buffer_dip=gates.needs_buffer_dip)
    return not gates.doubted


def _pour_for_hard_water(
    case: Case, plan: StepPlan, water: KnownWater, bottle: Bottle, dose: PlannedDose, *, needs_buffer_dip: bool
) -> None:
    if needs_buffer_dip:
        plan.buffer_dip()
    before = plan.projected
    plan.circulate(say("hard-water-mixed"), MIXING_TURNOVERS)
    plan.read_again(("pH",), say("worked-out-anew", kind="acid"))
    why = say("acid-for-hard-water", name=water.name)
    plan.dose(bottle, dose, why, of_dose(case, before, bottle, dose))
    plan.circulate(say("stir-and-air"), AIR_TURNOVERS)


def _hard_dose(
    case: Case, projected: Projection, bottle: Bottle, gates: Gates, topped: tuple[KnownWater, float]
) -> PlannedDose:
    """No more than a trim may pour on top of what the water itself takes, however alkaline the reservoir reads."""
    low, high = case.stage.ph
    cloud = projected.state.cloud(b.POINTS)
    per_ml = parcel_of(bottle.agent.per_ml.scaled(1.0 / projected.volume_l))
    aim = (low + high) / 2.0
    trim = dose_for(case, projected, bottle.agent, bottle.product.id, "acid", gates, bottle.most_ml)
    limits = {
        "three quarters": ACID_SHARE * max(0.0, quantile(b.demand(cloud, projected.curve, aim, per_ml), 0.5)),
        "far edge": careful(b.demand(cloud, projected.curve, low, per_ml)),
        "water and a step": _taken_by_water(case, bottle, *topped) + max(trim.wanted_ml, 0.0),
        "harm": trim.limits_ml.get("harm", 0.0),
        FAULTS: trim.limits_ml.get(FAULTS, 0.0),
        BELIEVED: trim.limits_ml.get(BELIEVED, math.inf),
        "stock": bottle.most_ml,
    }
    held = least_of(case, projected, bottle, limits, aim)
    return replace(held, ruling=trim.ruling, trial=trim.trial, rest_ml=trim.rest_ml)


def _taken_by_water(case: Case, bottle: Bottle, water: KnownWater, litres: float) -> float:
    """Three quarters of the acid that brings the water alone to the middle of the band, its CO2 still in it. [mL]"""
    try:
        whole = dose_for_ph(water.solution, sum(case.stage.ph) / 2.0, bottle.agent, case.temperature_c, litres)
    except RoundsError:
        return 0.0
    return ACID_SHARE * whole
