"""The plan where A or B went in alone: its other half, then mixing and reading, and nothing else before that."""

from __future__ import annotations

from rounds.advice import planning_water
from rounds.advice.case import Case
from rounds.advice.fill import fill_steps
from rounds.advice.gates import MIXING_TURNOVERS
from rounds.advice.order import BesideTheSteps
from rounds.advice.plan import StepPlan
from rounds.advice.projection import with_liquid
from rounds.book.composition import concentrate_solution
from rounds.book.half_pair import SHORT, HalfPair
from rounds.book.measures import Measured, millilitres_down
from rounds.book.offer import Finding, Refusal
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
    text = f"{half.when(case.now)}: {half.owed} of {half.missing} are still owed. Nothing else is poured before that."
    return [Finding(code="half-pair", text=text, severity="act")]


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
        said.refusals.append(_not_there(half, f"there is no concentrate “{half.product}” on the shelf"))
        return said
    left_ml = millilitres_left(case.farm, stock_now(case.farm, case.entries), product.id)
    measured = millilitres_down(min(half.owed_ml, left_ml, _most_ml(case, half)))
    if measured.amount <= 0.0:
        said.refusals.append(_not_there(half, f"there is no {product.name} left"))
        return said
    if _is_accident(case, plan, half, product, measured):
        _thin_first(case, plan, half, said)
        return said
    if left_ml < _MEASURED_OFF * half.owed.amount:
        said.findings.append(_short(half, product, measured))
    elif measured.amount < _MEASURED_OFF * half.owed.amount:
        text = f"That is much for {case.volume_l:.0f} L: {measured} go in now, the rest once it was read."
        said.findings.append(Finding(code="half-pair-in-parts", text=text, severity="act"))
    plan.concentrate(half.action, product, measured, f"{half.when(case.now)}.", _working(half, measured))
    plan.circulate(f"{half.missing} must have mixed before it is read.", MIXING_TURNOVERS)
    plan.read_again("pH and EC", "With both halves in, the readings say what else is wanted.")
    return said


def _working(half: HalfPair, measured: Measured) -> tuple[str, ...]:
    return (f"{half.missing} owed for what went in of {half.poured} alone: {half.owed_ml:.0f} mL; poured: {measured}",)


def _most_ml(case: Case, half: HalfPair) -> float:
    feed = case.feed.feed
    return MOST_STRENGTH * case.volume_l * (feed.b_ml_per_l if half.missing == "B" else feed.a_ml_per_l)


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
    said.refusals.append(
        Refusal(
            code="half-pair-too-strong",
            text=f"With {half.owed} of {half.missing} the EC would be far above the band of {low:g} to {high:g} mS/cm.",
            instead="Read the EC first."
            if unread
            else f"Thin it first; {half.missing} is worked out again by reading.",
        )
    )
    water = planning_water.planned(case, plan.projected)
    if not unread and water.change_out:
        fill_steps(case, plan, water, said.findings, said.refusals)
        return
    if not unread and water.drain_l > 0.0:
        plan.drain_off(water.drain_l, water.why)
    if not unread and water.water is not None and water.top_up_l > 0.0:
        plan.top_up(water.water, water.top_up_l, water.why)
        plan.circulate("The water must have mixed before it is read.", MIXING_TURNOVERS)
    plan.read_again("pH and EC", f"{half.missing} is owed still, as far as the EC bears it.")


def _not_there(half: HalfPair, why: str) -> Refusal:
    return Refusal(
        code=SHORT,
        text=f"{half.owed} of {half.missing} are owed, and {why}.",
        instead=f"Make fresh {half.missing} by its mix sheet and count it, or change the reservoir out.",
    )


def _short(half: HalfPair, product: Concentrate, measured: Measured) -> Finding:
    return Finding(
        code=SHORT, severity="act",
        text=f"{product.name}: only {measured} of the {half.owed} owed are left. Pour what there is, and make fresh "
        f"{half.missing} by its mix sheet for the rest.",
    )  # fmt: skip
