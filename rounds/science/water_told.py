"""A water by what is known of it: drops or strips for hardness and alkalinity, a pen for EC and pH, or nothing.

What is missing follows from the balance of charges, with doubt: cations come to about ten times the EC, so that sodium
and potassium are what hardness leaves over; calcium to magnesium lies between 2:1 and 8:1.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from rounds.errors import OutOfRange
from rounds.science.lab_forms import FORMS
from rounds.science.solution import Solution

Unit = Literal["dH", "fH", "eH", "gpg", "mg_l_caco3", "meq_l"]
By = Literal["drops", "strip", "laboratory"]

MEQ_L: Mapping[str, float] = MappingProxyType({
    "dH": 2.0 * FORMS["hardness in German degrees"].per_unit, "fH": 2.0 * FORMS["hardness in French degrees"].per_unit,
    "eH": 2.0 * FORMS["hardness in English degrees"].per_unit, "gpg": 2.0 * FORMS["hardness in US grains"].per_unit,
    "mg_l_caco3": 2.0 * FORMS["hardness as CaCO3"].per_unit, "meq_l": 1.0,
})  # fmt: skip
"""One of each unit, of hardness or of alkalinity: German, French and English degrees, grains per US gallon. [meq/L]"""
MOST_MEQ_L = 30.0
PAD_DH, PAD_SHARE = 3.0, 0.3
"""How far the pads of a strip lie apart where nobody says: so many German degrees, or that share of what is read.
Practice."""
CA_SHARE = 0.8
"""Of hardness as calcium: 4:1 by equivalents, between 2:1 and 8:1. [-]"""
CATIONS_PER_MS_CM = 10.0
"""USDA Agriculture Handbook 60, second-hand. [meq/L per mS/cm]"""
USUAL_PH = 7.4
ALKALINITY_OF_HARDNESS, HARDNESS_DOUBT = 0.8, 0.4
"""Alkalinity against hardness where only that was read, and the spread of its logarithm: most hard waters. Practice."""
ALKALINITY_OF_EC, EC_DOUBT = 0.6, 0.6
"""Alkalinity against all cations where only the EC was read: practice. [-]"""
UNKNOWN_MEQ_L, UNKNOWN_DOUBT = 1.5, 1.2
"""A water of which nothing was read: from a tenth of this to ten times, nine times in ten. Practice."""
LEAST_DOUBT, MOST_DOUBT = 0.06, 1.4
SODIUM_CLOSED_MG_L = 30.0
"""More sodium than this heaps up in closed systems: practice, see Oklahoma State HLA-6442 for 50 in open ones."""
_Z = 1.645
_ANIONS = {"cl": 0.45, "so4": 0.175, "no3": 0.2}
"""How anions beside alkalinity share a milliequivalent; sulfate has two charges. [mmol]"""
_TOO_MANY = 1.6


@dataclass(frozen=True, slots=True, kw_only=True)
class WaterTest:
    """Hardness or alkalinity as it was read.

    Parameters
    ----------
    value : float
        In its unit; of drops their number, where one drop is one of the unit.
    unit : str
        A name from MEQ_L.
    by : str
        By what it was read.
    pad : float, optional
        Of a strip: how far the next pad lies. [the unit]
    """

    value: float
    unit: Unit
    by: By = "drops"
    pad: float | None = None

    def __post_init__(self) -> None:
        if not 0.0 <= self.value * MEQ_L[self.unit] <= MOST_MEQ_L:
            raise OutOfRange(
                f"{self.value:g} {self.unit} is not that of a water to grow with.",
                f"Expected 0 to {MOST_MEQ_L / MEQ_L[self.unit]:.0f} {self.unit}: look at the unit.",
            )

    @property
    def meq_l(self) -> float:
        """What it comes to. [meq/L]"""
        return self.value * MEQ_L[self.unit]

    @property
    def lowest_meq_l(self) -> float:
        """The lower end nine times in ten: of a strip the pad below. [meq/L]"""
        if self.by == "strip":
            return max(0.0, self.meq_l - self._pad_meq_l)
        return self.meq_l * math.exp(-_Z * self.doubt)

    @property
    def doubt(self) -> float:
        """Spread of its logarithm. [-]"""
        if self.meq_l <= 0.0:
            return MOST_DOUBT
        if self.by == "strip":
            below = max(self.meq_l - self._pad_meq_l, 1e-9)
            return min(max(math.log(self.meq_l / below) / _Z, 0.15), MOST_DOUBT)
        one = 0.3 * MEQ_L[self.unit] if self.by == "drops" else 0.0
        return min(max(math.hypot(one / self.meq_l, 0.05), LEAST_DOUBT), MOST_DOUBT)

    @property
    def _pad_meq_l(self) -> float:
        if self.pad is not None:
            return self.pad * MEQ_L[self.unit]
        return max(PAD_DH * MEQ_L["dH"], PAD_SHARE * self.meq_l)


@dataclass(frozen=True, slots=True, kw_only=True)
class ToldWater:
    """What is known of a water; whatever is left out is not known."""

    hardness: WaterTest | None = None
    alkalinity: WaterTest | None = None
    ec_ms_cm: float | None = None
    """At 25 degC."""
    softener: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class BelievedWater:
    """Ions and alkalinity of a water, and how far the alkalinity is known."""

    ions: Solution
    """Without carbonate. [mmol/L]"""
    alkalinity_meq_l: float
    doubt: float
    """Spread of the logarithm of the alkalinity. [-]"""
    ec_ms_cm: float


def believed_water(told: ToldWater) -> BelievedWater:
    """A water by what is told of it.

    Examples
    --------
    >>> found = believed_water(ToldWater(alkalinity=WaterTest(value=13.0, unit="dH"), ec_ms_cm=0.6))
    >>> round(found.alkalinity_meq_l, 1), round(found.ions.ca, 1)
    (4.6, 1.9)
    """
    alkalinity, doubt = _alkalinity(told)
    cations = _cations(told, alkalinity)
    hardness = told.hardness.meq_l if told.hardness is not None else _hardness(told, alkalinity, cations)
    others = max(0.0, cations - alkalinity)
    return BelievedWater(
        ions=Solution(
            ca=hardness * CA_SHARE / 2.0, mg=hardness * (1.0 - CA_SHARE) / 2.0, na=max(0.0, cations - hardness),
            **{ion: others * share for ion, share in _ANIONS.items()},
        ),
        alkalinity_meq_l=alkalinity, doubt=doubt,
        ec_ms_cm=cations / CATIONS_PER_MS_CM if told.ec_ms_cm is None else told.ec_ms_cm,
    )  # fmt: skip


def what_does_not_add_up(told: ToldWater) -> list[str]:
    """Sentences about numbers that cannot all be right, each with what to look at.

    Examples
    --------
    >>> what_does_not_add_up(ToldWater(hardness=WaterTest(value=40.0, unit="dH"), ec_ms_cm=0.3))[0]
    'a hardness of 14.3 meq/L asks for an EC of 1.4 mS/cm or more, and 0.30 is entered: look at the unit and at the pen'
    """
    found = []
    for name, test in (("a hardness", told.hardness), ("an alkalinity", told.alkalinity)):
        if test is not None and told.ec_ms_cm is not None and exceeds(test.meq_l, told.ec_ms_cm):
            found.append(
                f"{name} of {test.meq_l:.1f} meq/L asks for an EC of {test.meq_l / CATIONS_PER_MS_CM:.1f} mS/cm or "
                f"more, and {told.ec_ms_cm:.2f} is entered: look at the unit and at the pen"
            )
    return found


def exceeds(charges_meq_l: float, ec_ms_cm: float) -> bool:
    """Whether so many charges of one sign are far more than a conductivity can come from.

    Examples
    --------
    >>> exceeds(42.4, 0.55), exceeds(6.6, 0.63)
    (True, False)
    """
    return charges_meq_l > _TOO_MANY * CATIONS_PER_MS_CM * ec_ms_cm + 0.5


def sodium_mg_l(told: ToldWater) -> float:
    """Sodium that the water must hold, where alkalinity or EC goes beyond its hardness. [mg/L]

    Examples
    --------
    >>> round(sodium_mg_l(ToldWater(hardness=WaterTest(value=1, unit="dH"), alkalinity=WaterTest(value=12, unit="dH"))))
    105
    """
    return believed_water(told).ions.na * 22.99


def _alkalinity(told: ToldWater) -> tuple[float, float]:
    if told.alkalinity is not None:
        return max(told.alkalinity.meq_l, 0.02), told.alkalinity.doubt
    if told.hardness is not None and not told.softener and told.hardness.meq_l > 0.1:
        doubt = math.hypot(HARDNESS_DOUBT, told.hardness.doubt)
        return ALKALINITY_OF_HARDNESS * told.hardness.meq_l, min(doubt, MOST_DOUBT)
    if told.ec_ms_cm is not None:
        return max(ALKALINITY_OF_EC * CATIONS_PER_MS_CM * told.ec_ms_cm, 0.02), EC_DOUBT
    return UNKNOWN_MEQ_L, UNKNOWN_DOUBT


def _cations(told: ToldWater, alkalinity_meq_l: float) -> float:
    least = max(alkalinity_meq_l, told.hardness.meq_l if told.hardness is not None else 0.0)
    return 1.15 * least if told.ec_ms_cm is None else max(least, CATIONS_PER_MS_CM * told.ec_ms_cm)


def _hardness(told: ToldWater, alkalinity_meq_l: float, cations_meq_l: float) -> float:
    return 0.05 * cations_meq_l if told.softener else min(alkalinity_meq_l, cations_meq_l)
