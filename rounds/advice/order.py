"""The order of a trim: water, A, circulate, B, circulate, EC, then acid or base in steps."""

from __future__ import annotations

from dataclasses import dataclass, field

from rounds.advice import planning_feed, planning_ph, planning_water, step_limits
from rounds.advice.bottle_effect import surprise_beside_water
from rounds.advice.case import Case
from rounds.advice.cautions import SOCKETS_IN_THE_WET
from rounds.advice.explaining import of_dose, of_feed
from rounds.advice.fill import fill_steps
from rounds.advice.gates import MIXING_TURNOVERS, Gates, believed_share_in_band, gates_for
from rounds.advice.hard_top_up import acid_of_hard_water
from rounds.advice.level_fall import level_fell, looked_lately
from rounds.advice.plan import StepPlan
from rounds.advice.planning_ph import PlannedDose
from rounds.advice.products import Bottle, Choice, chosen
from rounds.advice.unsure_readings import UnsureReadings, unsure
from rounds.book.actions import POURED
from rounds.book.offer import Finding, Refusal

HARD_SHARE = 0.1
"""More than this share of hard water is treated as a fill: acid before concentrates. [-]"""

_NOTHING_ML = 0.05
_LEAK_TEXT = "Look for a leak: hoses, joints, valves, the ends of the channels, the floor. Then dip again."


@dataclass(slots=True)
class BesideTheSteps:
    """What is said beside the steps."""

    findings: list[Finding] = field(default_factory=list)
    refusals: list[Refusal] = field(default_factory=list)


def put_in_order(case: Case, plan: StepPlan) -> BesideTheSteps:
    """Put the steps of a correction into the plan, in order, and say what must be said."""
    said, doubt = BesideTheSteps(), unsure(case)
    _steps(case, plan, said, doubt)
    if doubt.ec_finding is not None:
        said.findings.append(doubt.ec_finding)
    if doubt.names and _must_be_read_again(case, plan, doubt, said):
        said.findings += [doubt.ph_finding] if doubt.ph_finding is not None else []
        feed_waits = doubt.no_feed and plan.projected.ec_ms_cm < case.stage.ec[0]
        plan.read_first(doubt.names, doubt.why, feed_waits=feed_waits)
    if level_fell(case) is not None and not looked_lately(case):
        plan.look_first(_LEAK_TEXT, "A leak that is topped up empties the tank too.", (SOCKETS_IN_THE_WET,))
    return said


def _steps(case: Case, plan: StepPlan, said: BesideTheSteps, doubt: UnsureReadings) -> None:
    water = planning_water.planned(case, plan.projected, believe_ec=doubt.ec is None)
    if water.change_out:
        fill_steps(case, plan, water, said.findings, said.refusals)
        return
    if not _water_steps(case, plan, water, said):
        return
    if not doubt.no_feed:
        _feed_steps(case, plan, said)
    if water.as_base and plan.steps:
        said.findings += surprise_beside_water(case)
    elif case.readings.ph is not None:
        _ph_steps(case, plan, said)


def _must_be_read_again(case: Case, plan: StepPlan, doubt: UnsureReadings, said: BesideTheSteps) -> bool:
    """Whether anything hangs on the doubted readings: something poured, or something that would be."""
    low, high = case.stage.ec
    feed_hangs = doubt.ec is not None and not low <= plan.projected.ec_ms_cm <= high
    acid_hangs = doubt.ph is not None and any(r.code in ("surprise", "reading-unbelievable") for r in said.refusals)
    return feed_hangs or acid_hangs or any(step.action in POURED or step.action == "drain_off" for step in plan.steps)


def _water_steps(case: Case, plan: StepPlan, water: planning_water.WaterPlan, said: BesideTheSteps) -> bool:
    """The water, and the acid that much hard water asks for; False where nothing may follow before it is read again."""
    if water.too_little:
        said.findings.append(Finding(code="water-too-little", text=water.why))
    elif water.why and water.water is None and not water.drain_l:
        said.refusals.append(
            Refusal(
                code="no-weak-water", text=water.why, instead="Enter a weaker water (rain) under waters in farm.toml."
            )
        )
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
        said.findings.append(
            Finding(code="feed-waits", severity="act", text="A and B wait until a pH that can be believed was read.")
        )
    return False


def _feed_steps(case: Case, plan: StepPlan, said: BesideTheSteps) -> None:
    feed = planning_feed.planned(case, plan.projected)
    said.findings += feed.findings
    said.refusals += feed.refusals
    if feed.a is None or feed.b is None:
        return
    idle = planning_feed.no_effect_foreseen(case, plan.projected, plan.stand_with(feed.a, feed.b), feed.aim_ec)
    if idle is not None:
        said.refusals.append(idle)
        return
    plan.concentrates(feed.a, feed.b, feed.why, of_feed(case, plan.projected, feed))


def _ph_steps(case: Case, plan: StepPlan, said: BesideTheSteps) -> None:
    moved = any(step.action in ("top_up", "concentrate_a", "acid") for step in plan.steps)
    wanted = planning_ph.wanted(case, plan.projected)
    if any(step.action == "acid" for step in plan.steps):
        return
    if wanted is None:
        if not moved and planning_ph.second_dip_helps(case, believed_share_in_band(case), None):
            said.findings.append(_dip_twice(case))
        return
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
    choice: Choice,
    *,
    moved: bool,
    said: BesideTheSteps,
) -> None:
    bottle = choice.bottle
    if bottle is None:
        return
    dose = planning_ph.dose_for(
        case, plan.projected, bottle.agent, wanted.direction, gates, bottle.most_ml,
        hard_ml=bottle.hard_ml if bottle.held_by == "usual" else None,
    )  # fmt: skip
    if wanted.ahead_of_time and not planning_ph.is_worth_it(plan.projected, bottle.agent, dose):
        said.findings.append(_will_move(case, wanted))
        return
    _say_limits(case, dose, bottle, said)
    if not moved and planning_ph.second_dip_helps(case, wanted.in_band, dose):
        said.findings.append(_dip_twice(case))
    if dose.measured.amount <= 0.0:
        _too_small(dose, wanted, bottle, said)
        return
    _before_pouring(case, plan, wanted, gates, moved=moved)
    before = plan.projected
    plan.dose(bottle, dose, wanted.why, of_dose(case, before, bottle, dose))


def _before_pouring(case: Case, plan: StepPlan, wanted: planning_ph.Wanted, gates: Gates, *, moved: bool) -> None:
    if gates.needs_roots:
        plan.look(
            "Look at the roots of its channels and smell them.", "pH that falls by itself comes from dying roots."
        )
    if gates.needs_buffer_dip:
        plan.buffer_dip()
    if moved:
        plan.circulate("Water and concentrates must have mixed before the pH says anything.", MIXING_TURNOVERS)
        low, high = case.stage.ph
        plan.read_again(
            "pH and EC", f"Is the pH between {low:g} and {high:g} by now, the {wanted.direction} stays shut."
        )


def _say_limits(case: Case, dose: PlannedDose, bottle: Bottle, said: BesideTheSteps) -> None:
    held_by = bottle.hard_by if dose.wanted_ml >= bottle.hard_ml else bottle.held_by
    decided_by = dose.held_by_if_read_rightly
    if decided_by == "stock" and held_by == "":
        said.findings.append(
            Finding(
                code="short-stock", severity="act",
                text=f"{bottle.product.name}: {bottle.left_ml:.0f} mL are left, which does not go all the way. "
                "Make a new working bottle by its sheet.",
            )
        )  # fmt: skip
    elif decided_by == "stock" and held_by == "recipe":
        said.findings.append(
            Finding(code="phosphate-cap", text="Held back so that phosphate does not rise above the recipe's.")
        )
    elif decided_by == "stock" and held_by == "usual":
        said.findings.append(
            Finding(
                code="three-times-usual", severity="act",
                text="More than three times the usual dose here would be needed: read again and look for the reason. "
                "This much is safe meanwhile.",
            )
        )  # fmt: skip
    elif decided_by == "day" and dose.measured.amount <= 0.0:
        said.refusals.append(
            Refusal(
                code="day-limit",
                text=f"The pH was moved by {step_limits.moved_today(case):.1f} today already, and "
                f"{case.farm.limits.day_ph:g} is the most in a day{', half for young plants' * case.stage.young}.",
                instead="Enough for today: let it settle and go on tomorrow.",
            )
        )  # fmt: skip


def _will_move(case: Case, wanted: planning_ph.Wanted) -> Finding:
    return Finding(
        code="will-move", text=f"{wanted.outlook}. No dose is safe and large enough to be worth it yet: "
        "read again at dusk or next morning.",
    )  # fmt: skip


def _dip_twice(case: Case) -> Finding:
    return Finding(
        code="dip-twice",
        text=f"One dip is right within {1.645 * case.ph_sd:.2f}. Dip again and enter it: the step may be larger.",
    )


def _too_small(dose: PlannedDose, wanted: planning_ph.Wanted, bottle: Bottle, said: BesideTheSteps) -> None:
    if dose.decided_by == planning_ph.NO_EFFECT:
        said.refusals.append(
            Refusal(
                code="no-effect-foreseen",
                text=f"{bottle.product.name} as it is entered would hardly move the pH here: none is poured.",
                instead="Look at its strength in shelf.toml, and read pH and level again.",
            )
        )
        return
    nothing_safe = dose.wanted_ml < _NOTHING_ML
    if any(refusal.code == "day-limit" for refusal in said.refusals) or (nothing_safe and wanted.in_band > 0.5):
        return
    said.refusals.append(
        Refusal(
            code="too-small",
            text=f"The {wanted.direction} that is safe here is less than can be measured "
            f"({max(dose.wanted_ml, 0.0):.2f} mL of {bottle.product.name}).",
            instead="Dip a second time, or on a second meter, and correct again: a surer reading allows a larger step. "
            "Or thin some of the bottle ten times.",
        )
    )
