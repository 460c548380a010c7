"""The one rule for what moves the pH: the largest dose within three budgets, each on the risk that the dose adds.

Aim: as likely short of it as past it. Edge: rarely past the far edge of the band, were all as told. Harm: never, as far
as anybody can tell, a pH that kills roots, were all as told or any of the named faults true.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from rounds.belief import state as b
from rounds.belief.bank import Bank
from rounds.belief.curve import Curve
from rounds.belief.gaussian import Gaussian
from rounds.belief.hypotheses import Hypothesis
from rounds.book.parcel import Parcel

EDGE_RISK = 0.02
"""Likelihood that one dose takes the true pH past the far edge, were all as told. Chosen so that of simulated
corrections at most 0.5 % end past it: the line "past the far edge" of `tests.advice.judged`. [-]"""
HARM_RISK = 1e-3
"""Likelihood that it does harm, were all as told. [-]"""
FAULTS_RISK = 3e-5
"""Sum over all faults of their weight times the harm the dose adds if they are true. A fault of weight w is let
through at most 3e-5 / w of the time: the lines of the faults in `tests.advice.judged`. [-]"""
HARMFUL_PH = (4.5, 8.5)
"""Below and above this roots die within hours: common practice. [-]"""
FAULT_MARGIN_PH = 0.1
"""A fault must leave so much above what does harm: what has not mixed yet, and a meter's own error. Chosen so that of
growers who answer nothing at most one in a hundred goes below 4.5: `tests.advice.judged --refuses`. [-]"""
_FAULT_POINTS = 32
_HALVINGS = 30


@dataclass(frozen=True, slots=True)
class Reach:
    """How much of a dose it takes to reach a pH, over all believable reservoirs: by the logarithm where all need some.

    Examples
    --------
    >>> round(reach_of([1.0, 2.0, 4.0]).share(2.0), 2)
    0.5
    """

    mean: float
    sd: float
    in_logs: bool

    def share(self, dose: float) -> float:
        """Share of the reservoirs in which so much reaches it. [-]"""
        if self.in_logs and dose <= 0.0:
            return 0.0
        z = ((math.log(dose) if self.in_logs else dose) - self.mean) / self.sd
        return 0.5 * math.erfc(-z / math.sqrt(2.0))

    def added(self, dose: float) -> float:
        """The same less what reaches it anyway. [-]"""
        return max(0.0, self.share(dose) - self.share(0.0))


def reach_of(needed: Sequence[float]) -> Reach:
    """Mean and spread of what is needed."""
    in_logs = min(needed) > 0.0
    values = [math.log(v) for v in needed] if in_logs else list(needed)
    mean = math.fsum(values) / len(values)
    sd = math.sqrt(math.fsum((v - mean) ** 2 for v in values) / len(values))
    return Reach(mean, max(sd, 1e-9), in_logs)


def largest(risk: Callable[[float], float], budget: float, most: float) -> float:
    """The largest dose up to `most` at which a risk that grows with it stays within its budget."""
    if risk(most) <= budget:
        return most
    low, high = 0.0, most
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        low, high = (middle, high) if risk(middle) <= budget else (low, middle)
    return low


@dataclass(frozen=True, slots=True, kw_only=True)
class Harmless:
    """How much a dose may be before it may do harm."""

    as_told: float
    """Were all as told."""
    in_spite_of_faults: float
    """Were any of the named faults true."""
    worst: Hypothesis
    """The fault that would do the most harm beyond that."""


def harmless(bank: Bank, curve: Curve, sign: float, per_unit: Parcel, most: float) -> Harmless:
    """How much of an agent may go in before the risk of harm grows past its budgets, up to `most`.

    Parameters
    ----------
    sign : float
        -1 for acid, 1 for base.
    per_unit : Parcel
        What a unit of the dose brings to each litre, by its label.
    most : float
        More is not asked about, in units of the dose; above 0.
    """
    told = _reach(bank.sound.state, bank.sound.hypothesis, curve, sign, per_unit, b.POINTS)
    faults = [
        (each, _reach(each.state, each.hypothesis, curve, sign, per_unit, _FAULT_POINTS)) for each in bank.holding
    ]
    allowed = largest(lambda dose: math.fsum(a.weight * r.added(dose) for a, r in faults), FAULTS_RISK, most)
    beyond = 2.0 * allowed + 1e-6 * most
    worst = max(faults, key=lambda each: each[0].weight * each[1].added(beyond))[0].hypothesis
    return Harmless(as_told=largest(told.added, HARM_RISK, most), in_spite_of_faults=allowed, worst=worst)


def _reach(state: Gaussian, hypothesis: Hypothesis, curve: Curve, sign: float, per_unit: Parcel, points: int) -> Reach:

    swapped, margin = hypothesis.strength < 0.0, 0.0 if hypothesis.sort == "sound" else FAULT_MARGIN_PH
    target = HARMFUL_PH[0] + margin if (sign < 0.0) != swapped else HARMFUL_PH[1] - margin
    parcel = Parcel(alkalinity_meq_l=-per_unit.alkalinity_meq_l) if swapped else per_unit.times(hypothesis.of_dose)
    return reach_of(b.demand(state.cloud(points), curve, target, parcel))
