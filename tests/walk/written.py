"""What stands in a record already: written as the book writes it, so many hours ago."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from rounds.history.record import Draft, Record
from rounds.walk.session import Session

SECOND = 1.0 / 3600.0
"""A second, in hours. [h]"""
STEPS = [
    {"action": "acid", "product": "nitric-8", "amount": 30.0, "unit": "mL", "wait_min": 25.0},
    {"action": "circulate", "wait_min": 40.0}, {"action": "read_again"},
    {"action": "acid", "amount": 10.0, "unit": "mL"},
]  # fmt: skip


def put(session: Session, kind: str, ago_h: float = 0.0, station: str = "res-1", **fields: Any) -> Record:
    """Write one record, measured so many hours ago."""
    at = session.now() - timedelta(seconds=round(ago_h * 3600.0))
    return session.save(Draft(kind=kind, measured_at=at, station=station, **fields))[0]


def read(session: Session, item: str, value: float, ago_h: float = 0.0, **fields: Any) -> Record:
    """Write a reading down."""
    return put(session, "reading", ago_h, item=item, value=value, **fields)


def dosed(session: Session, ago_h: float, item: str = "nitric-8", amount: float = 30.0, **data: Any) -> Record:
    """Write down what was poured in or drained off."""
    data = {"action": "acid", **data}
    unit = "L" if data["action"] in ("top_up", "drain_off", "change_out") else "mL"
    return put(session, "dose", ago_h, item=item, value=amount, unit=unit, data=data)


def offered(session: Session, ago_h: float = 0.0, steps: list[dict[str, Any]] = STEPS, **data: Any) -> Record:
    """Write down a correction that was worked out."""
    return put(session, "correction", ago_h, data={"steps": steps, **data})


def fields_of(record: Record) -> dict[str, Any]:
    """What was drafted of a record, without what is empty."""
    drafted = {name: getattr(record, name) for name in Draft.__struct_fields__}
    return {name: value for name, value in drafted.items() if value not in (None, "", (), {}, False)}
