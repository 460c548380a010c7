"""Beds of soil."""

from __future__ import annotations

from rounds.farm.field_types import Line, Positive
from rounds.farm.station_base import StationBase


class Bed(StationBase, frozen=True, kw_only=True, tag_field="kind", tag="bed"):
    """A bed of soil."""

    crop: Line
    area_m2: Positive | None = None
