"""What is believed of a reservoir's pH and of how it answers, and how doses, water and time move that.

Seven numbers with their spread: pH, phosphate, CO2 pressure, the CO2 pressure it rests at, how fast CO2 leaves, how
much of a dose arrives (strength of the bottle against circulating volume), and what the plants do to the alkalinity.
Alkalinity is none of them: it follows from pH, phosphate and CO2, so that a reading of pH is a straight observation.
Buffer and CO2 stay two things: lumped into one factor they mislead by the second day.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from rounds.belief.curve import Curve
from rounds.belief.gaussian import Gaussian, Vector, independent, of_cloud, quantile
from rounds.book.parcel import Parcel
from rounds.science.speciation import AIR_PCO2_ATM

PH, PHOSPHATE, PRESSURE, RESTING, LEAVING, ARRIVING, PLANTS = range(7)
"""pH; ln of phosphate (mmol/L), of CO2 pressure and resting CO2 pressure (atm), of the rate at which CO2 leaves (1/h),
of true against supposed dose; alkalinity the plants make (meq/L and day)."""
POINTS = 64
_LOWEST_PH, _HIGHEST_PH = 3.2, 9.6
_LEAST, _MOST = math.log(1e-3), math.log(30.0)
_STEPS_OF_TIME = 3

Cloud = list[list[float]]


# What is believed before anything was seen here. Common practice, no source: CO2 rests at one to ten times the air's;
# it leaves within hours where returns splash; bottle, dip and channels together are known to about 12 %. Plants that
# are fed nitrate add alkalinity, mostly below 0.1, at times 0.25 meq/L a day.
RESTING_MEAN, RESTING_SD = math.log(3.0 * AIR_PCO2_ATM), 0.65
LEAVING_MEAN, LEAVING_SD = math.log(0.25), 0.5
LEAVING_STILL_MEAN = math.log(0.08)
ARRIVING_SD = 0.14
PLANTS_MEAN, PLANTS_SD = 0.03, 0.1
UNMIXED = 0.15
"""Share of a change of the pH that may not show yet when it is read: one stirred vessel mixes to 95 % in three
turnovers, tank and channels one behind the other to less. [-]"""


def habits(aerated: bool = True) -> Gaussian:
    """What is believed of a reservoir nobody has dosed yet: the four numbers that outlast a change-out."""
    return independent(
        (RESTING_MEAN, LEAVING_MEAN if aerated else LEAVING_STILL_MEAN, 0.0, PLANTS_MEAN),
        (RESTING_SD, LEAVING_SD, ARRIVING_SD, PLANTS_SD),
    )


def begun(
    *, ph: float, ph_sd: float, phosphate: float, phosphate_sd: float,
    pressure_atm: float | None, pressure_sd: float, habits: Gaussian,
) -> Gaussian:  # fmt: skip
    """The belief at a first reading.

    Parameters
    ----------
    ph, ph_sd : float
        The reading and the error of the meter. [-]
    phosphate, phosphate_sd : float
        Middle [mmol/L] and spread of its logarithm.
    pressure_atm, pressure_sd : float
        CO2 pressure [atm] and spread of its logarithm; None where it is taken to be at rest already.
    habits : Gaussian
        The four numbers of `habits`.
    """
    log_p = math.log(max(phosphate, 1e-3))
    pressure = habits.mean[0] if pressure_atm is None else math.log(pressure_atm)
    mean = (ph, log_p, pressure, *habits.mean)
    rows = [[0.0] * 7 for _ in range(7)]
    rows[PH][PH], rows[PHOSPHATE][PHOSPHATE] = ph_sd**2, phosphate_sd**2
    for i in range(4):
        for j in range(4):
            rows[RESTING + i][RESTING + j] = habits.covariance[i][j]
    rows[PRESSURE][PRESSURE] = pressure_sd**2
    if pressure_atm is None:
        rows[PRESSURE][PRESSURE] += habits.covariance[0][0]
        for i in range(4):
            rows[PRESSURE][RESTING + i] = rows[RESTING + i][PRESSURE] = habits.covariance[0][i]
    return Gaussian(mean, tuple(tuple(row) for row in rows))


def habits_of(belief: Gaussian) -> Gaussian:
    """The four numbers that outlast a change-out."""
    kept = range(RESTING, PLANTS + 1)
    return Gaussian(
        tuple(belief.mean[i] for i in kept), tuple(tuple(belief.covariance[i][j] for j in kept) for i in kept)
    )


def dosed(belief: Gaussian, curve: Curve, parcel: Parcel, points: int = POINTS) -> Cloud:
    """The cloud once a dose has mixed in and before any CO2 has left.

    Parameters
    ----------
    parcel : Parcel
        What the dose brings to each litre by the book; how much of it arrives is part of the belief.
    """

    def move(p: list[float]) -> None:
        arrives = math.exp(p[ARRIVING])
        per_p, per_c, bare, held = curve.parts(p[PH])
        phosphate, carbonate = math.exp(p[PHOSPHATE]), math.exp(p[PRESSURE]) * held
        alkalinity = phosphate * per_p + carbonate * per_c + bare + arrives * parcel.alkalinity_meq_l
        _settle(p, curve, alkalinity, phosphate + arrives * parcel.phosphate, carbonate + arrives * parcel.carbonate)

    return _moved(belief.cloud(points), move)


def diluted(
    belief: Gaussian, curve: Curve, share: float, water: Parcel, doubt: float = 0.0, points: int = POINTS
) -> Cloud:
    """The cloud once another liquid makes up a share of the whole.

    Parameters
    ----------
    share : float
        Of the mixture, 0-1. [-]
    water : Parcel
        What each litre of that liquid carries.
    doubt : float
        Spread of the logarithm of its alkalinity and carbonate. [-]
    """
    wide = _with_doubt(belief, doubt)
    rest = 1.0 - share

    def move(p: list[float]) -> None:
        times = math.exp(p.pop())
        per_p, per_c, bare, held = curve.parts(p[PH])
        phosphate, carbonate = math.exp(p[PHOSPHATE]), math.exp(p[PRESSURE]) * held
        alkalinity = rest * (phosphate * per_p + carbonate * per_c + bare) + share * times * water.alkalinity_meq_l
        _settle(
            p, curve, alkalinity,
            rest * phosphate + share * water.phosphate, rest * carbonate + share * times * water.carbonate,
        )  # fmt: skip

    return _moved(wide.cloud(points), move)


def aged(belief: Gaussian, curve: Curve, hours: float, points: int = POINTS) -> Cloud:
    """The cloud after some hours: CO2 has gone some way to where it rests, the plants have fed."""
    return aged_cloud(belief.cloud(points), curve, hours)


def aged_cloud(cloud: Cloud, curve: Curve, hours: float) -> Cloud:
    """The same for a cloud that is there already; it is changed in place."""
    steps = _STEPS_OF_TIME if hours > 2.0 else 1
    per_step = min(hours, 96.0) / steps

    def move(p: list[float]) -> None:
        phosphate, resting = math.exp(p[PHOSPHATE]), math.exp(p[RESTING])
        per_p, _, bare, _ = curve.parts(p[PH])
        pressure, ph = math.exp(p[PRESSURE]), p[PH]
        alkalinity = phosphate * per_p + pressure * _held_alkalinity(curve, ph) + bare
        for _ in range(steps):
            pace = math.exp(p[LEAVING]) / _slowed(curve, ph, phosphate, pressure)
            pressure = resting + (pressure - resting) * math.exp(-min(pace * per_step, 50.0))
            alkalinity += p[PLANTS] * per_step / 24.0
            ph = curve.ph_held(alkalinity, phosphate, pressure, ph)
        p[PH], p[PRESSURE] = ph, math.log(max(pressure, 1e-6))

    return _moved(cloud, move)


def demand(
    cloud: Sequence[Sequence[float]], curve: Curve, target_ph: float, per_unit: Parcel, hours: float = 0.0
) -> list[float]:
    """How much of a dose each point of the cloud needs to reach a pH; below 0 where it needs the other kind.

    With `hours` the plants' doing in that time is taken to help along, never to hinder.
    """
    per_p, per_c, bare, _ = curve.parts(target_ph)
    worth = per_unit.phosphate * per_p + per_unit.carbonate * per_c - per_unit.alkalinity_meq_l
    needed = []
    for p in cloud:
        here_p, here_c, here_bare, held = curve.parts(p[PH])
        phosphate, carbonate = math.exp(p[PHOSPHATE]), math.exp(p[PRESSURE]) * held
        gap = phosphate * (here_p - per_p) + carbonate * (here_c - per_c) + here_bare - bare
        needed.append((gap + _helping(p, hours, worth)) / (worth * math.exp(p[ARRIVING])))
    return needed


def demand_at_rest(
    cloud: Sequence[Sequence[float]], curve: Curve, target_ph: float, per_unit: Parcel, hours: float = 0.0
) -> list[float]:
    """The same once the CO2 has come to rest: what is needed in the end, however the first hour looks."""
    per_p, per_c, bare, held = curve.parts(target_ph)
    worth = per_unit.phosphate * per_p - per_unit.alkalinity_meq_l
    needed = []
    for p in cloud:
        here_p, here_c, here_bare, here_held = curve.parts(p[PH])
        phosphate = math.exp(p[PHOSPHATE])
        gap = phosphate * (here_p - per_p) + here_bare - bare
        gap += math.exp(p[PRESSURE]) * here_held * here_c - math.exp(p[RESTING]) * held * per_c
        needed.append((gap + _helping(p, hours, worth)) / (worth * math.exp(p[ARRIVING])))
    return needed


def _helping(point: Sequence[float], hours: float, worth: float) -> float:
    plants = point[PLANTS] * hours / 24.0
    return min(plants, 0.0) if worth > 0.0 else max(plants, 0.0)


def share_within(belief: Gaussian, low: float, high: float) -> float:
    """How likely the true pH lies between two values. [-]"""
    sd = max(belief.sd(PH), 1e-6)
    return _bell((high - belief.mean[PH]) / sd) - _bell((low - belief.mean[PH]) / sd)


def stirred(before: Gaussian, cloud: Cloud) -> Gaussian:
    """The belief after something was mixed in: three turnovers leave a little of it unmixed. [-]"""
    after = summed_up(cloud)
    unmixed = UNMIXED * (after.mean[PH] - before.mean[PH])
    return after.loosened((unmixed * unmixed, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0))


def ph_range(cloud: Sequence[Sequence[float]], meter_sd: float = 0.0) -> tuple[float, float, float]:
    """Middle, and the low and high end that hold nine in ten, the meter's error counted where given. [-]"""
    values = [p[PH] for p in cloud]
    middle = quantile(values, 0.5)
    extra = 1.645 * meter_sd
    low = middle - math.hypot(middle - quantile(values, 0.05), extra)
    high = middle + math.hypot(quantile(values, 0.95) - middle, extra)
    return middle, low, high


def summed_up(cloud: Sequence[Sequence[float]]) -> Gaussian:
    """The belief a cloud stands for."""
    return of_cloud(cloud)


def _settle(p: list[float], curve: Curve, alkalinity: float, phosphate: float, carbonate: float) -> None:
    phosphate, carbonate = max(phosphate, 1e-3), max(carbonate, 1e-4)
    p[PH] = curve.ph_closed(alkalinity, phosphate, carbonate, p[PH])
    p[PHOSPHATE] = math.log(phosphate)
    p[PRESSURE] = math.log(max(carbonate / curve.parts(p[PH])[3], 1e-6))


def _slowed(curve: Curve, ph: float, phosphate: float, pressure: float) -> float:
    """Carbonate that must leave for each mmol of dissolved CO2: bicarbonate follows as far as other buffers allow."""
    near = 0.1
    low_p, low_c, low_bare, low_held = curve.parts(ph)
    high_p, high_c, high_bare, high_held = curve.parts(ph + near)
    others = phosphate * (high_p - low_p) + high_bare - low_bare
    own = pressure * (high_c * high_held - low_c * low_held)
    ratio = low_c / max(1.0 - low_c, 1e-3)
    return 1.0 + ratio * others / max(others + own, 1e-9)


def _held_alkalinity(curve: Curve, ph: float) -> float:
    _, per_c, _, held = curve.parts(ph)
    return held * per_c


def _with_doubt(belief: Gaussian, doubt: float) -> Gaussian:
    rows: list[Vector] = [(*row, 0.0) for row in belief.covariance]
    rows.append((*(0.0 for _ in belief.mean), doubt * doubt))
    return Gaussian((*belief.mean, 0.0), tuple(rows))


def _moved(cloud: Cloud, move: Callable[[list[float]], None]) -> Cloud:
    for point in cloud:
        point[PH] = min(max(point[PH], _LOWEST_PH), _HIGHEST_PH)
        point[PHOSPHATE] = min(max(point[PHOSPHATE], _LEAST), _MOST)
        point[PRESSURE] = min(max(point[PRESSURE], -11.0), 0.0)
        move(point)
    return cloud


def _bell(z: float) -> float:
    return 0.5 * (1.0 + math.erf(z / math.sqrt(2.0)))
