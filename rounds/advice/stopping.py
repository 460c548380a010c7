"""What lets nothing be poured from a bottle: a believed fault, a jar unexplained, the recipe's phosphorus in."""

from __future__ import annotations

from rounds.advice.dose_rule import Ruling, Trial, was_looked_into
from rounds.advice.faults import NAMES, fault_named, jar_unexplained, told_by_a_jar
from rounds.advice.plan import StepPlan
from rounds.advice.products import Bottle
from rounds.book.offer import Finding, Refusal, note, refused

WORTH_POURING = 0.25
"""Less than this share of a dose is not poured at the cap of the recipe's phosphorus: it would only drip. [-]"""


def has_done_all(bottle: Bottle, free_ml: float) -> Refusal | None:
    """The recipe's phosphorus is in; None while enough of the dose `free_ml` may still go. [mL]"""
    if bottle.hard_by == "recipe" and bottle.hard_ml < WORTH_POURING * free_ml:
        return refused("bottle-done", name=bottle.product.name)
    return None


def fault_stops(
    plan: StepPlan, ruling: Ruling, bottle: Bottle, jar_ml_per_l: float, findings: list[Finding] | None = None
) -> Refusal | None:
    """Why none is poured where a fault is believed, or a jar showed what nothing explains; with a jar to try once more.

    Once it was looked into, what is poured is as little as that fault allows, and a finding says so.

    Parameters
    ----------
    jar_ml_per_l : float
        What goes into each litre of that jar. [mL/L]
    findings : list of Finding, optional
        What is found is added to it; without it nothing is poured even then.
    """
    plan.banks[bottle.product.id] = ruling.bank
    if not ruling.is_in_doubt:
        return None
    if findings is not None and was_looked_into(plan.case, ruling, bottle.product.id):
        said = note("jars-odd") if ruling.fault is None else note("with-care", fault=NAMES[ruling.fault])
        findings.append(said)
        return None
    if ruling.fault is None or told_by_a_jar(ruling.fault):
        plan.ask(Trial(code="jar-test", fault="", ml_per_l=jar_ml_per_l), bottle, first=True)
    return jar_unexplained(bottle) if ruling.fault is None else fault_named(bottle, ruling.fault)
