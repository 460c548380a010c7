"""Safeguards."""

from __future__ import annotations

from rounds.farm.station_base import StationBase


class Safeguards(StationBase, frozen=True, kw_only=True, tag_field="kind", tag="safeguards"):
    """What is there for the day things go wrong: floats, spare pump, residual-current device, eyewash, generator."""
