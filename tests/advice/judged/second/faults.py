"""What each story means in the second make."""

from __future__ import annotations

import dataclasses
import random
from collections.abc import Callable

from tests.advice.judged.second.drawn import SOFT, Analysis, Bottle, Drawn
from tests.advice.judged.second.meter import PhMeter

_HARD = Analysis(alkalinity_meq_l=4.5)
_HARD_FROM = 1.5
_METER_OFF = {"meter+0.5": 0.5, "meter+0.8": 0.8}
SLIP = 0.1


def faulted(d: Drawn, story: str) -> Drawn:
    """The reservoir with what is wrong in the story; what concerns the meter stands in `meter_of`.

    A bottle that is wrong is a new one: the feed was filled before.
    """
    change = _CHANGES.get(story)
    return d if change is None else change(d)


def _stronger(times: float) -> Callable[[Drawn], Drawn]:
    def change(d: Drawn) -> Drawn:
        return dataclasses.replace(d, acid=_times(d.acid, times), base=_times(d.base, times), fresh=False)

    return change


def _times(bottle: Bottle, times: float) -> Bottle:
    return dataclasses.replace(bottle, times=bottle.times * times)


def _slipped(d: Drawn) -> Drawn:
    acid, base = (dataclasses.replace(bottle, entered_times=SLIP) for bottle in (d.acid, d.base))
    return dataclasses.replace(d, acid=acid, base=base, fresh=False)


def _hard_top_up(d: Drawn) -> Drawn:
    told = Analysis(alkalinity_meq_l=d.rng.uniform(3.0, 5.0))
    true = Analysis(alkalinity_meq_l=told.alkalinity_meq_l * d.rng.uniform(0.8, 1.2))
    return dataclasses.replace(
        d, told_water=told, true_water=true, missing=d.rng.uniform(0.2, 0.4), fresh=False,
        start_off=d.rng.choice((0.0, 0.1)),
    )  # fmt: skip


def _dead_corner(d: Drawn) -> Drawn:
    return dataclasses.replace(d, dead_share=d.rng.uniform(0.33, 0.5))


def _other_water(d: Drawn) -> Drawn:
    missing = d.rng.uniform(0.1, 0.3)
    true = SOFT if d.told_water.alkalinity_meq_l >= _HARD_FROM else _HARD
    return dataclasses.replace(d, true_water=true, missing=missing, fresh=False)


_CHANGES: dict[str, Callable[[Drawn], Drawn]] = {
    "swapped": lambda d: dataclasses.replace(d, fresh=False),
    "bottle-x3": _stronger(3.0),
    "bottle-x10": _stronger(10.0),
    "decimal-slip": _slipped,
    "hard-top-up": _hard_top_up,
    "dead-corner": _dead_corner,
    "other-water": _other_water,
}


def meter_of(d: Drawn, story: str, seed: int, start_ph: float) -> PhMeter:
    """The pH meter of the story."""
    meter = PhMeter(offset=d.meter_offset, slope=d.meter_slope, noise=d.meter_noise)
    off = _METER_OFF.get(story)
    if off is not None:
        return dataclasses.replace(meter, hidden=off) if seed % 2 else dataclasses.replace(meter, offset=off)
    if story == "stuck-meter":
        return dataclasses.replace(meter, stuck_at=round(d.rng.uniform(4.9, 7.4), 2))
    if story == "slope-0.8":
        return dataclasses.replace(meter, slope=0.8)
    if story == "hard-top-up":
        return dataclasses.replace(
            meter, false_by=d.rng.uniform(1.0, 1.8), false_until_min=5.0 * 18.0 ** d.rng.random()
        )
    return meter


def looks_right(story: str) -> bool:
    """Whether bottles and labels look as they should: a bottle of another strength does, a swapped one does not."""
    return story not in ("swapped", "decimal-slip")


def bottles_of(d: Drawn, story: str) -> dict[str, Bottle]:
    """What is really in the two bottles."""
    if story == "swapped":
        return {"acid": d.base, "base": d.acid}
    return {"acid": d.acid, "base": d.base}


def second_meter_of(rng: random.Random) -> PhMeter:
    """A cheap second one, whatever the story."""
    return PhMeter(offset=rng.gauss(0.0, 0.05), slope=rng.uniform(0.95, 1.0), noise=0.05)
