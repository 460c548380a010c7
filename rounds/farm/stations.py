"""The stations of a round: reservoirs, channels and everything else one stops at."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Any

from msgspec import Meta, field

from rounds.farm.kinds import (
    Band,
    Centimetres,
    Count,
    Id,
    Line,
    Litres,
    LitresOrNone,
    Part,
    Positive,
    Share,
    Text,
    check_band,
)


class StationBase(Part, frozen=True, kw_only=True):
    """What every station has."""

    id: Id
    name: Line
    sick: bool = False
    """Walked last, so that nothing is carried to the healthy ones."""
    rank: int | None = None
    """Place in the walk, where the kind's own is not wanted: lower comes first."""
    leave_out: tuple[str, ...] = ()
    """Items of the kind's checklist that do not apply here."""
    bands: dict[str, Band] = field(default_factory=dict)
    """Bands of this station's own, by item."""
    note: Text = ""

    @property
    def kind(self) -> str:
        """The kind of station, which names its checklist."""
        return str(self.__struct_config__.tag)

    def __post_init__(self) -> None:
        for item, band in self.bands.items():
            check_band(f"bands.{item}", band)


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
Gravity = Annotated[float, Meta(ge=0.99, le=1.2, description="specific gravity from 0.99 to 1.2")]
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


class Reservoir(Vessel, frozen=True, kw_only=True, tag_field="kind", tag="reservoir"):
    """A reservoir of nutrient feed and the pump that sends it round."""

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


class Channel(StationBase, frozen=True, kw_only=True, tag_field="kind", tag="channel"):
    """A channel of plants that a reservoir feeds."""

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


class Tank(Vessel, frozen=True, kw_only=True, tag_field="kind", tag="tank"):
    """A tank of plain water."""

    water: Id


class Flock(StationBase, frozen=True, kw_only=True, tag_field="kind", tag="hens"):
    """Hens in one house."""

    birds: Count
    ration: Id | None = None
    hatched_on: date | None = None


class Trees(StationBase, frozen=True, kw_only=True, tag_field="kind", tag="trees"):
    """A row of trees."""

    trees: Count
    species: Line
    ground_m2_each: Positive | None = None


class Ferment(StationBase, frozen=True, kw_only=True, tag_field="kind", tag="ferment"):
    """Something that ferments in a cask, a jar or a crock."""

    what: Line
    volume_l: Litres
    started_on: date | None = None
    original_gravity: Gravity | None = None


class Bed(StationBase, frozen=True, kw_only=True, tag_field="kind", tag="bed"):
    """A bed of soil."""

    crop: Line
    area_m2: Positive | None = None


class Seedlings(StationBase, frozen=True, kw_only=True, tag_field="kind", tag="seedlings"):
    """The bench where seedlings stand."""

    trays: Count = 0


class Air(StationBase, frozen=True, kw_only=True, tag_field="kind", tag="air"):
    """The air of the greenhouse."""


class Store(StationBase, frozen=True, kw_only=True, tag_field="kind", tag="store"):
    """The store room."""


class Safeguards(StationBase, frozen=True, kw_only=True, tag_field="kind", tag="safeguards"):
    """What is there for the day things go wrong: floats, spare pump, residual-current device, eyewash, generator."""


Station = Reservoir | Channel | Seedlings | Air | Flock | Trees | Ferment | Bed | Tank | Store | Safeguards
STATION_KINDS: dict[str, type[StationBase]] = {
    "reservoir": Reservoir, "channel": Channel, "seedlings": Seedlings, "air": Air, "hens": Flock, "trees": Trees,
    "ferment": Ferment, "bed": Bed, "tank": Tank, "store": Store, "safeguards": Safeguards,
}  # fmt: skip
