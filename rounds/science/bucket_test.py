"""The bucket test: what a millilitre of a nutrient part in a litre does to the EC, by trying it in a bucket."""

from __future__ import annotations

import math
from dataclasses import dataclass

from rounds.science.ranges import within

SYRINGE_SD, BUCKET_SD = 0.015, 0.015
"""Errors of a 10 mL syringe and of a measured bucket, as shares: common practice. [-]"""


@dataclass(frozen=True, slots=True)
class Rise:
    """What a millilitre in each litre raises the EC by. [mS/cm per mL/L]"""

    per_ml_l: float
    sd: float


def rise_by_bucket(ml: float, bucket_l: float, before_ms_cm: float, after_ms_cm: float, ec_sd: float) -> Rise:
    """What a millilitre of a part in each litre raises the EC by.

    Parameters
    ----------
    ml : float
        What was stirred in, 0.1-2000. [mL]
    bucket_l : float
        The water in the bucket, 0.5-200. [L]
    before_ms_cm, after_ms_cm : float
        EC before and after, 0-20. [mS/cm]
    ec_sd : float
        Error of each of the two beside what they share, 0-1. [mS/cm]

    Raises
    ------
    OutOfRange
        Outside these ranges.

    Examples
    --------
    >>> found = rise_by_bucket(20.0, 10.0, 0.6, 1.4, 0.01)
    >>> round(found.per_ml_l, 3), round(found.sd, 3)
    (0.4, 0.011)
    """
    per_l = within(ml, 0.1, 2000.0, "A dose", "mL") / within(bucket_l, 0.5, 200.0, "A bucket", "L")
    before = within(before_ms_cm, 0.0, 20.0, "An EC", "mS/cm")
    rise = (within(after_ms_cm, 0.0, 20.0, "An EC", "mS/cm") - before) / per_l
    both = math.sqrt(2.0) * within(ec_sd, 0.0, 1.0, "An error of an EC", "mS/cm") / per_l
    return Rise(rise, math.hypot(both, rise * math.hypot(SYRINGE_SD, BUCKET_SD)))


def litres_by_rise(ml: float, per_ml_l: float, before_ms_cm: float, after_ms_cm: float) -> float:
    """The litres that a known dose was stirred into, by how far it raised the EC: the true volume of a tub.

    Parameters
    ----------
    ml : float
        What was poured, above 0. [mL]
    per_ml_l : float
        What a millilitre in each litre raises the EC by, above 0. [mS/cm per mL/L]
    before_ms_cm, after_ms_cm : float
        EC before, and after it had mixed; after is the higher one. [mS/cm]

    Raises
    ------
    OutOfRange
        Where the EC did not rise.

    Examples
    --------
    >>> round(litres_by_rise(100.0, 0.4, 1.0, 1.4), 1)
    100.0
    """
    within(ml, 0.1, 1e6, "A dose", "mL")
    rise = within(after_ms_cm - before_ms_cm, 0.005, 20.0, "A rise of the EC", "mS/cm")
    return ml * within(per_ml_l, 0.001, 20.0, "A rise per mL/L", "mS/cm") / rise
