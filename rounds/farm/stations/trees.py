"""Trees."""

from __future__ import annotations

from rounds.farm.field_types import Count, Line, Positive
from rounds.farm.station_base import StationBase


class Trees(StationBase, frozen=True, kw_only=True, tag_field="kind", tag="trees"):
    """A row of trees."""

    trees: Count
    species: Line
    ground_m2_each: Positive | None = None
