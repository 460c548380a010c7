"""One record for tests of the book, as far as the book needs it."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Any

NOW = datetime(2026, 11, 25, 6, 0, tzinfo=UTC)


@dataclass(frozen=True, kw_only=True)
class Line:
    """One record."""

    kind: str = "dose"
    value: Any = None
    unit: str | None = None
    item: str = ""
    measured_at: datetime = NOW
    id: str = "x"
    station: str = "res-1"
    meter: str | None = None
    note: str | None = None
    person: str = ""
    data: dict[str, Any] = field(default_factory=dict)


def ago(hours: float) -> datetime:
    """So many hours before the moment of these tests."""
    return NOW - timedelta(hours=hours)


def dose(action: str, amount: float | None, hours: float = 1.0, *, item: str = "", unit: str | None = None) -> Line:
    """Something that was poured, in the unit that is usual for it."""
    return Line(item=item, value=amount, unit=unit, measured_at=ago(hours), data={"action": action})
