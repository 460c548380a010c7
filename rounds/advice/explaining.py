"""The working behind an amount: the formula with its numbers, the constants' sources, the assumptions, the interval."""

from __future__ import annotations

import math

from rounds.advice.budgets import EDGE_RISK, FAULTS_RISK, HARM_RISK, HARMFUL_PH
from rounds.advice.case import Case
from rounds.advice.dosing_ph import FAULTS, PlannedDose
from rounds.advice.planning_feed import FeedPlan
from rounds.advice.products import Bottle
from rounds.advice.projection import Projection
from rounds.belief import state as b
from rounds.book.labelled import believed_lines
from rounds.book.measurements import PUMP_OFF, TUB
from rounds.science.speciation import AIR_PCO2_ATM

SOURCES = (
    "Equilibrium constants: PHREEQC databases phreeqc.dat and Amm.dat (Parkhurst and Appelo, USGS TM 6-A43, 2013); "
    "activities by Davies and Truesdell-Jones; CO2 at 0.00042 atm in the air.",
    "Conductivity from the ions at 25 °C; the reading itself is kept, only changes are worked out.",
)


def of_case(case: Case) -> tuple[str, ...]:
    """What the whole correction was worked out from."""
    since = f"{case.ledger.since:%Y-%m-%d}" if case.ledger.since else "no change-out on record"
    lines = [
        f"Circulating volume = {case.inside_l:.0f} L in the reservoir + {case.outside_l:.0f} L in channels, roots and "
        f"pipes = {case.volume_l:.0f} L (± {1.645 * case.volume_sd_l:.0f} L)",
        f"Composition: the book since {since}, times {case.strength:.2f} to match the EC read",
    ]
    state = case.state
    if state is not None:
        p, x = state.mean[b.PHOSPHATE], state.mean[b.PRESSURE]
        lines += [
            f"Phosphate believed {_span(p, state.sd(b.PHOSPHATE))} mmol/L (what went in since: "
            f"{case.ledger.solution.po4:.2f}), worn by age and litres drunk and by what the doses have shown",
            f"CO2 believed {_span(x - math.log(AIR_PCO2_ATM), state.sd(b.PRESSURE))} times the air's",
            f"A dose arrives at {_span(state.mean[b.ARRIVING], state.sd(b.ARRIVING))} of the book",
            f"pH read with a standard error of {case.ph_sd:.2f}; believed {state.mean[b.PH]:.2f} ± "
            f"{1.645 * state.sd(b.PH):.2f}",
        ]
    return (*lines, _volumes_from(case), *SOURCES)


def _volumes_from(case: Case) -> str:
    """Where the two volumes come from."""
    inside = case.farm.source_of(case.reservoir.id, TUB, "by the form or table in farm.toml")
    outside = case.farm.source_of(case.reservoir.id, PUMP_OFF, "guessed in farm.toml: `measure pump-off` measures it")
    return f"Litres in the reservoir {inside}; in channels and pipes {outside}"


def of_dose(case: Case, projected: Projection, bottle: Bottle, dose: PlannedDose) -> tuple[str, ...]:
    """The working behind an amount of acid or base."""
    per_ml = bottle.agent.mol_per_l * _equivalents(bottle)
    nutrients = ", ".join(
        f"{mg / 1000.0:.2f} g {el}" for el, mg in bottle.agent.nutrients_mg(dose.measured.amount).items()
    )
    held = sorted(dose.limits_ml.items(), key=lambda pair: pair[1])
    limits = ", ".join(f"{name} {ml:.0f}" if ml < math.inf else f"{name}: no limit" for name, ml in held)
    change = dose.measured.amount * per_ml / projected.volume_l
    return (
        f"{dose.measured} x {per_ml:.2f} meq/mL / {projected.volume_l:.0f} L = {change:.3f} meq/L",
        f"Buffer here {dose.middle_buffer:.2f} meq/L and pH, the weakest believable {dose.weakest_buffer:.2f}",
        f"The least of (mL): {limits}; held by: {_holder(dose)}; aimed at pH {dose.aim_ph:.2f}",
        f"'far edge': a likelihood of {EDGE_RISK:.0%} that it takes the pH past the far edge of the band; 'harm': of "
        f"{HARM_RISK:.1%} that it takes it past {HARMFUL_PH[0]:g} or {HARMFUL_PH[1]:g}, were all as told",
        *_faults(dose),
        f"It brings {nutrients}: booked",
    )


def _holder(dose: PlannedDose) -> str:
    """The limit that holds; with it the fault that would do the most harm, where it is held in case of one."""
    if dose.decided_by != FAULTS or dose.ruling is None or dose.ruling.limits is None:
        return dose.decided_by
    return f"{FAULTS} ({dose.ruling.limits.worst.code})"


def _faults(dose: PlannedDose) -> tuple[str, ...]:
    if dose.ruling is None:
        return ()
    told = ", ".join(f"{each.hypothesis.code} {each.weight:.2g}" for each in dose.ruling.bank.faults)
    return (f"'{FAULTS}': likelihoods {told}; all together add at most {FAULTS_RISK:g} of harm",)


def of_feed(case: Case, projected: Projection, plan: FeedPlan) -> tuple[str, ...]:
    """The working behind an amount of concentrate."""
    feed = case.feed.feed
    if not plan.pours:
        return ()
    strength = plan.pours[0].amount / (feed.a_ml_per_l * projected.volume_l)
    return (
        f"EC {projected.ec_ms_cm:.2f} to {plan.aim_ec:.2f} mS/cm needs {strength:.2f} of full strength (from the ions)",
        f"A: {feed.a_ml_per_l:g} mL/L x {strength:.2f} x {projected.volume_l:.0f} L = {plan.pours[0]}",
        *_of_labels(case),
    )


def _of_labels(case: Case) -> tuple[str, ...]:
    """What is believed of parts that a label alone tells of."""
    labelled = [(part.name, part.label) for part in case.feed.products if part.label is not None]
    return tuple(f"{name}: {line}" for name, label in labelled for line in believed_lines(label))


def _equivalents(bottle: Bottle) -> float:
    return abs(bottle.agent.kind.brings.alkalinity_meq_l)


def _span(log_mean: float, log_sd: float) -> str:
    low, middle, high = (math.exp(log_mean + z * log_sd) for z in (-1.645, 0.0, 1.645))
    return f"{middle:.2g} ({low:.2g} to {high:.2g})"
