"""The order of a trim: water, A, circulate, B, circulate, EC, then acid or base in steps."""

from __future__ import annotations

from dataclasses import dataclass, field

from rounds.advice import dosing_ph, planning_feed, planning_ph, planning_water, step_limits
from rounds.advice.bottle_effect import doses_today, surprise_beside_water
from rounds.advice.case import MIXING_TURNOVERS, Case
from rounds.advice.cautions import SOCKETS_IN_THE_WET
from rounds.advice.dosing_ph import PlannedDose
from rounds.advice.explaining import of_dose, of_feed
from rounds.advice.fill import fill_steps
from rounds.advice.gates import Gates, believed_share_in_band, gates_for
from rounds.advice.hard_top_up import acid_of_hard_water
from rounds.advice.level_fall import level_fell, looked_lately
from rounds.advice.plan import BOTH, StepPlan
from rounds.advice.products import Bottle, ChosenBottle, chosen
from rounds.advice.stopping import fault_stops, has_done_all
from rounds.advice.unsure_readings import UnsureReadings, unsure
from rounds.advice.water_plan import WaterPlan
from rounds.book.actions import POURED
from rounds.book.message import say, sentences
from rounds.book.offer import Finding, Refusal, act, note, refused

HARD_SHARE = 0.1
"""More than this share of hard water is treated as a fill: acid before concentrates. [-]"""

SURE_SHARE = 0.7
"""Where the rule allows this share of what the aim asks for, acid follows water and feed without a reading between:
chosen so that it saves a recheck and costs nothing at the line "past far edge" of `tests.advice.judged`. [-]"""
_NOTHING_ML = 0.05


@dataclass(slots=True)
class BesideTheSteps:
    """What is said beside the steps."""

    findings: list[Finding] = field(default_factory=list)
    refusals: list[Refusal] = field(default_factory=list)


def put_in_order(case: Case, plan: StepPlan, *, renew: bool = False) -> BesideTheSteps:
    """Put the steps of a correction into the plan, in order, and say what must be said.

    Parameters
    ----------
    renew : bool
        Whether all is renewed, whatever the readings say: then no reading is doubted, since none is used.
    """
    if renew:
        renewed = BesideTheSteps()
        all_new = WaterPlan(change_out=True, why=say("all-is-renewed"))
        fill_steps(case, plan, all_new, renewed.findings, renewed.refusals)
        return renewed
    said, doubt = BesideTheSteps(), unsure(case)
    _steps(case, plan, said, doubt)
    if doubt.ec_finding is not None:
        said.findings.append(doubt.ec_finding)
    if doubt.names and _must_be_read_again(case, plan, doubt, said):
        said.findings += [doubt.ph_finding] if doubt.ph_finding is not None else []
        feed_waits = doubt.no_feed and plan.projected.ec_ms_cm < case.stage.ec[0]
        plan.read_first(doubt.names, sentences(*doubt.why), feed_waits=feed_waits)
    if level_fell(case) is not None and not looked_lately(case):
        plan.look_first(say("look-for-a-leak"), say("leak-empties"), (SOCKETS_IN_THE_WET,))
    return said


def _steps(case: Case, plan: StepPlan, said: BesideTheSteps, doubt: UnsureReadings) -> None:
    water = planning_water.planned(case, plan.projected, believe_ec=doubt.ec is None)
    if water.change_out:
        fill_steps(case, plan, water, said.findings, said.refusals)
        return
    if water.acid_first and _acid_before_water(case, plan, water, said):
        return
    if not _water_steps(case, plan, water, said):
        return
    if not doubt.no_feed:
        _feed_steps(case, plan, said)
    if water.as_base and plan.steps:
        said.findings += surprise_beside_water(case)
    elif case.readings.ph is not None:
        _ph_steps(case, plan, said)


def _acid_before_water(case: Case, plan: StepPlan, water: WaterPlan, said: BesideTheSteps) -> bool:
    """Acid that makes room for the water; False where none may be poured: then the water goes in all the same."""
    beside = BesideTheSteps()
    _acid_or_base(case, plan, planning_ph.before_water(case, plan.projected), beside, moved=False)
    if not any(step.action == "acid" for step in plan.steps):
        plan.steps.clear()
        return False
    said.findings += [note("water-waits", litres=water.top_up_l), *beside.findings]
    said.refusals += beside.refusals
    return True


def _must_be_read_again(case: Case, plan: StepPlan, doubt: UnsureReadings, said: BesideTheSteps) -> bool:
    """Whether anything hangs on the doubted readings: something poured, or something that would be."""
    low, high = case.stage.ec
    feed_hangs = doubt.ec is not None and not low <= plan.projected.ec_ms_cm <= high
    acid_hangs = doubt.ph is not None and any(r.code in ("surprise", "reading-unbelievable") for r in said.refusals)
    return feed_hangs or acid_hangs or any(step.action in POURED or step.action == "drain_off" for step in plan.steps)


def _water_steps(case: Case, plan: StepPlan, water: WaterPlan, said: BesideTheSteps) -> bool:
    """The water, and the acid that much hard water asks for; False where nothing may follow before it is read again."""
    _say_why_no_water(water, said)
    if water.drain_l > 0.0:
        plan.drain_off(water.drain_l, water.why)
    if water.water is None or water.top_up_l <= 0.0:
        return True
    share = water.top_up_l / (plan.projected.volume_l + water.top_up_l)
    plan.top_up(water.water, water.top_up_l, water.why)
    if not water.water.is_hard or share <= HARD_SHARE:
        return True
    if acid_of_hard_water(case, plan, water.water, water.top_up_l, said.findings, said.refusals):
        return True
    if plan.projected.ec_ms_cm < case.stage.ec[0]:
        said.findings.append(act("feed-waits-for-ph", about="feed-waits"))
    return False


def _say_why_no_water(water: WaterPlan, said: BesideTheSteps) -> None:
    if water.waits_l > 0.0:
        said.findings.append(note("water-waits", litres=water.waits_l))
    if water.too_little:
        said.findings.append(Finding(code="water-too-little", says=water.why))
    elif water.why is not None and water.water is None and not water.drain_l:
        said.refusals.append(refused("no-weak-water", why=water.why))


def _feed_steps(case: Case, plan: StepPlan, said: BesideTheSteps) -> None:
    feed = planning_feed.planned(case, plan.projected)
    said.findings += feed.findings
    said.refusals += feed.refusals
    if not feed.pours:
        return
    if planning_feed.acid_first(case, plan.projected, plan.stand_with(feed.pours)):
        said.findings.append(act("feed-waits-for-acid", about="feed-waits"))
        return
    idle = planning_feed.no_effect_foreseen(case, plan.projected, plan.stand_with(feed.pours), feed.aim_ec)
    if idle is not None:
        said.refusals.append(idle)
        return
    plan.concentrates(feed.pours, feed.why, of_feed(case, plan.projected, feed))


def _ph_steps(case: Case, plan: StepPlan, said: BesideTheSteps) -> None:
    moved = any(step.action in ("top_up", "concentrate_a", "acid") for step in plan.steps)
    wanted = planning_ph.wanted(case, plan.projected)
    if any(step.action == "acid" for step in plan.steps):
        return
    if wanted is None:
        if not moved and planning_ph.second_dip_helps(case, believed_share_in_band(case), None):
            said.findings.append(_dip_twice(case))
        return
    _acid_or_base(case, plan, wanted, said, moved=moved)


def _acid_or_base(case: Case, plan: StepPlan, wanted: planning_ph.Wanted, said: BesideTheSteps, *, moved: bool) -> None:
    gates = gates_for(case, wanted.direction)
    said.findings += gates.findings
    if gates.shut is not None:
        said.refusals.append(gates.shut)
        return
    choice = chosen(case, wanted.direction)
    said.findings += choice.findings
    said.refusals += choice.refusals
    if choice.bottle is not None:
        _one_dose(case, plan, wanted, gates, choice, moved=moved, said=said)


def _one_dose(
    case: Case,
    plan: StepPlan,
    wanted: planning_ph.Wanted,
    gates: Gates,
    choice: ChosenBottle,
    *,
    moved: bool,
    said: BesideTheSteps,
) -> None:
    bottle = choice.bottle
    if bottle is None:
        return
    dose = dosing_ph.dose_for(
        case, plan.projected, bottle.agent, bottle.product.id, wanted.direction, gates, bottle.most_ml,
        hard_ml=bottle.hard_ml if bottle.held_by == "usual" else None,
    )  # fmt: skip
    if _is_left(case, plan, wanted, bottle, dose, said) or _is_stopped(plan, bottle, dose, said):
        return
    _say_limits(case, dose, bottle, said)
    if not moved and planning_ph.second_dip_helps(case, wanted.in_band, dose):
        said.findings.append(_dip_twice(case))
    if gates.needs_roots and dose.measured.amount > 0.0:
        plan.look(say("look-at-roots"), say("dying-roots"))
    _try_probe_and_bottle(plan, gates, dose, bottle, moved=moved)
    if dose.measured.amount <= 0.0:
        _too_small(dose, wanted, bottle, said)
        return
    if moved:
        _let_mix(plan, wanted, sure=_is_sure(dose))
    plan.dose(bottle, dose, wanted.why, of_dose(case, plan.projected, bottle, dose))


def _is_left(
    case: Case, plan: StepPlan, wanted: planning_ph.Wanted, bottle: Bottle, dose: PlannedDose, said: BesideTheSteps
) -> bool:
    """Whether a pH that is in band is left there for now: moved today already, or the dose is not worth it."""
    if wanted.outlook is None:
        return False
    if doses_today(case) and not planning_ph.near_edge(case, plan.projected):
        said.findings.append(note("moved-already", about="will-move", outlook=wanted.outlook))
        return True
    if not planning_ph.is_worth_it(plan.projected, bottle.agent, dose):
        said.findings.append(note("will-move", outlook=wanted.outlook))
        return True
    return False


def _is_stopped(plan: StepPlan, bottle: Bottle, dose: PlannedDose, said: BesideTheSteps) -> bool:
    """Whether nothing may be poured from the bottle; why is said."""
    stopped = has_done_all(bottle, dose.free_ml)
    if dose.ruling is not None:
        jar = dose.rest_ml / plan.projected.volume_l
        stopped = fault_stops(plan, dose.ruling, bottle, jar, said.findings) or stopped
    said.refusals += [] if stopped is None else [stopped]
    return stopped is not None


def _is_sure(dose: PlannedDose) -> bool:
    """Whether what is foreseen after water and feed is sure enough for nearly all of the dose: no reading between."""
    return dose.trial is None and dose.measured.amount >= SURE_SHARE * dose.limits_ml["aim"]


def _try_probe_and_bottle(plan: StepPlan, gates: Gates, dose: PlannedDose, bottle: Bottle, *, moved: bool) -> None:
    """The probe in buffer, then the question that is read with it; both come before water and feed."""
    asks = dose.trial is not None and not (gates.needs_buffer_dip and dose.trial.code == "buffer-4")
    if gates.needs_buffer_dip and (dose.trial is not None or dose.measured.amount > 0.0):
        plan.buffer_dip(first=moved and asks)
    if asks and dose.trial is not None:
        plan.ask(dose.trial, bottle, first=moved, behind=int(gates.needs_buffer_dip))


def _let_mix(plan: StepPlan, wanted: planning_ph.Wanted, *, sure: bool) -> None:
    plan.circulate(say("water-and-feed-before-ph"), MIXING_TURNOVERS)
    if not sure:
        plan.read_again(BOTH, say("worked-out-anew", kind=wanted.direction))


def _say_limits(case: Case, dose: PlannedDose, bottle: Bottle, said: BesideTheSteps) -> None:
    """What holds the dose down, where the grower can do something about it."""
    if bottle.held_by == "usual" and dose.measured.amount > bottle.most_ml:
        said.findings.append(act("three-times-usual"))
    decided_by = dose.held_by_if_read_rightly
    if decided_by == "stock":
        said.findings += _of_the_bottle(bottle, bottle.hard_by if dose.wanted_ml >= bottle.hard_ml else bottle.held_by)
    elif decided_by == "day" and dose.measured.amount <= 0.0 and case.farm.limits.day_ph is not None:
        young = (say("half-for-young"),) if case.stage.young else ()
        moved = step_limits.moved_today(case)
        said.refusals.append(refused("day-limit", moved=moved, most=case.farm.limits.day_ph, young=young))


def _of_the_bottle(bottle: Bottle, held_by: str) -> list[Finding]:
    if held_by == "":
        return [act("bottle-short", about="short-stock", name=bottle.product.name, left_ml=bottle.left_ml)]
    return [note("phosphate-cap")] if held_by == "recipe" else []


def _dip_twice(case: Case) -> Finding:
    return note("dip-twice", within=1.645 * case.ph_sd)


def _too_small(dose: PlannedDose, wanted: planning_ph.Wanted, bottle: Bottle, said: BesideTheSteps) -> None:
    if dose.decided_by == dosing_ph.NO_EFFECT:
        said.refusals.append(refused("bottle-without-effect", about="no-effect-foreseen", name=bottle.product.name))
        return
    nothing_safe = dose.wanted_ml < _NOTHING_ML
    if any(refusal.code == "day-limit" for refusal in said.refusals) or (nothing_safe and wanted.in_band > 0.5):
        return
    said.refusals.append(
        refused("too-small", kind=wanted.direction, ml=max(dose.wanted_ml, 0.0), name=bottle.product.name)
    )
