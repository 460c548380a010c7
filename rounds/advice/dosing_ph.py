"""How much acid or base: the one rule for a trim, and what of it can be measured."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from rounds.advice.budgets import EDGE_RISK, largest, reach_of
from rounds.advice.case import Case
from rounds.advice.dose_rule import Ruling, Trial, ruling_for, trial_for
from rounds.advice.gates import Direction, Gates
from rounds.advice.least_buffered import PAST_EDGE_PH, buffer_at, buffers, weakest_takes
from rounds.advice.misread import supposed
from rounds.advice.projection import Projection, with_dose
from rounds.advice.step_limits import left_today
from rounds.belief import state as b
from rounds.belief.bank import Account, Bank
from rounds.belief.gaussian import quantile
from rounds.belief.state import Cloud
from rounds.book.amounts import SMALLEST_ML
from rounds.book.measures import THINNED, Measured, millilitres_down, thinned_down
from rounds.book.parcel import Parcel, parcel_of
from rounds.science.acids_bases import Agent

FORECAST_H = 12.0
"""What plants do until the next round counts at the far edge. [h]"""
QUICK_POINTS = 32
"""Points of the cloud where only a mean is wanted. [-]"""
_MOST_SHIFT = 0.25
"""Furthest that the aim is put off the middle, in widths of the band."""
IF_MISREAD, FAULTS, NO_EFFECT = "if misread", "if a fault is there", "no effect foreseen"
BELIEVED = "if what is likely is so"
BELIEVABLE = 0.05
"""From this weight on a fault counts as if it were there, once one is believed. [-]"""
MISREAD_STEP_PH = 0.4
"""No further is a reservoir moved whose pH may have been read wrongly. [-]"""
JAR_STEP_PH = 0.4
"""A jar moves its water by so much at least: less would tell little. [-]"""
YOUNG = 0.5
"""Share of the grower's own caps that holds for young plants. [-]"""
LEAST_EFFECT = 0.1
"""What is foreseen to do less than this share of what so much should do is not poured. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedDose:
    """An amount of acid or base and what decided it."""

    measured: Measured
    wanted_ml: float
    aim_ph: float
    limits_ml: dict[str, float]
    """What each rule would allow; the smallest holds. [mL]"""
    decided_by: str
    weakest_buffer: float
    """Buffer the weakest believable reservoir has here. [meq/(L pH)]"""
    middle_buffer: float
    ruling: Ruling | None = None
    trial: Trial | None = None
    """What is asked first, since a fault holds this dose."""
    rest_ml: float = 0.0
    """What all but the faults allow. [mL]"""
    free_ml: float = 0.0
    """What it would be if bottle and recipe were no limit. [mL]"""
    thinned: Measured | None = None
    """What of the bottle thinned a hundred times is poured, where the dose itself is too small to be measured."""

    @property
    def held_by_if_read_rightly(self) -> str:
        """The rule that would hold were the reading not in doubt."""
        return min((name for name in self.limits_ml if name != IF_MISREAD), key=lambda name: self.limits_ml[name])


def dose_for(
    case: Case,
    projected: Projection,
    agent: Agent,
    item: str,
    direction: Direction,
    gates: Gates,
    most_ml: float,
    *,
    hard_ml: float | None = None,
) -> PlannedDose:
    """The dose of one step.

    Parameters
    ----------
    most_ml : float
        What the stock and the recipe allow, and what is usual here. [mL]
    hard_ml : float, optional
        Given where it is the usual that holds `most_ml`: what is left and the recipe allow. A small step is never
        unusual, or past trims would starve a large correction. [mL]
    """
    cloud = projected.state.loosened((gates.extra_ph_sd**2, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)).cloud(b.POINTS)
    pour = _Pour(case, projected, direction, parcel_of(agent.per_ml.scaled(1.0 / projected.volume_l)), cloud)
    aim = _aim(case, projected, direction, agent)
    limits = pour.limits(aim, doubted=gates.doubted)
    free = min(limits.values())
    limits["stock"] = most_ml if hard_ml is None else hard_ml
    rest = min(limits.values())
    ruling = ruling_for(case, projected, item, direction, pour.per_ml, rest)
    if ruling.limits is not None:
        limits |= {"harm": ruling.limits.as_told, FAULTS: ruling.limits.in_spite_of_faults}
        rest = min(rest, ruling.limits.as_told)
    if ruling.is_in_doubt:
        limits[BELIEVED] = pour.if_believed(ruling.bank, aim)
    jar_ml = min(_jar_ml(pour, aim), limits["stock"])
    measured, thinned = _measured(case, projected, agent, min(limits.values()), direction)
    if hardly_moves(projected, agent, measured):
        limits[NO_EFFECT], measured = 0.0, millilitres_down(0.0)
    decided_by = min(limits, key=lambda name: limits[name])
    weakest, middle_buffer = buffers(projected, cloud)
    return PlannedDose(
        measured=measured, wanted_ml=limits[decided_by], aim_ph=aim, limits_ml=limits, decided_by=decided_by,
        weakest_buffer=weakest, middle_buffer=middle_buffer, ruling=ruling, rest_ml=rest, free_ml=free, thinned=thinned,
        trial=trial_for(case, ruling, item, rest, projected.volume_l, jar_ml),
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Pour:
    """One agent at one moment, over all believable reservoirs."""

    case: Case
    projected: Projection
    direction: Direction
    per_ml: Parcel
    """What a millilitre brings to each litre."""
    cloud: Cloud

    @property
    def sign(self) -> float:
        """-1 for acid, 1 for base."""
        return -1.0 if self.direction == "acid" else 1.0

    @property
    def edge(self) -> float:
        """The far edge of the band. [-]"""
        return self.case.stage.ph[0 if self.direction == "acid" else 1]

    def limits(self, aim: float, *, doubted: bool) -> dict[str, float]:
        """What aim, far edge, the grower's own caps and a doubted reading allow. [mL]"""
        curve, cloud = self.projected.curve, self.cloud
        found = {
            "aim": self.middle(aim),
            "far edge": _within_edge(b.demand(cloud, curve, self.edge, self.per_ml, FORECAST_H)),
        } | self.own_caps()
        if doubted:
            found[IF_MISREAD] = self.taken_if_misread()
        if self.direction == "base":
            found["far edge at rest"] = _within_edge(b.demand_at_rest(cloud, curve, self.edge, self.per_ml, FORECAST_H))
        return found

    def middle(self, target: float) -> float:
        """What as many reservoirs need more of as less to reach a pH. [mL]"""
        return max(0.0, quantile(b.demand(self.cloud, self.projected.curve, target, self.per_ml), 0.5))

    def if_believed(self, bank: Bank, aim: float) -> float:
        """What neither passes the aim nor the far edge, were any fault true that is believable by now. [mL]"""
        held = [each for each in bank.faults if each.weight > BELIEVABLE and each.hypothesis.strength != 0.0]
        return min((self._under(each, aim) for each in held), default=math.inf)

    def _under(self, account: Account, aim: float) -> float:
        """The same under one account; none of it where the bottle is the wrong one, or the meter tells nothing. [mL]"""
        if account.hypothesis.strength < 0.0 or account.hypothesis.sort == "stuck":
            return 0.0
        there = replace(self, per_ml=self.per_ml.times(account.hypothesis.of_dose), cloud=account.state.cloud(b.POINTS))
        return min(there.limits(aim, doubted=False).values())

    def own_caps(self) -> dict[str, float]:
        """What the grower set as the most that a step and a day may move; none where nothing was set. [mL]"""
        own, mean, caps = self.case.farm.limits, self.projected.state.mean[b.PH], {}
        if own.step_ph is not None:
            caps["step"] = self.middle(mean + self.sign * own.step_ph * (YOUNG if self.case.stage.young else 1.0))
        if own.day_ph is not None:
            caps["day"] = self.middle(mean + self.sign * left_today(self.case, own.day_ph, self.direction))
        return caps

    def taken_if_misread(self) -> float:
        """One ordinary step of the weakest reservoir believable before it was read, none past the edge. [mL]"""
        before = supposed(self.case)
        stepped = before.mean[b.PH] + self.sign * MISREAD_STEP_PH
        inside = self.edge + self.sign * PAST_EDGE_PH
        nearest = max(inside, stepped) if self.sign < 0.0 else min(inside, stepped)
        aside = nearest - self.sign * PAST_EDGE_PH
        return weakest_takes(replace(self.projected, state=before), aside, self.sign, self.per_ml)


def _jar_ml(pour: _Pour, aim: float) -> float:
    """What goes into a jar, for the whole volume: what takes the water as it stands now to the aim, or a little past
    where it stands. [mL]
    """
    case, sign = pour.case, pour.sign
    if case.state is None or case.state is pour.projected.state:
        return pour.middle(aim)
    now = case.state.mean[b.PH]
    target = min(aim, now - JAR_STEP_PH) if sign < 0.0 else max(aim, now + JAR_STEP_PH)
    return replace(pour, cloud=case.state.cloud(b.POINTS)).middle(target)


def _measured(
    case: Case, projected: Projection, agent: Agent, ml: float, direction: Direction
) -> tuple[Measured, Measured | None]:
    """What can be measured of a dose, and what of the thinned bottle that is, where it is too small otherwise."""
    thinned = _thinned(ml)
    whole = millilitres_down(ml) if thinned is None else Measured(thinned.amount / THINNED, "mL")
    measured = kept_above_lowest(case, projected, agent, whole, direction)
    return measured, thinned if measured == whole else None


def _thinned(ml: float) -> Measured | None:
    """What of a thinned bottle is to be poured; None where the bottle itself can be measured, or nothing at all."""
    if ml >= SMALLEST_ML:
        return None
    thinned = thinned_down(ml)
    return thinned if thinned.amount > 0.0 else None


def _within_edge(needed: Sequence[float]) -> float:
    """The largest dose that adds no more than the budget to the risk of passing the far edge. [mL]"""
    reach = reach_of(needed)
    return largest(reach.added, EDGE_RISK, 3.0 * max(*needed, 0.0) + 1e-6)


def _aim(case: Case, projected: Projection, direction: Direction, agent: Agent) -> float:
    """The middle of the band, shifted against what CO2 and plants will do until the next round."""
    low, high = case.stage.ph
    width, middle = high - low, (low + high) / 2.0
    per_ml = parcel_of(agent.per_ml.scaled(1.0 / projected.volume_l))
    cloud = projected.state.cloud(QUICK_POINTS)
    trial = max(0.0, quantile(b.demand(cloud, projected.curve, middle, per_ml), 0.5))
    tried = b.summed_up(b.dosed(projected.state, projected.curve, per_ml.times(trial), QUICK_POINTS))
    hours = case.next_round_h
    ahead = b.summed_up(b.aged(tried, projected.curve, hours, QUICK_POINTS))
    drift = ahead.mean[b.PH] - tried.mean[b.PH]
    return middle - min(max(drift / 2.0, -_MOST_SHIFT * width), _MOST_SHIFT * width)


def hardly_moves(projected: Projection, agent: Agent, measured: Measured) -> bool:
    """Whether the pH foreseen after a dose lies less than a tenth as far off as so much should move it."""
    if measured.amount <= 0.0:
        return False
    after = with_dose(projected, agent, measured.amount)
    buffer = max(buffer_at(each.state.mean, projected) for each in (projected, after))
    meq_l = abs(agent.per_ml.alkalinity_meq_l) * measured.amount / projected.volume_l
    return abs(after.ph_range[0] - projected.ph_range[0]) < LEAST_EFFECT * meq_l / max(buffer, 1e-6)


def kept_above_lowest(
    case: Case, projected: Projection, agent: Agent, measured: Measured, direction: Direction = "acid"
) -> Measured:
    """Less, until no prediction ends below the lowest pH; nothing where even a little would."""
    if direction == "base":
        return measured
    for _ in range(8):
        if (
            measured.amount <= 0.0
            or with_dose(projected, agent, measured.amount).ph_range[1] >= case.farm.limits.lowest_ph
        ):
            return measured
        measured = millilitres_down(measured.amount * 0.6)
    return millilitres_down(0.0)
