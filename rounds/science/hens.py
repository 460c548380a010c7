"""The flock in figures. A vet is the one to ask; these only say when."""

from __future__ import annotations

import math

from rounds.science.ranges import within

MOST_HENS = 100_000
BELIEVABLE_LAY = 1.05
"""Eggs per hen and day beyond which a count is a slip: common practice."""
TROUBLE_SHARE = 0.20
"""Change of water or feed for two days that means the vet: common practice."""


def hen_day_lay_percent(eggs: int, hens_alive: float, days: float) -> float:
    """Hen-day lay: eggs per hundred hens alive and day.

    Parameters
    ----------
    eggs : int
        Eggs laid, 0 or more. [-]
    hens_alive : float
        Hens alive, on average over those days, above 0. [-]
    days : float
        Days since the last count, above 0 and up to 366. [d]

    Returns
    -------
    float
        Lay. [%]

    Raises
    ------
    OutOfRange
        Where one of them is outside its range.

    Examples
    --------
    >>> hen_day_lay_percent(27, 30, 1)
    90.0

    References
    ----------
    ILRI; IASRI: eggs x 100 / (hens alive x days).
    """
    within(eggs, 0, 1_000_000, "A count of eggs", "")
    return eggs * 100.0 / (_hens(hens_alive) * _days(days))


def most_believable_eggs(hens_alive: float, days: float) -> int:
    """The largest count that can be believed: 1.05 per hen and day, rounded up.

    Examples
    --------
    >>> most_believable_eggs(30, 1)
    32
    """
    return math.ceil(BELIEVABLE_LAY * _hens(hens_alive) * _days(days))


def water_per_hen_ml_d(litres: float, hens_alive: float, days: float) -> float:
    """Drinking water per hen and day. [mL/d]

    Examples
    --------
    >>> water_per_hen_ml_d(7.5, 30, 1)
    250.0
    """
    return within(litres, 0.0, 1e6, "A drink", "L") * 1000.0 / (_hens(hens_alive) * _days(days))


def feed_per_hen_g_d(kilograms: float, hens_alive: float, days: float) -> float:
    """Ration eaten per hen and day; 100-130 g is usual. [g/d]

    Examples
    --------
    >>> feed_per_hen_g_d(3.6, 30, 1)
    120.0
    """
    return within(kilograms, 0.0, 1e6, "A ration", "kg") * 1000.0 / (_hens(hens_alive) * _days(days))


def usual_water_ml_d(house_temperature_c: float) -> tuple[float, float]:
    """What a laying hen is expected to drink, from and to, -20 to 50 degC. [mL/d]

    Examples
    --------
    >>> usual_water_ml_d(20.0)
    (180.0, 320.0)

    References
    ----------
    Ontario Poultry Industry Council; Poultry CRC: 180-320 mL, 30-50 % more above 32 degC.
    """
    hot = within(house_temperature_c, -20.0, 50.0, "A house temperature", "°C") > 32.0
    return (180.0 * 1.3, 320.0 * 1.5) if hot else (180.0, 320.0)


def change_share(now: float, usual: float) -> float:
    """How far water or feed is from its usual, as a share of it; a fall of 0.10-0.15 in water is the first sign. [-]

    Examples
    --------
    >>> round(change_share(200.0, 250.0), 2)
    -0.2
    """
    within(now, 0.0, 1e6, "An amount", "")
    return now / within(usual, 1e-9, 1e6, "A usual amount", "") - 1.0


def _hens(hens_alive: float) -> float:
    return within(hens_alive, 0.01, MOST_HENS, "A flock", "hens")


def _days(days: float) -> float:
    return within(days, 1e-3, 366.0, "A time since the last count", "days")
