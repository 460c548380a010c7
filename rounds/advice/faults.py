"""A fault by name, and what is said where one is believed by now: what to look at before anything more is poured."""

from __future__ import annotations

from collections.abc import Mapping

from rounds.advice.products import Bottle
from rounds.belief.hypotheses import FAULTS
from rounds.book.message import Message, say
from rounds.book.offer import Refusal, refused

NAMES: Mapping[str, Message] = {
    "bottle-ten-times": say("fault-bottle-ten-times"),
    "bottle-three-times": say("fault-bottle-three-times"),
    "bottles-swapped": say("fault-bottles-swapped"),
    "half-circulates": say("fault-half-circulates"),
    "another-water": say("fault-another-water"),
    "meter-high": say("fault-meter-high"),
    "meter-very-high": say("fault-meter-very-high"),
    "meter-low": say("fault-meter-low"),
    "meter-stuck": say("fault-meter-stuck"),
    "bottle-tenth": say("fault-bottle-tenth"),
    "nothing-arrives": say("fault-nothing-arrives"),
}
"""Each fault as a part of a sentence."""


def fault_named(bottle: Bottle, code: str) -> Refusal:
    """Why nothing more is poured: what the readings look like, and what to look at."""
    about, fault = f"likely-{code}", NAMES[code]
    sort = next(each.sort for each in FAULTS if each.code == code)
    if sort in ("bottle", "weak"):
        return refused("likely-bottle", about=about, name=bottle.product.name, fault=fault)
    if sort == "water":
        return refused("likely-water", about=about, fault=fault)
    if sort == "source":
        return refused("likely-source", about=about, fault=fault)
    if sort == "meter":
        return refused("likely-meter", about=about, fault=fault)
    return refused("likely-stuck", about=about, fault=fault)


def told_by_a_jar(code: str) -> bool:
    """Whether one more jar test would tell of it."""
    return next(each.sort for each in FAULTS if each.code == code) in ("bottle", "weak")


def jar_unexplained(bottle: Bottle) -> Refusal:
    """A jar test that showed what nobody expected, whatever may be wrong."""
    return refused("jar-unexplained", name=bottle.product.name)
