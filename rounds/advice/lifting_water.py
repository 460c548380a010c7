"""Water that lifts the pH: how much of it may go in at once before the pH may pass the upper end of its band."""

from __future__ import annotations

from dataclasses import replace

from rounds.advice.budgets import EDGE_RISK, largest
from rounds.advice.case import Case
from rounds.advice.projection import Projection
from rounds.advice.today import limits_since
from rounds.advice.water_plan import WaterPlan, can_be_measured, least_l
from rounds.belief import state as b
from rounds.book.composition import KnownWater
from rounds.book.parcel import parcel_of

SOON_H = 1.0
"""So long the CO2 that a water brought goes on leaving before anybody reads it. [h]"""
HARDER_SD = 0.35
"""Spread of the logarithm of a water's alkalinity: an analysis is right within a factor of two. Practice. [-]"""
LEFT_FOR_LATER = 0.25
"""A reservoir that misses no more than this share of its working volume can wait for the rest. [-]"""
SOURED = 0.25
"""Acid that makes room for a water brings the pH this far into its band. [-]"""
WORTH_PARTING = 0.3
"""Water is not poured in more than about three parts: else all goes in, and acid follows. [-]"""
_POINTS = 24
_NO_MORE = (0.0,) * 7


def parted(case: Case, projected: Projection, plan: WaterPlan, water: KnownWater) -> WaterPlan:
    """The same with less water, or acid first, where all of it would lift the pH past its band."""
    (low, high), ph = case.stage.ph, projected.state.mean[b.PH]
    if ph > high:
        return plan
    kept_l = projected.volume_l - plan.drain_l
    litres = litres_within_band(projected, water, plan.top_up_l, kept_l, high)
    if litres >= plan.top_up_l:
        return plan
    can_wait = rest_can_wait(case, plan.top_up_l) and not (plan.drain_l or projected.ec_ms_cm > case.stage.ec[1])
    if ph >= (low + high) / 2.0:
        if can_wait and went_in_today(case):
            return WaterPlan(waits_l=plan.top_up_l)
        soured = litres_within_band(projected, water, plan.top_up_l, kept_l, high, from_ph=low + SOURED * (high - low))
        return replace(plan, acid_first=soured >= WORTH_PARTING * plan.top_up_l)
    worth = can_wait or litres >= WORTH_PARTING * plan.top_up_l
    if litres < least_l(case) or not can_be_measured(case, water, litres) or not worth:
        return plan
    later = plan.top_up_l - litres
    return replace(plan, top_up_l=litres, drain_l=max(0.0, plan.drain_l - later), waits_l=later)


def litres_within_band(
    projected: Projection, water: KnownWater, litres: float, left_l: float, high: float, from_ph: float | None = None
) -> float:
    """The most of a water, up to `litres`, that rarely takes the pH past the upper end of its band. [L]

    The water may be as much harder than its analysis as `water.doubt` says.

    Parameters
    ----------
    left_l : float
        What circulates when it is poured, after anything was drained off. [L]
    high : float
        The upper end of the band. [-]
    from_ph : float, optional
        Where acid has brought the pH before; where it stands if left out. [-]
    """
    state = projected.state if from_ph is None else projected.state.loosened(_NO_MORE, _shifted(projected, from_ph))
    before, parcel = _share_above(state.cloud(_POINTS), high), parcel_of(water.solution)
    doubt = max(water.doubt, HARDER_SD)

    def risk(poured_l: float) -> float:
        cloud = b.diluted(state, projected.curve, poured_l / (left_l + poured_l), parcel, doubt, _POINTS)
        return max(0.0, _share_above(b.aged_cloud(cloud, projected.curve, SOON_H), high) - before)

    return largest(risk, EDGE_RISK, litres)


def _shifted(projected: Projection, ph: float) -> tuple[float, ...]:
    return (ph - projected.state.mean[b.PH], *_NO_MORE[1:])


def _share_above(cloud: b.Cloud, ph: float) -> float:
    return 1.0 - b.share_within(b.summed_up(cloud), 0.0, ph)


def rest_can_wait(case: Case, missing_l: float) -> bool:
    """Whether a reservoir that misses so much can wait for it. [L]"""
    return missing_l <= LEFT_FOR_LATER * case.reservoir.working_volume_l


def went_in_today(case: Case) -> bool:
    """Whether water was poured in today."""
    since = limits_since(case, case.now)
    return any(e.what == "water" and e.at >= since for e in case.ledger.events)
