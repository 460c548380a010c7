"""Vessels that are dipped with a stick, and their shapes."""

from __future__ import annotations

from typing import Annotated

from msgspec import Meta

from rounds.farm.field_types import Centimetres, Litres, Part
from rounds.farm.station_base import StationBase


class Box(Part, frozen=True, kw_only=True, tag_field="form", tag="box"):
    """Upright walls on a rectangular floor."""

    length_cm: Centimetres
    width_cm: Centimetres


class UprightCylinder(Part, frozen=True, kw_only=True, tag_field="form", tag="upright_cylinder"):
    """A drum that stands."""

    diameter_cm: Centimetres


class LyingCylinder(Part, frozen=True, kw_only=True, tag_field="form", tag="lying_cylinder"):
    """A drum that lies."""

    diameter_cm: Centimetres
    length_cm: Centimetres


Shape = Box | UprightCylinder | LyingCylinder
DipRow = tuple[Annotated[float, Meta(ge=0)], Annotated[float, Meta(ge=0)]]


class Vessel(StationBase, frozen=True, kw_only=True):
    """A station that holds water which is dipped with a stick."""

    full_volume_l: Litres
    shape: Shape | None = None
    dip_table: tuple[DipRow, ...] = ()
    """Rows of (dip in cm, litres), rising."""

    def __post_init__(self) -> None:
        super().__post_init__()
        if self.shape is None and not self.dip_table:
            raise ValueError("shape: expected a shape or a dip_table, found no shape and no dip_table")
        pairs = list(zip(self.dip_table, self.dip_table[1:], strict=False))
        if self.dip_table and (not pairs or any(not (a[0] < b[0] and a[1] < b[1]) for a, b in pairs)):
            raise ValueError("dip_table: expected at least two rows of [cm, litres], each higher than the one before")
