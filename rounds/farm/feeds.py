"""Nutrient feeds: which concentrates make them, how strong, and the bands of each growth stage."""

from __future__ import annotations

from typing import Annotated

from msgspec import Meta

from rounds.farm.field_types import Band, Format, Id, Line, Part, Text, check_band

MillilitrePerLitre = Annotated[float, Meta(gt=0, le=50, description="mL per litre, above 0, at most 50")]


class Stage(Part, frozen=True, kw_only=True):
    """The bands of one growth stage."""

    id: Id
    ec: Band
    """Wanted conductivity. [mS/cm at 25 °C]"""
    ph: Band
    young: bool = False
    """Young plants get half steps."""
    ripening: bool = False
    """Ripening fruit splits where the feed is thinned too fast."""

    def __post_init__(self) -> None:
        check_band("ec", self.ec)
        check_band("ph", self.ph)


class Feed(Part, frozen=True, kw_only=True):
    """A nutrient feed made from two concentrates."""

    id: Id
    name: Line
    part_a: Id
    part_b: Id
    a_ml_per_l: MillilitrePerLitre
    """Of concentrate A for a full-strength litre."""
    b_ml_per_l: MillilitrePerLitre
    stages: tuple[Stage, ...]
    note: Text = ""

    def stage(self, stage_id: str) -> Stage | None:
        """The stage of that id, if the feed has it."""
        return next((stage for stage in self.stages if stage.id == stage_id), None)


class FeedsFile(Part, frozen=True, kw_only=True):
    """feeds.toml as a whole."""

    format: Format
    feeds: tuple[Feed, ...] = ()
