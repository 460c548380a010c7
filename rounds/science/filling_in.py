"""What a label leaves untold, filled in: the forms of nitrogen, magnesium, and calcium by the charges."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from statistics import NormalDist

from rounds.science.printed_label import PrintedLabel
from rounds.science.published_feeds import PublishedFeed
from rounds.science.solution import Solution

IONS = ("no3", "nh4", "po4", "k", "ca", "mg", "so4")
AMMONIUM_SD, MAGNESIUM_SD, SULFATE_SD = 0.02, 0.3, 0.012
"""Of the ammonium share, of the logarithm of magnesium, of sulfate beyond magnesium as a share of N: how published
feeds for one crop differ. Practice. [-]"""
WITH_PHOSPHATE, MOST_USUAL_AMMONIUM = 0.6, 0.19
"""How often ammonium is taken to have come as ammonium phosphate, and its highest share then. Practice. [-]"""
BY_POTASSIUM = 0.35
"""How often magnesium goes by the potassium of a part and not by its phosphate: some K may be in the other. [-]"""
BY_CHARGES = 0.75
"""How often sulfate is taken to have come with magnesium alone in a part beside calcium: practice. [-]"""
ODD_AMMONIUM_OF_REST = 0.06
"""How often a part beside calcium is believed to hold any share of ammonium. Practice. [-]"""
ODD_N_SHARE = 0.03
"""How likely nitrogen is far more ammonium, or urea, than in any published feed: garden feeds are. Practice. [-]"""
GRANULES_AMMONIUM = (0.0, 0.083)
"""Share of ammonium in the nitrogen of the two calcium nitrates of the trade. Computed. [-]"""
MOST_CALCIUM = 0.42
"""Calcium beyond this share of N is in no published feed: then some of the nitrogen is no nitrate. [-]"""
ION_MASS = {"no3": 62.0, "nh4": 18.04, "po4": 97.0, "k": 39.1, "ca": 40.1, "mg": 24.3, "so4": 96.1, "cl": 35.5,
            "na": 23.0}  # fmt: skip
"""[g/mol]"""
_MG_SULFATE_G_MOL = 246.5
"""Of the heptahydrate."""
BELL = NormalDist()


def filled_in(
    told: Mapping[str, float], one: PublishedFeed, other: PublishedFeed, label: PrintedLabel, point: Sequence[float]
) -> tuple[dict[str, float], float, float]:
    """All ions, those that are not told filled in; nitrogen as urea; and how believable the whole is.

    Ammonium as in one published feed; magnesium and sulfate lie between two.
    """
    like = one.solution.plus(other.solution.scaled(nitrogen_of(one) / nitrogen_of(other)))
    n_like = nitrogen_in(like)
    found = {ion: told.get(ion, 0.0) for ion in (*IONS, "cl", "na")}
    usual = _usual_ammonium(told, one, label, point[1])
    found["no3"], found["nh4"], urea = _forms_of_nitrogen(told, usual, label, point)
    per_n = _scale_of_rest(told, like, label, point[2])
    if "mg" not in told:
        found["mg"] = per_n * like.mg / n_like * math.exp(MAGNESIUM_SD * normal(point[2]))
        found["mg"] = 0.0 if label.part == "calcium" else min(found["mg"], _room_for_magnesium(found, urea))
    beyond = per_n * ((like.so4 - like.mg) / n_like + SULFATE_SD * normal(point[3]))
    excess = found["no3"] + found["po4"] + found["cl"] - found["k"] - found["nh4"] - found["na"]
    if "ca" not in told:
        found["ca"] = _calcium(excess, beyond, found, told, label)
    rest = 2.0 * (found["ca"] + found["mg"]) - excess
    if "so4" not in told:
        found["so4"] = max(0.0, rest / 2.0)
    _close(found, rest - 2.0 * found["so4"], told, label)
    n = nitrogen(told)
    over = max(0.0, found["ca"] / n - MOST_CALCIUM) if n > 0.0 and label.part == "whole" else 0.0
    return found, urea, math.exp(-0.5 * (over / 0.05) ** 2) + 1e-6


def _room_for_magnesium(found: Mapping[str, float], urea_n: float) -> float:
    """Magnesium for which a gram has room as its sulfate: a pure salt leaves none for what is not told. [mmol]"""
    taken = math.fsum(found[ion] * mass for ion, mass in ION_MASS.items()) + urea_n * 30.03
    return max(0.0, (1000.0 - taken) / _MG_SULFATE_G_MOL)


def _close(found: dict[str, float], over: float, told: Mapping[str, float], label: PrintedLabel) -> None:
    """Give the charges that are over a partner, in place: anions get ammonium instead of nitrate, then magnesium.

    Parameters
    ----------
    over : float
        Cations less anions. [meq]
    """
    if over < 0.0 and "ca" in told and "no3" not in told:
        moved = min(-over / 2.0, found["no3"])
        found["no3"], found["nh4"], over = found["no3"] - moved, found["nh4"] + moved, over + 2.0 * moved
    if over < 0.0 and "mg" not in told and label.part != "calcium":
        found["mg"], over = found["mg"] - over / 2.0, 0.0
    found["inert_meq_l"] = -over


def _forms_of_nitrogen(
    told: Mapping[str, float], usual: float, label: PrintedLabel, point: Sequence[float]
) -> tuple[float, float, float]:
    """Nitrate, ammonium and urea."""
    n, nh4, urea = nitrogen(told), told.get("nh4"), told.get("urea")
    if "no3" in told and nh4 is not None:
        return told["no3"], nh4, max(urea if urea is not None else n - told["no3"] - nh4, 0.0)
    left = max(0.0, n - told.get("no3", 0.0) - (nh4 or 0.0) - (urea or 0.0))
    odd = point[0] < ODD_N_SHARE and label.part != "calcium"
    if urea is None:
        urea = left * point[4] * 0.8 if odd and point[1] < 0.5 and nh4 is None and "no3" not in told else 0.0
    if nh4 is None:
        nh4 = left if "no3" in told else left * _ammonium_share(usual, label, point, odd=odd)
        nh4 = max(0.0, nh4 - (urea if "no3" in told and "urea" not in told else 0.0))
    return told.get("no3", max(0.0, n - nh4 - urea)), nh4, urea


def _ammonium_share(usual: float, label: PrintedLabel, point: Sequence[float], *, odd: bool) -> float:
    if label.part == "calcium":
        return GRANULES_AMMONIUM[1] * (point[1] if point[1] > 0.3 else 0.0)
    if label.part == "rest" and (point[1] * 9.0) % 1.0 < ODD_AMMONIUM_OF_REST:
        return point[4]
    if odd:
        return 0.2 + 0.6 * point[1] if point[1] >= 0.5 else usual
    return min(1.0, max(0.0, usual + (AMMONIUM_SD * normal(point[1]) if usual > 0.0 else 0.0)))


def _scale_of_rest(told: Mapping[str, float], like: Solution, label: PrintedLabel, turn: float) -> float:
    """The nitrogen of a whole feed that the label's part belongs to: by its P, at times by its K. [mmol]"""
    n = nitrogen(told)
    if label.part == "whole" and n > 0.0:
        return n
    likes = {"po4": like.po4, "k": like.k}
    scaled = [told[ion] / of_like * nitrogen_in(like) for ion, of_like in likes.items() if told.get(ion, 0.0) > 0.0]
    if not scaled:
        return n
    return scaled[-1] if (turn * 7.0) % 1.0 < BY_POTASSIUM else scaled[0]


def _calcium(
    excess: float, beyond: float, found: Mapping[str, float], told: Mapping[str, float], label: PrintedLabel
) -> float:
    if label.part == "rest":
        return 0.0
    sulfate = told.get("so4")
    if label.part == "calcium" and sulfate is None:
        return max(0.0, excess / 2.0)
    if sulfate is not None:
        return max(0.0, excess / 2.0 + sulfate - found["mg"])
    return max(0.0, excess / 2.0 + beyond)


def _usual_ammonium(told: Mapping[str, float], feed: PublishedFeed, label: PrintedLabel, turn: float) -> float:
    """Share of ammonium in the nitrogen: mostly it comes with the phosphate, so it goes by P where that is told.

    In a part beside calcium it is also what potassium leaves over, where sulfate came with magnesium alone.
    """
    by_n, s = feed.solution.nh4 / nitrogen_of(feed), feed.solution
    n, p = max(nitrogen(told), 1e-9), told.get("po4")
    again = (turn * 5.0) % 1.0
    if label.part == "rest" and "k" in told and again < BY_CHARGES:
        return min(1.0, max(0.0, (n + (p or 0.0) - told["k"]) / 2.0 / n))
    if p is None or (label.part == "whole" and again >= WITH_PHOSPHATE):
        return by_n
    return min(p * s.nh4 / s.po4 / n, MOST_USUAL_AMMONIUM if label.part == "whole" else 1.0)


def nitrogen_of(feed: PublishedFeed) -> float:
    """Nitrate and ammonium of a published feed. [mmol/L]"""
    return nitrogen_in(feed.solution)


def nitrogen_in(solution: Solution) -> float:
    """Nitrate and ammonium. [mmol/L]"""
    return solution.no3 + solution.nh4


def nitrogen(told: Mapping[str, float]) -> float:
    """All nitrogen that a label tells, in whichever forms. [mmol]"""
    return told.get("n", told.get("no3", 0.0) + told.get("nh4", 0.0) + told.get("urea", 0.0))


def normal(turn: float) -> float:
    """A number of standard deviations for a share of the bell, its far tails cut off. [-]"""
    return BELL.inv_cdf(min(max(turn, 0.01), 0.99))
