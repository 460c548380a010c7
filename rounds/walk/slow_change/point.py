"""One value of a series."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """What was read at one moment."""

    at: datetime
    value: float
    counts: bool = True
    """Whether it is compared with the others: not where it was read at another time of day, or before a repair."""
