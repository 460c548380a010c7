"""What is done with water, and how little of it can be told by can and stick."""

from __future__ import annotations

from dataclasses import dataclass

from rounds.advice.case import Case
from rounds.book.composition import KnownWater
from rounds.book.message import Message
from rounds.farm.volumes import dip_to_litres, litres_to_dip

LEAST_CAN_L, LEAST_SHARE = 1.0, 0.01
"""No water is added below so many litres or this share of the working volume. [L, -]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class WaterPlan:
    """What is done with water."""

    drain_l: float = 0.0
    top_up_l: float = 0.0
    water: KnownWater | None = None
    change_out: bool = False
    as_base: bool = False
    """Whether the water is poured to raise the pH."""
    why: Message | None = None
    too_little: bool = False
    """Whether water would help, but less of it than can be measured."""
    acid_first: bool = False
    """Whether acid makes room for what the water will lift."""
    waits_l: float = 0.0
    """What is left for later, since it would lift the pH out of its band. [L]"""


def least_l(case: Case) -> float:
    """The least water that a can and the stick can tell: below it nothing is poured. [L]"""
    reservoir = case.reservoir
    _, error_l = dip_to_litres(reservoir, litres_to_dip(reservoir, min(case.inside_l, reservoir.full_volume_l)))
    return max(LEAST_CAN_L, 0.5 * error_l, LEAST_SHARE * reservoir.working_volume_l)


def can_be_measured(case: Case, water: KnownWater, litres: float) -> bool:
    """Whether there is a can of every part of a blend that is mixed while pouring."""
    if water.shares is None or is_single(case, water):
        return True
    return min(water.shares.values()) * litres >= LEAST_CAN_L


def is_single(case: Case, water: KnownWater) -> bool:
    return any(water is known for known in case.waters)
