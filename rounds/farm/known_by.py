"""How a number of the farm is known where it was measured: with its doubt, and when and by what."""

from __future__ import annotations

from datetime import datetime

from msgspec import Struct


class KnownBy(Struct, frozen=True, kw_only=True):
    """A number that was measured: it goes before what the farm's files say."""

    value: float
    sd: float
    """Its standard deviation, in its own unit."""
    unit: str
    at: datetime
    """In the farm's own zone."""
    how: str
    """By what, such as `by jug and clock`."""
    record_id: str = ""

    @property
    def told(self) -> str:
        """When and how, to stand behind the number.

        Examples
        --------
        >>> flow = KnownBy(value=20.0, sd=0.5, unit="L/min", at=datetime(2026, 10, 12), how="by jug and clock")
        >>> flow.told
        'measured 12 October by jug and clock'
        """
        return f"measured {self.at.day} {self.at:%B} {self.how}".rstrip()
