"""Channels of plants."""

from __future__ import annotations

from datetime import date
from typing import Any

from msgspec import field

from rounds.farm.field_types import Band, Count, Id, Line, LitresOrNone, Positive
from rounds.farm.station_base import StationBase

FLOW_SPREAD = 0.15
"""The flow may differ from the wanted one by this share. Common practice, no source. [-]"""


class Channel(StationBase, frozen=True, kw_only=True, tag_field="kind", tag="channel"):
    """A channel of plants that a reservoir feeds."""

    NAMED_BANDS = ("flow",)
    REFERENCES = {"reservoir": "reservoirs"}

    reservoir: Id
    crop: Line
    sites: Count
    planted: Count = 0
    planted_on: date | None = None
    flow_l_min: Positive
    length_m: Positive | None = None
    holds_l: LitresOrNone = 0.0
    """Water in the film and ponds of the channel while the pump runs."""
    roots_l: LitresOrNone = 0.0
    """Water held by the roots."""
    build: dict[str, Any] = field(default_factory=dict)
    """What marking out worked out for it."""

    def __post_init__(self) -> None:
        super().__post_init__()
        if self.planted > self.sites:
            raise ValueError(f"planted: expected at most the {self.sites} sites there are, found {self.planted}")

    @property
    def about(self) -> str:
        """The crop, the plants and the day they were set."""
        since = f", set {self.planted_on:%d %b}" if self.planted_on else ""
        return f"{self.crop}, {self.planted} plants on {self.sites} sites{since}"

    def named_band(self, name: str) -> Band | None:
        """`station.flow` is the wanted flow, give or take `FLOW_SPREAD`. [L/min]"""
        if name == "flow":
            return self.flow_l_min * (1 - FLOW_SPREAD), self.flow_l_min * (1 + FLOW_SPREAD)
        return super().named_band(name)
