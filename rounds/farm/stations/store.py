"""The store room."""

from __future__ import annotations

from rounds.farm.station_base import StationBase


class Store(StationBase, frozen=True, kw_only=True, tag_field="kind", tag="store"):
    """The store room."""
