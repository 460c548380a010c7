"""Whether the pH needs acid or base, now or ahead of time, and whether one more dip of the probe would help."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

from rounds.advice.case import Case
from rounds.advice.dosing_ph import QUICK_POINTS, PlannedDose
from rounds.advice.gates import Direction
from rounds.advice.projection import Projection, later, with_dose
from rounds.belief import state as b
from rounds.book.message import Message, say
from rounds.science.acids_bases import Agent

SURE_ENOUGH = 0.82
"""From this likelihood on the pH is said to be in band. [-]"""
DOUBTFUL = (0.3, 0.96)
"""Between these likelihoods of being in band a second dip is asked for. [-]"""
SOON_OUT = 0.45
"""Below this likelihood of still being in band at the next round, something is done now. [-]"""
WORTH_AHEAD_PH = 0.15
"""A dose ahead of time that would move less than this is left. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """Which way the pH has to go, and why."""

    direction: Direction
    in_band: float
    """Likelihood of being in band now. [-]"""
    in_band_later: float
    why: Message
    outlook: Message | None = None
    """Where it is going by itself, without its point, where it is only moved because it will not stay in its band."""

    @property
    def ahead_of_time(self) -> bool:
        """Whether it is in band now."""
        return self.outlook is not None


def wanted(case: Case, projected: Projection) -> Wanted | None:
    """Whether the pH needs acid or base; None where it is in band and will stay there until the next round."""
    low, high = case.stage.ph
    now = b.share_within(projected.state, low, high)
    ahead = later(projected, case.next_round_h, QUICK_POINTS)
    then = b.share_within(ahead.state, low, high)
    middle = (low + high) / 2.0
    mean, mean_then = projected.state.mean[b.PH], ahead.state.mean[b.PH]
    if now >= SURE_ENOUGH and (then >= SOON_OUT or low <= mean_then <= high):
        return None
    if now < SURE_ENOUGH:
        why = say("not-sure-in-band", low=low, high=high, likely=now)
        return Wanted(direction="acid" if mean > middle else "base", in_band=now, in_band_later=then, why=why)
    if (mean - middle) * (mean_then - middle) < 0.0:
        return None
    outlook = say("ph-will-leave", then=mean_then)
    return Wanted(direction="acid" if mean_then > middle else "base", in_band=now, in_band_later=then,
                  why=say("better-moved", outlook=outlook), outlook=outlook)  # fmt: skip


def before_water(case: Case, projected: Projection) -> Wanted:
    """Acid that makes room for what a water will lift."""
    low, high = case.stage.ph
    now = b.share_within(projected.state, low, high)
    return Wanted(direction="acid", in_band=now, in_band_later=now, why=say("room-for-hard-water"))


def near_edge(case: Case, projected: Projection) -> bool:
    """Whether the pH lies in the outer quarter of its band, on either side."""
    low, high = case.stage.ph
    return abs(projected.state.mean[b.PH] - (low + high) / 2.0) > (high - low) / 4.0


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
