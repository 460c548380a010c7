"""Seedlings."""

from __future__ import annotations

from rounds.farm.field_types import Count
from rounds.farm.station_base import StationBase


class Seedlings(StationBase, frozen=True, kw_only=True, tag_field="kind", tag="seedlings"):
    """The bench where seedlings stand."""

    trays: Count = 0
