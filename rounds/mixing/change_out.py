"""A change-out as a sheet: water, most of the acid, air, A, B, trim. The steps are those that corrections use."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import datetime

from rounds.advice.case import Case, gathered
from rounds.advice.fill import fill_steps
from rounds.advice.plan import StepPlan
from rounds.advice.water_plan import WaterPlan
from rounds.advice.wording import steps_in_words, words
from rounds.belief.state import RESTING
from rounds.book.composition import agent_of, concentrate_solution
from rounds.book.entry import RecordLike
from rounds.book.message import say
from rounds.book.offer import Finding, Readings, Refusal
from rounds.errors import Refused
from rounds.farm.farm import Farm
from rounds.farm.shelf import Acid, Base, Concentrate
from rounds.mixing.sheet import MixSheet, MixStep
from rounds.science.conductivity import ec25_ms_cm
from rounds.science.dosing import dose_for_ph
from rounds.science.solution import Solution
from rounds.science.speciation import ph_closed, ph_open


def change_out_sheet(farm: Farm, records: Sequence[RecordLike], reservoir_id: str, now: datetime) -> MixSheet:
    """The sheet for renewing a whole reservoir with its usual water.

    Parameters
    ----------
    records : sequence of record
        Effective records, for what is left of each product.

    Raises
    ------
    NotFound
        Where there is no such reservoir.
    Refused
        Where acid is needed and none of known strength is there.
    """
    reservoir = farm.reservoir(reservoir_id)
    case = gathered(farm, records, reservoir_id, Readings(at=now), now)
    plan = StepPlan(case)
    findings: list[Finding] = []
    refusals: list[Refusal] = []
    fill_steps(case, plan, WaterPlan(change_out=True, why=say("all-is-renewed")), findings, refusals)
    if refusals:
        refusal = refusals[0]
        raise Refused(words(refusal.says), words(refusal.hint))
    steps = steps_in_words(plan.steps)
    cautions = tuple(dict.fromkeys(caution for step in steps for caution in step.cautions))
    figures = _poured(plan)
    mixed, resting_atm = _mixed(case, plan), math.exp(plan.projected.state.mean[RESTING])
    fresh, aired = ph_closed(mixed, case.temperature_c), ph_open(mixed, case.temperature_c, resting_atm)
    rest_ml = _rest_ml(case, plan, mixed, resting_atm)
    ec = ec25_ms_cm(mixed, fresh)
    return MixSheet(
        kind="change-out",
        title=f"Change-out of {reservoir.name}: {figures.get('change_out_l', 0.0):g} L",
        cautions=cautions,
        steps=tuple(
            MixStep(text=step.text, what=step.product or "", amount=step.amount, unit=step.unit) for step in steps
        ),
        notes=(
            f"Expected then: EC about {ec:.2f} mS/cm; pH about {fresh:.1f} at first and {aired:.1f} once the CO2 has "
            f"left{' and nothing is trimmed' if rest_ml > 0.0 else ''}. Trim by what it shows, in small steps.",
            "In heat at dusk or dawn; the plants stand dry no longer than the pump is off.",
            *(words(finding.says) for finding in findings),
        ),
        figures=figures | {"ph_fresh": fresh, "ph_aired": aired, "ec_ms_cm": ec, "acid_rest_ml": rest_ml},
    )


def _mixed(case: Case, plan: StepPlan) -> Solution:
    """What is dissolved once all steps are done."""
    litres = next(step.amount for step in plan.steps if step.action == "change_out")
    mixed = case.waters[0].solution
    for step in plan.steps:
        product = case.farm.shelf.get(step.product or "")
        if isinstance(product, Concentrate):
            mixed = mixed.plus(concentrate_solution(product).scaled(step.amount / 1000.0 / litres))
        elif isinstance(product, Acid | Base):
            mixed = mixed.plus(agent_of(product).per_ml.scaled(step.amount / litres))
    return mixed


def _rest_ml(case: Case, plan: StepPlan, mixed: Solution, resting_atm: float) -> float:
    """Acid that is still missing for the pH to stay in the middle of the band once the CO2 is at rest. [mL]"""
    poured = next((step for step in plan.steps if step.action == "acid"), None)
    product = case.farm.shelf.get(poured.product or "") if poured is not None else None
    if not isinstance(product, Acid):
        return 0.0
    litres = next(step.amount for step in plan.steps if step.action == "change_out")
    middle = sum(case.stage.ph) / 2.0
    return dose_for_ph(mixed, middle, agent_of(product), case.temperature_c, litres, resting_atm)


def _poured(plan: StepPlan) -> dict[str, float]:
    """How much of what goes in altogether, by names that end in the unit."""
    figures: dict[str, float] = {}
    for step in plan.steps:
        if step.amount > 0.0:
            name = f"{step.action}_{step.unit.lower()}"
            figures[name] = figures.get(name, 0.0) + step.amount
    return figures
