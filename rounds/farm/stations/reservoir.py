"""Reservoirs: the feed that circulates, and what sends it round."""

from __future__ import annotations

from rounds.farm.field_types import Id, Litres, LitresOrNone, Positive, Share
from rounds.farm.vessel import Vessel


class Reservoir(Vessel, frozen=True, kw_only=True, tag_field="kind", tag="reservoir"):
    """A reservoir of nutrient feed and the pump that sends it round."""

    REFERENCES = {"waters": "waters"}

    working_volume_l: Litres
    feed: Id
    stage: Id
    waters: tuple[Id, ...]
    """Waters at hand here, the usual one first."""
    pump_l_min: Positive
    pipes_l: LitresOrNone = 0.0
    """Water in the pipes while the pump runs."""
    top_up_strength: Share = 0.5
    """Strength of a fed top-up, as a share of the full feed."""
    dip_error_cm: Positive = 0.5
    returns_aerate: bool = True
    """Whether the returns fall and splash, so that CO2 leaves quickly."""

    def __post_init__(self) -> None:
        super().__post_init__()
        if not self.working_volume_l <= self.full_volume_l:
            raise ValueError(
                f"working_volume_l: expected at most full_volume_l ({self.full_volume_l:g}), "
                f"found {self.working_volume_l:g}"
            )
        if not self.waters:
            raise ValueError("waters: expected at least one water at hand, found none")
