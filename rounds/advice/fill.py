"""A fill: water, most of the acid, stir and air, A, B, trim. Calcium phosphate falls out in any other order."""

from __future__ import annotations

import math
from dataclasses import replace

from rounds.advice.case import Case
from rounds.advice.dose_rule import ruling_for_fill, trial_for
from rounds.advice.dosing_ph import FAULTS, PlannedDose, kept_above_lowest
from rounds.advice.explaining import of_dose
from rounds.advice.gates import fill_gates
from rounds.advice.least_buffered import buffers
from rounds.advice.not_by_ec import feed_not_by_ec
from rounds.advice.plan import StepPlan
from rounds.advice.planning_feed import feed_unknown, no_effect_foreseen
from rounds.advice.products import Bottle, chosen
from rounds.advice.projection import Projection
from rounds.advice.stopping import fault_stops
from rounds.advice.water_plan import WaterPlan
from rounds.belief import state as b
from rounds.belief.first_reading import water_belief
from rounds.book.composition import KnownWater, mixed_feed, strength_for_ec
from rounds.book.measures import Measured, litres_near, millilitres_down
from rounds.book.message import Message, say
from rounds.book.offer import Finding, Refusal, act, note
from rounds.book.parcel import Parcel, parcel_of
from rounds.errors import RoundsError
from rounds.science.conductivity import ec25_ms_cm
from rounds.science.dosing import after_dose, dose_for_ph
from rounds.science.speciation import ph_closed

ACID_SHARE = 0.75
"""Of the acid, poured before the concentrates: 70-80 %, practice. [-]"""
AIR_TURNOVERS = 3.0
_LEAST_ALKALINITY = 0.2
"""Water with less needs no acid of its own. [meq/L]"""
_SHUT = False
_CUT, _CUTS = 0.95, 30
"""How a pour is cut down until it is safe: by so much, so often. [-]"""
_WORTH_SPLITTING = 0.1
"""A second pour is made where at least this share of the acid is left of three quarters. [-]"""
_SPARE_TIMES = 1.7
"""The second pour is made where so many times what it takes is left: three errors of a meter, and CO2 that left. [-]"""
_AIRED_PH = 0.1
"""What the CO2 that leaves while the first pour mixes adds to the pH: a fifth of it. [-]"""
_Z_WEAK = 1.645
_LEFT_MEQ_L = 0.3
"""Alkalinity that a feed near pH 6 still has. [meq/L]"""


def fill_steps(case: Case, plan: StepPlan, water: WaterPlan, findings: list[Finding], refusals: list[Refusal]) -> None:
    """A change-out: the whole working volume renewed."""
    known = water.water or case.waters[0]
    litres = litres_near(case.reservoir.working_volume_l + case.outside_l)
    plan.projected = _filled(case, plan.projected, known, litres.amount)
    plan.add(
        "change_out", say("change-out", measured=str(litres), name=known.name), why=water.why,
        product=known.id, amount=litres.amount, unit="L",
        cautions=("Old feed goes where local codes allow, never into a ditch or a well.",),
    )  # fmt: skip
    slow = feed_not_by_ec(case)
    if slow is not None:
        refusals.append(slow)
        return
    if case.feed.unknown:
        refusals.append(feed_unknown(case))
        return
    strength = _strength(case, known)
    if not plan.projected.feeding_proven:
        strength = min(strength, 1.0)
    if _fill_acid(case, plan, known, litres.amount, strength, findings, refusals) is _SHUT and known.is_hard:
        findings.append(act("feed-waits-for-acid", about="feed-waits"))
        return
    pours = tuple(millilitres_down(per_l * strength * litres.amount) for per_l in case.feed.ml_per_l)
    idle = no_effect_foreseen(case, plan.projected, plan.stand_with(pours), sum(case.stage.ec) / 2.0)
    if idle is not None:
        refusals.append(idle)
    elif all(pour.amount > 0.0 for pour in pours):
        plan.concentrates(pours, say("middle-of-band"), (f"{strength:.2f} of full strength",))


def _strength(case: Case, water: KnownWater) -> float:
    """Of full strength for the middle of the band, in the water as its acid leaves it: nitrate for bicarbonate."""
    low, high = case.stage.ec
    turned = max(water.solution.alkalinity_meq_l - _LEFT_MEQ_L, 0.0)
    acidified = replace(
        water.solution, no3=water.solution.no3 + turned, carbonate=max(water.solution.carbonate - turned, 0.0)
    )
    return min(1.5, strength_for_ec(acidified, case.feed, (low + high) / 2.0))


def _filled(case: Case, projected: Projection, water: KnownWater, litres: float) -> Projection:
    state = water_belief(water.solution, water.doubt, projected.curve, b.habits_of(projected.state))
    ph = state.mean[b.PH]
    inside, ec_book = max(litres - case.outside_l, 0.0), ec25_ms_cm(water.solution, ph)
    return replace(
        projected, inside_l=inside, volume_sd_l=0.03 * litres, solution=water.solution,
        ec_ms_cm=ec_book, ec_book=ec_book,
        ec_sd=0.05 * water.ec_ms_cm + abs(water.ec_ms_cm - ec_book) / 2.0, state=state,
        ph_range=(ph, max(3.0, ph - 0.4), min(10.0, ph + 0.4)),
    )  # fmt: skip


def _fill_acid(
    case: Case, plan: StepPlan, water: KnownWater, litres: float, strength: float,
    findings: list[Finding], refusals: list[Refusal],
) -> bool:  # fmt: skip
    """Three quarters of the acid with which the water stays in band once its CO2 has left; the rest goes by reading.

    The first pour is safe for the weakest believable water while the CO2 is in; the second hangs on a reading between.

    Returns
    -------
    bool
        False where acid is needed and cannot be poured.
    """
    if water.alkalinity_meq_l < _LEAST_ALKALINITY:
        return True
    choice, gates = chosen(case, "acid", fill=True), fill_gates(case)
    findings += choice.findings
    if choice.bottle is None:
        refusals += choice.refusals
        return _SHUT
    findings += gates.findings
    if gates.shut is not None:
        refusals.append(gates.shut)
        return _SHUT
    bottle, aim = choice.bottle, sum(case.stage.ph) / 2.0
    mixed = mixed_feed(water.solution, case.feed, strength)
    weakest = water.solution.scaled(math.exp(-_Z_WEAK * water.doubt)).plus(case.feed.full.scaled(strength))
    limits = {"stock": bottle.left_ml}
    try:
        whole_ml = dose_for_ph(mixed, aim, bottle.agent, case.temperature_c, litres, _resting_atm(plan))
        limits["three quarters"] = ACID_SHARE * whole_ml
        limits["weakest water"] = 0.9 * dose_for_ph(weakest, aim, bottle.agent, case.temperature_c, litres)
    except RoundsError as error:
        findings.append(note("no-acid-needed", sentence=error.sentence))
        return True
    rest_ml = min(limits.values())
    ruling = ruling_for_fill(case, plan.projected, water, bottle.product.id, _per_ml(bottle, litres), rest_ml)
    stopped = fault_stops(plan, ruling, bottle, rest_ml / litres)
    if stopped is not None:
        refusals.append(stopped)
        return _SHUT
    if ruling.limits is not None:
        limits |= {"harm": ruling.limits.as_told, FAULTS: ruling.limits.in_spite_of_faults}
    first = least_of(case, plan.projected, bottle, limits, aim)
    trial = trial_for(case, ruling, bottle.product.id, rest_ml, litres, water=water)
    if trial is not None and not gates.probe_is_off:
        plan.ask(trial, bottle, water, first=True)
    if first.measured.amount <= 0.0:
        return trial is None
    if gates.needs_buffer_dip:
        plan.buffer_dip()
    _pour(case, plan, bottle, first, say("acid-before-feed"))
    if trial is not None:
        return _SHUT
    poured_ml = first.measured.amount
    more_ml = min(limits["three quarters"], limits["stock"]) - poured_ml
    if more_ml >= _WORTH_SPLITTING * whole_ml and not gates.probe_is_off:
        poured_ml += _second_pour(case, plan, water, bottle, (poured_ml, more_ml), litres, aim)
    findings += _rest_of_acid(bottle, whole_ml - poured_ml, aim)
    return True


def _per_ml(bottle: Bottle, litres: float) -> Parcel:
    return parcel_of(bottle.agent.per_ml.scaled(1.0 / litres))


def _pour(
    case: Case, plan: StepPlan, bottle: Bottle, dose: PlannedDose, why: Message, only_above: float | None = None
) -> None:
    before = plan.projected
    plan.dose(bottle, dose, why, of_dose(case, before, bottle, dose), only_above)
    plan.circulate(say("stir-and-air"), AIR_TURNOVERS)


def _second_pour(
    case: Case,
    plan: StepPlan,
    water: KnownWater,
    bottle: Bottle,
    pours_ml: tuple[float, float],
    litres: float,
    aim: float,
) -> float:
    """The pour that brings the acid to three quarters, where the pH after the first says the water is hard enough."""
    first_ml, more_ml = pours_ml
    expected = plan.projected.state.mean[b.PH]
    for _ in range(_CUTS):
        only_above = _shown_by_barely_enough(case, water, bottle, (first_ml, more_ml), litres)
        if only_above <= expected - case.ph_sd:
            break
        more_ml *= _CUT
    else:
        return 0.0
    dose = least_of(case, _having_read(case, plan.projected, only_above), bottle, {"three quarters": more_ml}, aim)
    if dose.measured.amount <= 0.0:
        return 0.0
    plan.projected = _having_read(case, plan.projected, expected)
    plan.read_when_mixed()
    _pour(case, plan, bottle, dose, say("how-hard-it-is"), only_above)
    return dose.measured.amount


def _shown_by_barely_enough(
    case: Case, water: KnownWater, bottle: Bottle, pours_ml: tuple[float, float], litres: float
) -> float:
    """The pH after the first pour of a water that just bears the second, on the safe side of meter and CO2. [-]"""
    per_ml = -bottle.agent.per_ml.alkalinity_meq_l / litres
    needed_meq_l = (pours_ml[0] + _SPARE_TIMES * pours_ml[1]) * per_ml
    barely = water.solution.scaled(needed_meq_l / water.alkalinity_meq_l)
    shown = ph_closed(after_dose(barely, bottle.agent, pours_ml[0], litres), case.temperature_c)
    return math.ceil((shown + _AIRED_PH + case.ph_sd) * 10.0) / 10.0


def _having_read(case: Case, projected: Projection, ph: float) -> Projection:
    """A stand at which this pH was read: it narrows down how hard the water is."""
    return replace(projected, state=projected.state.seen(b.PH, ph, case.ph_sd))


def _resting_atm(plan: StepPlan) -> float:
    """CO2 that a reservoir rests at, as believed: where nothing is known, three times the air's. [atm]"""
    return math.exp(plan.projected.state.mean[b.RESTING])


def _rest_of_acid(bottle: Bottle, rest_ml: float, aim: float) -> list[Finding]:
    """What the first pour leaves for later, where that can be measured."""
    rest = millilitres_down(rest_ml)
    if rest.amount <= 0.0:
        return []
    return [note("rest-of-acid", rest=str(rest), name=bottle.product.name, aim=aim)]


def least_of(case: Case, projected: Projection, bottle: Bottle, limits: dict[str, float], aim: float) -> PlannedDose:
    """The least of the limits, and less where plain water has too little buffer for it yet."""
    decided_by = min(limits, key=lambda name: limits[name])
    weakest, middle = buffers(projected, projected.state.cloud(b.POINTS))
    return PlannedDose(
        measured=_kept_above_lowest(case, projected, bottle, limits[decided_by]),
        wanted_ml=limits[decided_by], aim_ph=aim, limits_ml=limits,
        decided_by=decided_by, weakest_buffer=weakest, middle_buffer=middle,
    )  # fmt: skip


def _kept_above_lowest(case: Case, projected: Projection, bottle: Bottle, ml: float) -> Measured:
    """As much of a pour as no prediction takes below the lowest pH; by small cuts, since it is most of the acid."""
    measured = millilitres_down(ml)
    for _ in range(_CUTS):
        if measured.amount <= 0.0 or kept_above_lowest(case, projected, bottle.agent, measured) == measured:
            return measured
        measured = millilitres_down(measured.amount * _CUT)
    return kept_above_lowest(case, projected, bottle.agent, measured)
