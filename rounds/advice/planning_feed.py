"""How much of both concentrates brings the conductivity back."""

from __future__ import annotations

import math
from dataclasses import dataclass

from rounds.advice.case import Case
from rounds.advice.dosing_ph import LEAST_EFFECT
from rounds.advice.drift import ec_by_next_round
from rounds.advice.fell_far import QUARTER, fell_from
from rounds.advice.label_rate import share_left
from rounds.advice.not_by_ec import feed_not_by_ec
from rounds.advice.projection import Projection
from rounds.advice.today import limits_since
from rounds.belief import state as b
from rounds.book.composition import unknown_feed
from rounds.book.entries import Dose, only
from rounds.book.ledger import newest
from rounds.book.measures import Measured, millilitres_down
from rounds.book.message import Message, say
from rounds.book.offer import Finding, Refusal, act, note, refused
from rounds.book.stock import millilitres_left, stock_now
from rounds.science.conductivity import ec25_ms_cm
from rounds.science.saturation import saturation_indices

_YOUNG = 0.5
FAR_ABOVE, ONE_IN_HUNDRED_SD = 0.2, 2.33
"""So far above its band [mS/cm] the conductivity may end once in a hundred feedings: so many standard deviations."""
B_UP_TO_PH = 6.5
"""Up to this pH B goes into any feed: with 3 mmol/L of calcium and 1.2 of phosphate brushite is at its limit near 6.6
(PHREEQC, phreeqc.dat). [-]"""
AIM_IN_BAND = 0.6
"""Where in its band the conductivity is aimed at, so that it lasts: past the middle. [-]"""
WORTH_AHEAD_MS_CM = 0.1
"""Feeding ahead of time that would raise the conductivity by less is left. [mS/cm]"""
WORTH_MS_CM = 0.04
"""Less is not worth a feeding and its wait. [mS/cm]"""
MOST_OF_FULL = 1.3
"""Whatever the model makes of a reading: no more than so many times the share of full strength that the rise is of its
conductivity. A weak feed conducts better for what is in it, so that less than one is usual. [-]"""
_MOST_STRENGTH = 1.5


@dataclass(frozen=True, slots=True, kw_only=True)
class FeedPlan:
    """What of each part of the feed, or why not."""

    pours: tuple[Measured, ...] = ()
    """In the order of pouring; none where nothing is fed."""
    aim_ec: float = 0.0
    limited_by: str = ""
    why: Message | None = None
    refusals: tuple[Refusal, ...] = ()
    findings: tuple[Finding, ...] = ()


def planned(case: Case, projected: Projection) -> FeedPlan:
    """Concentrates for a reservoir as it stands after the water."""
    low, high = case.stage.ec
    wanted = low + AIM_IN_BAND * (high - low)
    why = _why(case, projected, wanted)
    if case.readings.ec_ms_cm is None or why is None:
        return FeedPlan()
    slow = feed_not_by_ec(case)
    if slow is not None:
        return FeedPlan(refusals=(slow,))
    if case.feed.unknown:
        return FeedPlan(refusals=(feed_unknown(case),))
    aim = min(wanted, _surely_below(case, projected), max(projected.ec_ms_cm, case.readings.ec_ms_cm + _left(case)))
    limited = "" if aim >= wanted else "step"
    if aim - projected.ec_ms_cm < WORTH_MS_CM:
        return FeedPlan(refusals=(_enough_today(case),))
    if fell_from(case) is not None:
        aim, limited = projected.ec_ms_cm + QUARTER * (aim - projected.ec_ms_cm), "volume"
    strength, aim, limited = _by_label(case, projected, aim, limited)
    if limited == "label" and aim - projected.ec_ms_cm < WORTH_MS_CM:
        return FeedPlan(refusals=_nothing_left(case, limited))
    strength, limited = _from_stock(case, projected, strength, limited)
    pours = tuple(millilitres_down(ml * strength * projected.volume_l) for ml in case.feed.ml_per_l)
    if any(pour.amount <= 0.0 for pour in pours):
        return FeedPlan(refusals=_nothing_left(case, limited))
    return FeedPlan(
        pours=pours, aim_ec=aim, limited_by=limited,
        why=why, findings=_short(case, limited),
    )  # fmt: skip


def _why(case: Case, projected: Projection, wanted: float) -> Message | None:
    """Why it is fed: too thin now, or so by the next round and far enough from the aim to be worth it; else nothing."""
    low, high = case.stage.ec
    if projected.ec_ms_cm < low:
        return say("feed-too-thin", ec=projected.ec_ms_cm, low=low, high=high)
    then = ec_by_next_round(case, projected.ec_ms_cm)
    if then is None or then >= low - case.ec_sd or wanted - projected.ec_ms_cm < WORTH_AHEAD_MS_CM:
        return None
    return say("feed-thins", then=then)


def acid_first(case: Case, before: Projection, after: Projection) -> bool:
    """Whether B would meet a pH at which calcium phosphate falls out: the acid goes in first then, and is read."""
    ph = before.state.mean[b.PH]
    if case.readings.ph is None or ph <= B_UP_TO_PH:
        return False
    return saturation_indices(after.solution, case.temperature_c, ph)["brushite"] > 0.0


def _surely_below(case: Case, projected: Projection) -> float:
    """The highest aim with which the conductivity hardly ends far above its band. [mS/cm]"""
    most, aim = case.stage.ec[1] + FAR_ABOVE, case.stage.ec[1]
    for _ in range(3):
        sd = math.hypot(projected.ec_sd, projected.feeding_sd * max(0.0, aim - projected.ec_ms_cm))
        aim = most - ONE_IN_HUNDRED_SD * sd
    return aim


def feed_unknown(case: Case) -> Refusal:
    """Why no amount of A and B can be worked out where nothing is known of what is in them."""
    error = unknown_feed(case.feed.unknown)
    return refused("feed-unknown", sentence=error.sentence, hint=error.hint)


def no_effect_foreseen(case: Case, before: Projection, after: Projection, aim_ec: float) -> Refusal | None:
    """Where A and B, as they are entered, would hardly move the conductivity: then what is entered is wrong.

    Parameters
    ----------
    before, after : Stand
        Without and with both concentrates.
    aim_ec : float
        What they are poured for. [mS/cm]
    """
    wanted, foreseen = aim_ec - before.ec_ms_cm, after.ec_ms_cm - before.ec_ms_cm
    if foreseen >= LEAST_EFFECT * wanted:
        return None
    return refused(
        "no-effect-foreseen", names=case.feed.names, foreseen=foreseen, wanted=wanted
    )  # fmt: skip


def strength_for(case: Case, projected: Projection, aim_ec: float) -> float:
    """Share of full strength to add so that the conductivity comes to the aim: two steps of the ion model. [-]"""
    now, scale = projected.ec_book, projected.ec_scale
    most = MOST_OF_FULL * (aim_ec - projected.ec_ms_cm) / max(ec25_ms_cm(case.feed.full, 6.0), 0.1)
    tried = min(max((aim_ec - projected.ec_ms_cm) / 1.7, 0.01), _MOST_STRENGTH)
    for _ in range(2):
        more = ec25_ms_cm(projected.solution.plus(case.feed.full.scaled(tried)), 6.0)
        slope = scale * (more - now) / tried
        tried = min(max((aim_ec - projected.ec_ms_cm) / max(slope, 1e-6), 1e-4), _MOST_STRENGTH)
    return min(tried, most)


def _left(case: Case) -> float:
    """How far the conductivity may still be raised in this step and today. [mS/cm]"""
    limits = case.farm.limits
    factor = _YOUNG if case.stage.young else 1.0
    return max(0.0, min(limits.step_ec * factor, limits.day_ec * factor - _raised_today(case)))


def _raised_today(case: Case) -> float:
    """How far feeding has raised the conductivity today, since whichever feeding it was lowest before. [mS/cm]

    The A and B of a fill are no raise.
    """
    fed = fed_today(case)
    if not fed or case.readings.ec_ms_cm is None:
        return 0.0
    read = [event for event in case.ledger.events if event.what == "ec"]
    before = [[event.value for event in read if event.at <= dose.measured_at][-1:] for dose in fed]
    return max([0.0, *(case.readings.ec_ms_cm - value for values in before for value in values)])


def fed_today(case: Case) -> list[Dose]:
    """A and B that went into the feed of now today, or in the last 16 hours: not those of its fill, nor before it."""
    since, filled_by = limits_since(case, case.now), _fill_of_now(case)
    if case.ledger.since is not None:
        since = max(since, case.ledger.since)
    return [
        dose for dose in only(Dose, case.here)
        if since < dose.measured_at <= case.now and (dose.feeds or dose.item in case.feed.ids)
        and not _is_of_fill(case, dose, filled_by)
    ]  # fmt: skip


def _fill_of_now(case: Case) -> Dose | None:
    renewed = newest(case.ledger.events, "renewed")
    return next((d for d in only(Dose, case.here) if renewed is not None and d.id == renewed.record_id), None)


def _is_of_fill(case: Case, dose: Dose, fill: Dose | None) -> bool:
    """Whether a dose belongs to the fill: to the same correction, or poured before the new feed was read."""
    if fill is None:
        return False
    of_same = fill.correction_id is not None and dose.correction_id == fill.correction_id
    read = [e.at for e in case.ledger.events if e.what == "ec" and e.at > fill.measured_at]
    return of_same or not read or dose.measured_at <= read[0]


def _by_label(case: Case, projected: Projection, aim: float, limited: str) -> tuple[float, float, str]:
    """Share of full strength for an aim, the aim, and what limits it: until an EC has shown what it does, the label."""
    strength = strength_for(case, projected, aim) / projected.feeding
    left = share_left(case, projected)
    if left is None or strength <= left:
        return strength, aim, limited
    return left, projected.ec_ms_cm + (aim - projected.ec_ms_cm) * left / strength, "label"


def _from_stock(case: Case, projected: Projection, strength: float, limited: str) -> tuple[float, str]:
    stock = stock_now(case.farm, case.entries)
    goes = min(
        millilitres_left(case.farm, stock, product_id) / (per_l * projected.volume_l)
        for product_id, per_l in zip(case.feed.ids, case.feed.ml_per_l, strict=True)
    )
    return (goes, "stock") if goes < strength else (strength, limited)


def _nothing_left(case: Case, limited: str) -> tuple[Refusal, ...]:
    if limited == "label":
        return (refused("label-reached", names=case.feed.names),)
    if limited != "stock":
        return ()
    stock = stock_now(case.farm, case.entries)
    out = tuple(p.name for p in case.feed.products if millilitres_left(case.farm, stock, p.id) < 5.0)
    return (refused("concentrates-out", about="out-of-stock", names=out or ("A", "B")),)


def _short(case: Case, limited: str) -> tuple[Finding, ...]:
    if limited == "volume":
        return (note("a-quarter-first"),)
    if limited == "label":
        return (note("label-holds", names=case.feed.names),)
    if limited != "stock":
        return ()
    return (act("concentrates-short", about="short-stock"),)


def _enough_today(case: Case) -> Refusal:
    return refused("day-limit-ec", most=case.farm.limits.day_ec)
