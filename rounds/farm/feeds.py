"""Nutrient feeds: which concentrates make them, how strong, and the bands of each growth stage."""

from __future__ import annotations

from typing import Annotated, Literal

from msgspec import Meta, Struct

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


Letter = Literal["A", "B", "C", "D"]


class FeedPart(Struct, frozen=True, kw_only=True):
    """One bottle of a feed, as it is poured."""

    letter: Letter
    product: Id
    ml_per_l: float
    """For a full-strength litre; of a bought bottle what its label says. [mL/L]"""


class Feed(Part, frozen=True, kw_only=True):
    """A nutrient feed made from one to four concentrates, poured in the order of their letters."""

    id: Id
    name: Line
    part_a: Id
    part_b: Id | None = None
    a_ml_per_l: MillilitrePerLitre
    """Of concentrate A for a full-strength litre."""
    b_ml_per_l: MillilitrePerLitre | None = None
    part_c: Id | None = None
    c_ml_per_l: MillilitrePerLitre | None = None
    part_d: Id | None = None
    d_ml_per_l: MillilitrePerLitre | None = None
    stages: tuple[Stage, ...]
    note: Text = ""

    def __post_init__(self) -> None:
        rest = ((self.part_b, self.b_ml_per_l), (self.part_c, self.c_ml_per_l), (self.part_d, self.d_ml_per_l))
        gap = False
        for letter, (product, ml_per_l) in zip("bcd", rest, strict=True):
            if (product is None) != (ml_per_l is None):
                missing = f"part_{letter}" if product is None else f"{letter}_ml_per_l"
                raise ValueError(f"{missing}: expected a value, found nothing")
            if product is not None and gap:
                raise ValueError(f"part_{letter}: expected the letters in turn, found a gap before it")
            gap = product is None

    @property
    def parts(self) -> tuple[FeedPart, ...]:
        """Its bottles in the order of pouring."""
        told: tuple[tuple[Letter, Id | None, float | None], ...] = (
            ("A", self.part_a, self.a_ml_per_l), ("B", self.part_b, self.b_ml_per_l),
            ("C", self.part_c, self.c_ml_per_l), ("D", self.part_d, self.d_ml_per_l),
        )  # fmt: skip
        return tuple(
            FeedPart(letter=letter, product=product, ml_per_l=ml)
            for letter, product, ml in told if product is not None and ml is not None
        )  # fmt: skip

    @property
    def products(self) -> tuple[Id, ...]:
        """Ids of its bottles in the order of pouring."""
        return tuple(part.product for part in self.parts)

    def ml_per_l_of(self, letter: str) -> float | None:
        """What a part is poured at for a full-strength litre; None where the feed has no such part. [mL/L]"""
        return next((part.ml_per_l for part in self.parts if part.letter == letter), None)

    def stage(self, stage_id: str) -> Stage | None:
        """The stage of that id, if the feed has it."""
        return next((stage for stage in self.stages if stage.id == stage_id), None)


class FeedsFile(Part, frozen=True, kw_only=True):
    """feeds.toml as a whole."""

    format: Format
    feeds: tuple[Feed, ...] = ()
