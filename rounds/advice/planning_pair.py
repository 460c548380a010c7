"""The plan where A or B went in alone: its other half, then mixing and reading, and nothing else before that."""

from __future__ import annotations

from rounds.advice import planning_water
from rounds.advice.case import MIXING_TURNOVERS, Case
from rounds.advice.fill import fill_steps
from rounds.advice.order import BesideTheSteps
from rounds.advice.plan import BOTH, StepPlan
from rounds.advice.projection import with_liquid
from rounds.book.composition import concentrate_solution
from rounds.book.half_pair import SHORT, HalfPair
from rounds.book.measures import Measured, millilitres_down
from rounds.book.message import Message, say
from rounds.book.offer import Finding, Refusal, act, refused
from rounds.book.stock import millilitres_left, stock_now
from rounds.farm.shelf import Concentrate

TOO_STRONG = 1.5
"""So many times the upper edge of the EC band is an accident: it is thinned before more salt goes in. Practice. [-]"""
MOST_STRENGTH = 1.5
"""No more at once than so many times what full strength takes here: the rest follows once it was read. [-]"""
_MEASURED_OFF = 0.99
"""What rounding to a cylinder leaves out is no shortage. [-]"""


def owed(case: Case, half: HalfPair | None) -> list[Finding]:
    """That something went in alone, where it did: it stands before all else that is found."""
    if half is None:
        return []
    return [act("half-pair", when=half.when(case.now), owed=str(half.owed), half=half.missing)]


def other_half(case: Case, plan: StepPlan, half: HalfPair) -> BesideTheSteps:
    """Put the one pour into the plan that ends half a pair, from what the shelf holds; and say what stands against it.

    Parameters
    ----------
    half : HalfPair
        What went in alone.
    """
    said = BesideTheSteps()
    product = case.farm.shelf.get(half.product)
    if not isinstance(product, Concentrate):
        said.refusals.append(_not_there(half, say("not-on-the-shelf", product=half.product)))
        return said
    left_ml = millilitres_left(case.farm, stock_now(case.farm, case.entries), product.id)
    measured = millilitres_down(min(half.owed_ml, left_ml, _most_ml(case, half)))
    if measured.amount <= 0.0:
        said.refusals.append(_not_there(half, say("none-left", name=product.name)))
        return said
    if _is_accident(case, plan, half, product, measured):
        _thin_first(case, plan, half, said)
        return said
    if left_ml < _MEASURED_OFF * half.owed.amount:
        said.findings.append(_short(half, product, measured))
    elif measured.amount < _MEASURED_OFF * half.owed.amount:
        said.findings.append(act("half-pair-in-parts", litres=case.volume_l, measured=str(measured)))
    why = say("half-went-in", when=half.when(case.now))
    plan.concentrate(half.action, product, measured, why, _working(half, measured))
    plan.circulate(say("half-before-reading", half=half.missing), MIXING_TURNOVERS)
    plan.read_again(BOTH, say("both-halves"))
    return said


def _working(half: HalfPair, measured: Measured) -> tuple[str, ...]:
    return (f"{half.missing} owed for what went in of {half.poured} alone: {half.owed_ml:.0f} mL; poured: {measured}",)


def _most_ml(case: Case, half: HalfPair) -> float:
    feed = case.feed.feed
    return MOST_STRENGTH * case.volume_l * (feed.ml_per_l_of(half.missing) or feed.a_ml_per_l)


def _is_accident(case: Case, plan: StepPlan, half: HalfPair, product: Concentrate, measured: Measured) -> bool:
    """Whether far too much went in: by the EC read, or without one where it is more than any feed is made of."""
    if case.readings.ec_ms_cm is None:
        return half.owed_ml > _most_ml(case, half)
    liquid = concentrate_solution(product)
    with_it = with_liquid(plan.projected, liquid, measured.amount / 1000.0, 0.05, strong=True)
    return with_it.ec_ms_cm > TOO_STRONG * case.stage.ec[1]


def _thin_first(case: Case, plan: StepPlan, half: HalfPair, said: BesideTheSteps) -> None:
    """The other half on top of far too much would burn roots, so only water comes now."""
    low, high = case.stage.ec
    unread = case.readings.ec_ms_cm is None
    first = say("read-the-ec-first") if unread else say("thin-it-first", half=half.missing)
    said.refusals.append(
        refused("half-pair-too-strong", owed=str(half.owed), half=half.missing, low=low, high=high, first=first)
    )
    water = planning_water.planned(case, plan.projected)
    if not unread and water.change_out:
        fill_steps(case, plan, water, said.findings, said.refusals)
        return
    if not unread and water.drain_l > 0.0:
        plan.drain_off(water.drain_l, water.why)
    if not unread and water.water is not None and water.top_up_l > 0.0:
        plan.top_up(water.water, water.top_up_l, water.why)
        plan.circulate(say("water-before-reading"), MIXING_TURNOVERS)
    plan.read_again(BOTH, say("bears-it", half=half.missing))


def _not_there(half: HalfPair, why: Message) -> Refusal:
    return refused("half-pair-short", about=SHORT, owed=str(half.owed), half=half.missing, why=why)


def _short(half: HalfPair, product: Concentrate, measured: Measured) -> Finding:
    return act(
        "half-pair-partly", about=SHORT, name=product.name, measured=str(measured), owed=str(half.owed),
        half=half.missing,
    )  # fmt: skip
