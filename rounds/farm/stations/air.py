"""The air."""

from __future__ import annotations

from rounds.farm.station_base import StationBase


class Air(StationBase, frozen=True, kw_only=True, tag_field="kind", tag="air"):
    """The air of the greenhouse."""
