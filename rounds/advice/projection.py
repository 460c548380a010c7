"""Where the reservoir stands after the steps so far: volume, conductivity and what is believed of its pH."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from rounds.advice.case import EC_MODEL_DOUBT, Case
from rounds.belief import state as b
from rounds.belief.curve import Curve
from rounds.belief.feeding import strength_seen
from rounds.belief.gaussian import Gaussian
from rounds.book.composition import KnownWater
from rounds.book.offer import After, Interval
from rounds.book.parcel import parcel_of
from rounds.science.acids_bases import Agent
from rounds.science.conductivity import ec25_ms_cm
from rounds.science.solution import Solution, mix

POURING_DOUBT = 0.1
"""How far concentrate strength and measuring together may be off. [-]"""
_Z = 1.645
_Z_LATER = 1.9
"""Twelve hours later nine in ten lie so many standard deviations off: chosen so that the line "twelve hours within
interval" of `tests.advice.judged` comes to nine in ten. [-]"""
_PH_UNREAD_SD = 0.5
EC_SCALE = (0.7, 1.4)


@dataclass(frozen=True, slots=True, kw_only=True)
class Projection:
    """One moment in the plan."""

    inside_l: float
    outside_l: float
    volume_sd_l: float
    solution: Solution
    ec_ms_cm: float
    ec_sd: float
    state: Gaussian
    ph_range: tuple[float, float, float]
    """Middle and the ends that hold nine in ten of what the meter will show. [-]"""
    ph_sd: float
    curve: Curve
    ec_book: float
    """The conductivity of `solution` by its ions, which the reading is moved along with. [mS/cm]"""
    feeding: float = 1.0
    """EC per mL of concentrate here, against the book's. [-]"""
    feeding_sd: float = POURING_DOUBT
    feeding_proven: bool = True
    """Whether the record has shown what a millilitre of the feed does here, or its salts are known."""
    volume_times: float = 1.0
    """Circulating volume as the conductivity has shown it, against stick, channels and pipes. [-]"""
    volume_times_sd: float = 0.08

    @property
    def volume_l(self) -> float:
        """Circulating volume. [L]"""
        return self.inside_l + self.outside_l

    @property
    def ec_scale(self) -> float:
        """How a change of the model is scaled to the reading; never far from 1, or a dead cell would scale it away."""
        return min(max(self.ec_ms_cm / max(self.ec_book, 1e-6), EC_SCALE[0]), EC_SCALE[1])

    def after(self) -> After:
        """What the grower will find."""
        return After(
            volume_l=_interval(self.volume_l, _Z * self.volume_sd_l),
            ph=_ordered(self.ph_range),
            ec_ms_cm=_interval(self.ec_ms_cm, _Z * math.hypot(self.ec_sd, EC_MODEL_DOUBT * self.ec_ms_cm)),
        )


def as_read(case: Case) -> Projection:
    """Where the reservoir stands before anything is done."""
    state = case.state or _unread(case)
    spread = math.hypot(state.sd(b.PH), case.ph_sd)
    middle = state.mean[b.PH]
    read = case.readings.ec_ms_cm
    book = ec25_ms_cm(case.solution, 6.0)
    volume_sd = case.volume_sd_l / max(case.volume_l, 1.0)
    seen = strength_seen(case.ledger, case.feed.ids, volume_sd, case.feed)
    ec = book if read is None else read
    return Projection(
        inside_l=case.inside_l,
        outside_l=case.outside_l,
        volume_sd_l=case.volume_sd_l,
        solution=case.solution,
        ec_ms_cm=ec,
        ec_sd=case.ec_sd if read is not None else 0.15 * ec,
        state=state,
        ph_range=(middle, middle - _Z * spread, middle + _Z * spread),
        ph_sd=case.ph_sd,
        curve=case.curve,
        ec_book=book,
        feeding=min(max(seen.times, seen.ends[0]), seen.ends[1]),
        feeding_sd=seen.sd,
        feeding_proven=seen.proves(case.feed.is_labelled),
        volume_times=seen.volume_times,
        volume_times_sd=seen.volume_sd,
    )


def with_liquid(
    projected: Projection, liquid: Solution, litres: float, doubt: float, *, strong: bool = False
) -> Projection:
    """After a water or a concentrate was mixed in."""
    volume_l = projected.volume_l + litres
    solution = mix([(projected.solution, projected.volume_l), (liquid, litres)])
    cloud = b.diluted(projected.state, projected.curve, litres / volume_l, parcel_of(liquid), doubt)
    book = ec25_ms_cm(solution, 6.0)
    ec = _carried_ec(projected, book)
    if strong:
        ec = max(0.0, projected.ec_ms_cm + projected.feeding * (ec - projected.ec_ms_cm))
    else:
        ec = max(
            0.0,
            projected.ec_ms_cm
            + (_thinned_ec(projected, liquid, litres, ec) - projected.ec_ms_cm) / projected.volume_times,
        )
    doubt_ec = projected.feeding_sd if strong else math.hypot(0.03, projected.volume_times_sd)
    off = (ec - projected.ec_ms_cm) * doubt_ec
    state = b.stirred(projected.state, cloud)
    return replace(
        projected, inside_l=projected.inside_l + litres, solution=solution, ec_ms_cm=ec, ec_book=book,
        ec_sd=math.hypot(projected.ec_sd, off),
        state=state, ph_range=b.ph_range(cloud, math.hypot(projected.ph_sd, _unmixed(projected.state, state))),
    )  # fmt: skip


def with_water(projected: Projection, water: KnownWater, litres: float) -> Projection:
    """After a top-up."""
    return with_liquid(projected, water.solution, litres, water.doubt)


def with_dose(projected: Projection, agent: Agent, ml: float, hours: float = 0.0) -> Projection:
    """After a dose of acid or base has mixed in; CO2 has left for so many hours meanwhile."""
    brought = agent.per_ml.scaled(ml / projected.volume_l)
    cloud = b.dosed(projected.state, projected.curve, parcel_of(brought))
    if hours > 0.0:
        cloud = b.aged_cloud(cloud, projected.curve, hours)
    solution, state = projected.solution.plus(brought), b.stirred(projected.state, cloud)
    book = ec25_ms_cm(solution, 6.0)
    return replace(
        projected, inside_l=projected.inside_l + ml / 1000.0, solution=solution,
        ec_ms_cm=_carried_ec(projected, book), ec_book=book,
        state=state, ph_range=b.ph_range(cloud, math.hypot(projected.ph_sd, _unmixed(projected.state, state))),
    )  # fmt: skip


def _unmixed(before: Gaussian, after: Gaussian) -> float:
    """How far what is not mixed yet may put a reading off. [-]"""
    return b.UNMIXED * abs(after.mean[b.PH] - before.mean[b.PH])


def drained(projected: Projection, litres: float) -> Projection:
    """After some was drained off."""
    return replace(projected, inside_l=max(projected.inside_l - litres, 0.0))


def later(projected: Projection, hours: float, points: int = b.POINTS) -> Projection:
    """After some hours: CO2 has left, the plants have fed."""
    state = b.summed_up(b.aged(projected.state, projected.curve, hours, points))
    days = hours / 24.0
    loose = state.loosened((0.02**2 * days, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0))
    spread = math.hypot(loose.sd(b.PH), projected.ph_sd)
    middle = loose.mean[b.PH]
    return replace(projected, state=loose, ph_range=(middle, middle - _Z_LATER * spread, middle + _Z_LATER * spread))


def ph_mixed(
    projected: Projection,
    liquid: Solution,
    litres: float,
    times: float = 1.0,
    *,
    at_rest: bool = False,
    weak_sds: float = 0.0,
) -> float:
    """The middle pH after a liquid was mixed in, quickly; its alkalinity `times` what was analysed. [-]

    With `at_rest`: once the CO2 has come to rest. With `weak_sds`: phosphate so many standard deviations worse worn.
    """
    mean = projected.state.mean
    per_p, per_c, bare, held = projected.curve.parts(mean[b.PH])
    phosphate = math.exp(mean[b.PHOSPHATE] - weak_sds * projected.state.sd(b.PHOSPHATE))
    carbonate = math.exp(mean[b.PRESSURE]) * held
    share = litres / (projected.volume_l + litres)
    rest = 1.0 - share
    alkalinity = rest * (phosphate * per_p + carbonate * per_c + bare) + share * times * liquid.alkalinity_meq_l
    phosphate = rest * phosphate + share * liquid.po4
    if at_rest:
        return projected.curve.ph_held(alkalinity, phosphate, math.exp(mean[b.RESTING]), mean[b.PH])
    return projected.curve.ph_closed(
        alkalinity, phosphate, rest * carbonate + share * times * liquid.carbonate, mean[b.PH]
    )


def _thinned_ec(projected: Projection, liquid: Solution, litres: float, by_book: float) -> float:
    """By the book, or straight by volume where the book is a far cry from the reading. [mS/cm]"""
    if EC_SCALE[0] < projected.ec_scale < EC_SCALE[1]:
        return by_book
    shares = projected.ec_ms_cm * projected.volume_l + ec25_ms_cm(liquid, 6.0) * litres
    return shares / (projected.volume_l + litres)


def _carried_ec(projected: Projection, book: float) -> float:
    """The conductivity read, moved by what the model moves: scaled to the reading where that is no far cry from it."""
    return max(0.0, projected.ec_ms_cm + projected.ec_scale * (book - projected.ec_book))


def _unread(case: Case) -> Gaussian:
    """A belief where the pH was not read: what was believed before, or the middle of the band and a wide guess."""
    from rounds.belief.response import waited

    if case.answer.gaussian is not None:
        return waited(case.answer, case.curve, case.now)
    low, high = case.stage.ph
    return b.begun(
        ph=(low + high) / 2.0, ph_sd=_PH_UNREAD_SD, phosphate=max(case.solution.po4, 0.05), phosphate_sd=0.5,
        pressure_atm=None, pressure_sd=0.2, habits=case.answer.habits,
    )  # fmt: skip


def _interval(value: float, half: float) -> Interval:
    return Interval(value=value, low=max(0.0, value - half), high=value + half)


def _ordered(ph: tuple[float, float, float]) -> Interval:
    middle, low, high = ph
    return Interval(value=middle, low=max(0.0, min(low, middle)), high=min(14.0, max(high, middle)))
