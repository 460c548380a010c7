"""A fill: water, most of the acid, stir and air, A, B, trim. Calcium phosphate falls out in any other order."""

from __future__ import annotations

import math
from dataclasses import replace

from rounds.advice import belief as b
from rounds.advice.case import Case
from rounds.advice.composition import KnownWater, mixed_feed, strength_for_ec
from rounds.advice.explaining import of_dose
from rounds.advice.gates import gates_for
from rounds.advice.gaussian import quantile
from rounds.advice.ledger import parcel_of
from rounds.advice.measures import litres_near, millilitres_down
from rounds.advice.plan import Plan
from rounds.advice.planning_ph import Dose, buffers, careful, kept_above_lowest
from rounds.advice.planning_water import WaterPlan
from rounds.advice.products import Bottle, chosen
from rounds.advice.stand import Stand
from rounds.advice.steps import Finding, Refusal
from rounds.errors import RoundsError
from rounds.science.conductivity import ec25_ms_cm
from rounds.science.dosing import dose_for_ph
from rounds.science.solution import mix

ACID_SHARE = 0.75
"""Of the acid of the book, poured before the concentrates: 70-80 %, practice. [-]"""
_AIR_TURNOVERS = 3.0
_Z_WEAK = 1.645
_WATER_PH_SD = 0.03
"""Of a water as it comes: what is in doubt is its alkalinity, and that stands in the spread of its CO2. [-]"""
_LEFT_MEQ_L = 0.3
"""Alkalinity that a feed near pH 6 still has. [meq/L]"""


def acid_of_hard_water(
    case: Case, plan: Plan, water: KnownWater, litres: float, findings: list[Finding], refusals: list[Refusal]
) -> None:
    """Acid for a hard top-up, before A and B: three quarters of the book's, and never more than is safe."""
    low, high = case.stage.ph
    if plan.stand.state.mean[b.PH] <= (low + high) / 2.0:
        return
    gates = gates_for(case, "acid")
    findings += gates.findings
    if gates.shut is not None:
        refusals.append(gates.shut)
        return
    choice = chosen(case, "acid")
    findings += choice.findings
    refusals += choice.refusals
    if choice.bottle is None:
        return
    dose = _hard_dose(case, plan.stand, choice.bottle)
    if dose.measured.amount <= 0.0:
        return
    if gates.needs_buffer_dip:
        plan.buffer_dip()
    before = plan.stand
    plan.circulate("The hard water must have mixed.")
    plan.read_again("pH", f"The acid is for the hard water alone: below pH {(low + high) / 2:.1f} it stays shut.")
    plan.dose(
        choice.bottle, dose, f"More than a tenth is hard water ({water.name}): acid before A and B.",
        of_dose(case, before, choice.bottle, dose),
    )  # fmt: skip
    plan.circulate("Stir and air: the CO2 that was set free leaves.", _AIR_TURNOVERS)


def _hard_dose(case: Case, stand: Stand, bottle: Bottle) -> Dose:
    low, high = case.stage.ph
    cloud = stand.state.cloud(b.POINTS)
    per_ml = parcel_of(bottle.agent.per_ml.scaled(1.0 / stand.volume_l))
    aim = (low + high) / 2.0
    limits = {
        "three quarters": ACID_SHARE * max(0.0, quantile(b.demand(cloud, stand.curve, aim, per_ml), 0.5)),
        "far edge": careful(b.demand(cloud, stand.curve, low, per_ml)),
        "stock": bottle.most_ml,
    }
    return _dose(case, stand, bottle, limits, aim)


def fill_steps(case: Case, plan: Plan, water: WaterPlan, findings: list[Finding], refusals: list[Refusal]) -> None:
    """A change-out: the whole working volume renewed."""
    known = water.water or case.waters[0]
    litres = litres_near(case.reservoir.working_volume_l + case.outside_l)
    plan.stand = _filled(case, plan.stand, known, litres.amount)
    plan.add(
        "change_out", f"Run the old feed out, rinse, and fill with {litres} of {known.name} in all.", why=water.why,
        product=known.id, amount=litres.amount, unit="L",
        cautions=("Old feed goes where local codes allow, never into a ditch or a well.",),
    )  # fmt: skip
    strength = _strength(case, known)
    _fill_acid(case, plan, known, litres.amount, strength, findings, refusals)
    feed = case.feed.feed
    a, b_ml = (millilitres_down(per_l * strength * litres.amount) for per_l in (feed.a_ml_per_l, feed.b_ml_per_l))
    if a.amount > 0.0 and b_ml.amount > 0.0:
        plan.concentrates(a, b_ml, "To the middle of the EC band.", (f"{strength:.2f} of full strength",))
        plan.circulate("B must have mixed before the first reading.", _AIR_TURNOVERS)
    plan.read_again("pH and EC", "A fresh fill is trimmed by what it shows, in small steps.")


def _strength(case: Case, water: KnownWater) -> float:
    """Of full strength for the middle of the band, in the water as its acid leaves it: nitrate for bicarbonate."""
    low, high = case.stage.ec
    turned = max(water.solution.alkalinity_meq_l - _LEFT_MEQ_L, 0.0)
    acidified = replace(
        water.solution, no3=water.solution.no3 + turned, carbonate=max(water.solution.carbonate - turned, 0.0)
    )
    return min(1.5, strength_for_ec(acidified, case.feed, (low + high) / 2.0))


def _filled(case: Case, stand: Stand, water: KnownWater, litres: float) -> Stand:
    carbonate = max(water.solution.carbonate, 1e-3)
    ph = stand.curve.ph_closed(water.solution.alkalinity_meq_l, max(water.solution.po4, 1e-3), carbonate, 7.5)
    state = b.begun(
        ph=ph, ph_sd=_WATER_PH_SD, phosphate=max(water.solution.po4, 2e-3), phosphate_sd=0.3,
        pressure_atm=carbonate / stand.curve.parts(ph)[3], pressure_sd=water.doubt, habits=b.habits_of(stand.state),
    )  # fmt: skip
    inside, ec_book = max(litres - case.outside_l, 0.0), ec25_ms_cm(water.solution, ph)
    return replace(
        stand, inside_l=inside, volume_sd_l=0.03 * litres, solution=water.solution, ec_ms_cm=ec_book, ec_book=ec_book,
        ec_sd=0.05 * water.ec_ms_cm + abs(water.ec_ms_cm - ec_book) / 2.0, state=state,
        ph_range=(ph, max(3.0, ph - 0.4), min(10.0, ph + 0.4)),
    )  # fmt: skip


def _fill_acid(
    case: Case, plan: Plan, water: KnownWater, litres: float, strength: float,
    findings: list[Finding], refusals: list[Refusal],
) -> None:  # fmt: skip
    """Three quarters of the book's acid, and no more than the weakest believable alkalinity takes to the aim."""
    low, high = case.stage.ph
    aim = (low + high) / 2.0
    choice = chosen(case, "acid", fill=True)
    findings += choice.findings
    if choice.bottle is None or water.alkalinity_meq_l < 0.2:
        refusals += choice.refusals
        return
    mixed = mixed_feed(water.solution, case.feed, strength)
    weakest = mix([(water.solution.scaled(math.exp(-_Z_WEAK * water.doubt)), 1.0)]).plus(
        case.feed.full.scaled(strength)
    )
    limits = {"stock": choice.bottle.left_ml}
    try:
        agent = choice.bottle.agent
        limits["three quarters"] = ACID_SHARE * dose_for_ph(mixed, aim, agent, case.temperature_c, litres)
        limits["weakest water"] = 0.9 * dose_for_ph(weakest, aim, agent, case.temperature_c, litres)
    except RoundsError as error:
        findings.append(Finding(code="no-acid-needed", text=error.sentence))
        return
    dose = _dose(case, plan.stand, choice.bottle, limits, aim)
    if dose.measured.amount > 0.0:
        before = plan.stand
        plan.dose(
            choice.bottle, dose, "Most of the acid goes in before A and B, or calcium phosphate falls out.",
            of_dose(case, before, choice.bottle, dose),
        )  # fmt: skip
        plan.circulate("Stir and air: the CO2 that was set free leaves.", _AIR_TURNOVERS)


def _dose(case: Case, stand: Stand, bottle: Bottle, limits: dict[str, float], aim: float) -> Dose:
    """The least of the limits, and less where plain water has too little buffer for it yet."""
    decided_by = min(limits, key=lambda name: limits[name])
    weakest, middle = buffers(stand, stand.state.cloud(b.POINTS))
    return Dose(
        measured=kept_above_lowest(case, stand, bottle.agent, millilitres_down(limits[decided_by])),
        wanted_ml=limits[decided_by], aim_ph=aim, limits_ml=limits,
        decided_by=decided_by, weakest_buffer=weakest, middle_buffer=middle,
    )  # fmt: skip
