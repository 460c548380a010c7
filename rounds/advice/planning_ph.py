"""How much acid or base: a low quantile of what would reach the far edge, within the caps, aimed past the middle."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta

from rounds.advice.case import Case
from rounds.advice.gates import SMALL_STEP_PH, Direction, Gates
from rounds.advice.least_buffered import PAST_EDGE_PH, buffer_at, buffers, careful, taken_if_swapped, weakest_takes
from rounds.advice.misread import supposed
from rounds.advice.projection import Projection, later, with_dose
from rounds.advice.step_limits import from_last_dose, left_today, step_cap, worked_today
from rounds.belief import state as b
from rounds.belief.gaussian import quantile
from rounds.book.measures import Measured, millilitres_down
from rounds.book.parcel import Parcel, parcel_of
from rounds.science.acids_bases import Agent

SURE_ENOUGH = 0.82
"""From this likelihood on the pH is said to be in band. [-]"""
DOUBTFUL = (0.3, 0.96)
"""Between these likelihoods of being in band a second dip is asked for. [-]"""
SOON_OUT = 0.45
"""Below this likelihood of still being in band at the next round, something is done now. [-]"""
FORECAST_H = 12.0
QUICK_POINTS = 32
"""Points of the cloud where only a mean is wanted. [-]"""
_MOST_SHIFT = 0.25
"""Furthest that the aim is put off the middle, in widths of the band."""
MOST_MEQ_L = 1.25
"""No step of a trim brings more acid or base than this, whatever the rest says: usual are 0.05 to 0.4, a hard
fill that got too little takes more. [meq/L]"""
IF_MISREAD, NO_EFFECT = "if misread", "no effect foreseen"
LEAST_EFFECT = 0.1
"""What is foreseen to do less than this share of what so much should do is not poured. [-]"""
WORTH_AHEAD_PH = 0.15
"""A dose ahead of time that would move less than this is left. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """Which way the pH has to go, and why."""

    direction: Direction
    in_band: float
    """Likelihood of being in band now. [-]"""
    in_band_later: float
    why: str
    outlook: str = ""
    """Where it is going by itself, in a sentence without its point; empty where it is off now."""
    ahead_of_time: bool = False
    """Whether it is in band now, and only moved because it will not stay there."""


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

    @property
    def held_by_if_read_rightly(self) -> str:
        """The rule that would hold were the reading not in doubt."""
        return min((name for name in self.limits_ml if name != IF_MISREAD), key=lambda name: self.limits_ml[name])


def wanted(case: Case, projected: Projection) -> Wanted | None:
    """Whether the pH needs acid or base; None where it is in band and will stay there until the next round."""
    low, high = case.stage.ph
    now = b.share_within(projected.state, low, high)
    ahead = later(projected, case.next_round_h, QUICK_POINTS)
    then = b.share_within(ahead.state, low, high)
    if now >= SURE_ENOUGH and then >= SOON_OUT:
        return None
    middle = (low + high) / 2.0
    mean, mean_then = projected.state.mean[b.PH], ahead.state.mean[b.PH]
    if now < SURE_ENOUGH:
        why = f"The pH is in its band of {low:g} to {high:g} with a likelihood of {now:.0%} only."
        return Wanted(direction="acid" if mean > middle else "base", in_band=now, in_band_later=then, why=why)
    if (mean - middle) * (mean_then - middle) < 0.0:
        return None
    outlook = f"The pH is in band now, but about {mean_then:.1f} by the next round"
    return Wanted(direction="acid" if mean_then > middle else "base", in_band=now, in_band_later=then,
                  why=f"{outlook}: better moved now.", outlook=outlook, ahead_of_time=True)  # fmt: skip


def is_worth_it(projected: Projection, agent: Agent, dose: PlannedDose) -> bool:
    """Whether a dose ahead of time moves enough to be poured at all: CO2 that leaves is not chased in small steps."""
    if dose.measured.amount <= 0.0:
        return False
    return abs(with_dose(projected, agent, dose.measured.amount).ph_range[0] - projected.ph_range[0]) >= WORTH_AHEAD_PH


def dips(case: Case) -> int:
    """How often the pH was read since anything was poured, within half an hour. [-]"""
    since = case.readings.at - timedelta(minutes=30)
    poured = [e.at for e in case.ledger.events if e.what in ("dose", "water", "renewed")]
    from_when = max([since, *poured[-1:]])
    on_record = [e for e in case.ledger.events if e.what == "ph" and from_when <= e.at <= case.readings.at]
    return max(1, len(on_record))


def second_dip_helps(case: Case, in_band: float, dose: PlannedDose | None) -> bool:
    """Whether one more dip would allow a larger step, or make a doubtful verdict sure."""
    if dips(case) >= 2:
        return False
    held_by_doubt = dose is not None and dose.decided_by in ("far edge", "far edge at rest", "lowest pH")
    return held_by_doubt or DOUBTFUL[0] < in_band < DOUBTFUL[1]


def dose_for(
    case: Case,
    projected: Projection,
    agent: Agent,
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
    state = projected.state.loosened((gates.extra_ph_sd**2, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0))
    cloud = state.cloud(b.POINTS)
    per_ml = parcel_of(agent.per_ml.scaled(1.0 / projected.volume_l))
    low, high = case.stage.ph
    edge, sign = (low, -1.0) if direction == "acid" else (high, 1.0)
    mean = state.mean[b.PH]
    aim = _aim(case, projected, direction, agent)

    def middle(target: float) -> float:
        return max(0.0, quantile(b.demand(cloud, projected.curve, target, per_ml), 0.5))

    limits = {
        "aim": middle(aim),
        "far edge": careful(b.demand(cloud, projected.curve, edge, per_ml, FORECAST_H)),
        "step": middle(mean + sign * step_cap(case, gates)),
        "day": middle(mean + sign * left_today(case, direction)),
        "last dose": from_last_dose(case, agent),
        "stock": most_ml if hard_ml is None else min(hard_ml, max(most_ml, middle(mean + sign * SMALL_STEP_PH))),
        "most at once": MOST_MEQ_L * projected.volume_l / abs(agent.per_ml.alkalinity_meq_l),
    }
    if case.answer.proven == 0:
        limits["weakest buffer"] = weakest_takes(projected, edge, sign, per_ml)
    if gates.doubted:
        limits[IF_MISREAD] = _taken_if_misread(case, projected, edge, sign, per_ml)
    if not worked_today(case, direction):
        least = middle(mean + sign * SMALL_STEP_PH)
        limits["if swapped"] = max(least, taken_if_swapped(projected, cloud, sign, per_ml))
    if direction == "acid":
        limits["lowest pH"] = careful(b.demand(cloud, projected.curve, case.farm.limits.lowest_ph, per_ml))
    else:
        limits["far edge at rest"] = careful(b.demand_at_rest(cloud, projected.curve, edge, per_ml, FORECAST_H))
    weakest, middle_buffer = buffers(projected, cloud)
    measured = kept_above_lowest(case, projected, agent, millilitres_down(min(limits.values())), direction)
    if hardly_moves(projected, agent, measured):
        limits[NO_EFFECT], measured = 0.0, millilitres_down(0.0)
    decided_by = min(limits, key=lambda name: limits[name])
    wanted_ml = limits[decided_by]
    return PlannedDose(
        measured=measured, wanted_ml=wanted_ml, aim_ph=aim, limits_ml=limits, decided_by=decided_by,
        weakest_buffer=weakest, middle_buffer=middle_buffer,
    )  # fmt: skip


def _taken_if_misread(case: Case, projected: Projection, edge: float, sign: float, per_ml: Parcel) -> float:
    """One ordinary step of the weakest reservoir that was believable before the reading, and none past the edge."""
    before = supposed(case)
    stepped = before.mean[b.PH] + sign * case.farm.limits.step_ph
    nearest = max(edge - PAST_EDGE_PH, stepped) if sign < 0.0 else min(edge + PAST_EDGE_PH, stepped)
    return weakest_takes(replace(projected, state=before), nearest - sign * PAST_EDGE_PH, sign, per_ml)


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
