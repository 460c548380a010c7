"""Cases on the light farm: a few records by how long ago they were written, and what was read just now."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import timedelta
from typing import Any

import msgspec
from light_farm import ACID, BASE, CONCENTRATES, MORNING, Note, a_farm, rain_water

from rounds.advice.case import Case, gathered
from rounds.advice.wording import words
from rounds.book.message import Message
from rounds.book.offer import Readings, Step
from rounds.farm.farm import Farm

RAIN = a_farm(waters=(rain_water(),))
"""A box of 6 L/cm, 300 L at work and 360 L when full; 20 L in channel, roots and pipes; a pump of 20 L/min."""
TURNOVER_MIN = (300.0 + 20.0) / 20.0


def told(said: Any) -> str:
    """What a finding, refusal, step or message says, whether or not it was given its words already."""
    if said is None or isinstance(said, str):
        return said or ""
    if isinstance(said, Message):
        return words(said)
    return said.text or words(said.says)


def told_why(of: Any) -> str:
    """Why a step is done, or a plan is made."""
    return of.why or words(of.because) if isinstance(of, Step) else told(of.why)


def read(**other: Any) -> Readings:
    """In band, at the working level, with the farm's own pen."""
    usual = {"ph": 5.8, "ec_ms_cm": 1.8, "temperature_c": 20.0, "volume_l": 300.0, "ph_meter": "pen"}
    return Readings(**{"at": MORNING, **usual, **other})


def note(kind: str, item: str, value: Any, ago_h: float, **other: Any) -> Note:
    """A record of the reservoir from so many hours ago; negative is still to come. [h]"""
    at = MORNING - timedelta(seconds=round(ago_h * 3600.0))
    return Note(**{"kind": kind, "item": item, "value": value, "measured_at": at, "id": f"{item}@{ago_h}", **other})


def ph(value: float, ago_h: float, **other: Any) -> Note:
    return note("reading", "ph", value, ago_h, **other)


def ec(value: float, ago_h: float, **other: Any) -> Note:
    return note("reading", "ec", value, ago_h, **other)


def dip(value: float, ago_h: float, **other: Any) -> Note:
    return note("reading", "dip", value, ago_h, **{"unit": "cm", **other})


def check(item: str, value: Any, ago_h: float, **other: Any) -> Note:
    return note("check", item, value, ago_h, **other)


def poured(item: str, amount: float, ago_h: float, action: str = "acid", **data: Any) -> Note:
    """mL of a bottle or a concentrate; litres where the action is one of water."""
    unit = "L" if action in ("top_up", "drain_off", "change_out") else "mL"
    return note("dose", item, amount, ago_h, unit=unit, data={"action": action, **data})


def case_of(records: Iterable[Note] = (), readings: Readings | None = None, farm: Farm = RAIN) -> Case:
    """Everything a correction would be worked out from."""
    found = readings or read()
    return gathered(farm, sorted(records, key=lambda each: each.measured_at), "r", found, found.at)


def shelf(**changes: dict[str, object]) -> tuple[object, ...]:
    return tuple(
        msgspec.structs.replace(product, **changes.get(product.id, {})) for product in (*CONCENTRATES, ACID, BASE)
    )


def with_shelf(**changes: dict[str, object]) -> Farm:
    return a_farm(waters=(rain_water(),), full_volume_l=301.0, products=shelf(**changes))
