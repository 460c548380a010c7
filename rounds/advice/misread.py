"""A pH that may have been read wrongly: what speaks against it, and how little is safe to pour whichever is true."""

from __future__ import annotations

import math

from rounds.advice.case import Case
from rounds.advice.earlier import poured_since, read_before, read_twice
from rounds.belief import state as b
from rounds.belief.first_reading import WORN_MEAN, WORN_SD
from rounds.belief.gaussian import Gaussian
from rounds.belief.response import waited
from rounds.book.message import Message, say
from rounds.book.offer import Finding, act
from rounds.science.speciation import AIR_PCO2_ATM

PH_JUMP = 0.8
"""As the checklist has it, so that both call the same reading hard to believe. [-]"""
SAME_PH = 0.2
HIGHEST_OF_FEED_PH = 8.5
"""Hard water that was left to stand comes this far; a feed with phosphate in it hardly ever: practice. [-]"""
TIMES_BROUGHT = 2.0
"""A reading that implies more alkalinity than so many times what was brought in is doubted. [-]"""
_LEFT_MEQ_L = 0.3
"""Alkalinity that a feed near pH 6 has anyway. [meq/L]"""
_ACID_SHARE_IN_DOUBT = 0.1
"""So much of the acid on record may not have arrived: strength and measuring together. [-]"""
_PLANTS_MEQ_L_DAY, _PLANTS_DAYS = 0.1, 14.0
"""What plants on nitrate may add: practice. [meq/L/day, d]"""
_SUPPOSED_SD, _CO2_SD = 0.3, 0.15
"""Spread of the pH, and of the logarithm of the CO2, where nothing was read here before. [-]"""


def doubted_ph(case: Case) -> Message | None:
    """Why the pH read is hard to believe with no dose to blame; None where it is believed."""
    for finding in (reading_jump(case), too_alkaline(case)):
        if finding is not None:
            return finding.says
    return far_from_before(case)


def reading_jump(case: Case) -> Finding | None:
    """A pH far from what the readings before led one to expect, with no dose to blame."""
    surprise = case.answer.surprise
    if surprise is None or surprise.after_dose:
        return None
    return act("reading-jump", read=surprise.read, expected=surprise.expected)


def too_alkaline(case: Case) -> Finding | None:
    """A pH that would need more alkalinity than water, base and plants can have brought here."""
    ph, second = case.readings.ph, case.readings.second_meter_ph
    if ph is None or (second is not None and abs(second - ph) < SAME_PH):
        return None
    implied, brought = implied_meq_l(case, ph), brought_meq_l(case)
    if ph <= HIGHEST_OF_FEED_PH and implied <= TIMES_BROUGHT * brought:
        return None
    return act("reading-too-high", ph=ph, implied=implied, brought=brought)


def far_from_before(case: Case) -> Message | None:
    """A pH that the checklist calls hard to believe, whatever the chemistry makes of it."""
    now, then = case.readings.ph, read_before(case, "ph")
    if now is None or then is None or abs(now - then) <= PH_JUMP:
        return None
    if poured_since(case, "ph") or read_twice(case, "ph", now, SAME_PH):
        return None
    return say("ph-far-from-before", now=now, then=then)


def implied_meq_l(case: Case, ph: float) -> float:
    """The least alkalinity a reservoir with that pH has: no CO2 but the air's, no phosphate left. [meq/L]"""
    _, per_carbonate, bare, held = case.curve.parts(ph)
    return AIR_PCO2_ATM * held * per_carbonate + bare


def brought_meq_l(case: Case) -> float:
    """The most alkalinity that is there by the book: of water and base, less the acid, and what plants add. [meq/L]"""
    acid = sum(-e.parcel.alkalinity_meq_l for e in case.ledger.events if e.what == "dose")
    days = _PLANTS_DAYS
    if case.ledger.since is not None:
        days = min(days, max(0.0, (case.now - case.ledger.since).total_seconds() / 86400.0))
    there = max(case.ledger.solution.alkalinity_meq_l, _LEFT_MEQ_L)
    return there + _ACID_SHARE_IN_DOUBT * max(acid, 0.0) + _PLANTS_MEQ_L_DAY * days


def supposed(case: Case) -> Gaussian:
    """What is believed if the reading is wrong: what was believed before it.

    Where nothing was read before, or only the same doubtful pH, the middle of the band with a worn feed.
    """
    if case.before.gaussian is not None:
        before = waited(case.before, case.curve, case.readings.at)
        if case.readings.ph is None or abs(before.mean[b.PH] - case.readings.ph) > SAME_PH:
            return before
    return b.begun(
        ph=sum(case.stage.ph) / 2.0, ph_sd=_SUPPOSED_SD, phosphate=max(case.solution.po4, 0.01) * math.exp(WORN_MEAN),
        phosphate_sd=WORN_SD, pressure_atm=None, pressure_sd=_CO2_SD, habits=case.answer.habits,
    )  # fmt: skip
