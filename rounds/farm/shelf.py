"""The shelf: what is in stock, how strong it is and how much there was when it was last counted."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal

from msgspec import Meta, field

from rounds.farm.field_types import Amount, Format, Id, Line, Part, Positive, Text
from rounds.farm.labels import Label

Percent = Annotated[float, Meta(gt=0, le=100, description="per cent by mass, above 0, at most 100")]
Density = Annotated[float, Meta(ge=0.7, le=2.0, description="kg/L, from 0.7 to 2.0")]
Molarity = Annotated[float, Meta(gt=0, le=20, description="mol/L, above 0, at most 20")]


class ProductBase(Part, frozen=True, kw_only=True):
    """What every product on the shelf has."""

    id: Id
    name: Line
    amount: Amount
    """In stock when it was counted; what was used since is booked in the history."""
    unit: Literal["L", "mL", "kg", "g", "pieces"]
    counted_on: date
    reorder_at: Amount = 0.0
    use_by: date | None = None
    place: Line | None = None
    note: Text = ""


class Concentrate(ProductBase, frozen=True, kw_only=True, tag_field="kind", tag="concentrate"):
    """A part of a nutrient feed: dissolved from salts by the grower, or bought with a label."""

    part: Literal["A", "B", "C", "D"]
    salts_g_l: dict[str, Positive] = field(default_factory=dict)
    """Grams of each salt in a litre; the names are those that `rounds.science.salts` knows."""
    label: Label | None = None
    """What is printed on a bottle or bag that was bought."""
    iron_mg_l: Amount = 0.0
    """Iron from chelate."""
    made_on: date | None = None

    def __post_init__(self) -> None:
        if self.label is not None and self.salts_g_l:
            raise ValueError("label: expected salts_g_l or a label, found both")


class _Agent(ProductBase, frozen=True, kw_only=True):
    percent: Percent | None = None
    density_kg_l: Density | None = None
    """From the label, or weighed: per cent by mass alone gives no dose in mL."""
    molarity_mol_l: Molarity | None = None
    working: bool = False
    """Whether this is the 5-10 % dilution that doses are poured from."""
    made_on: date | None = None

    def __post_init__(self) -> None:
        if self.percent is not None and self.molarity_mol_l is not None:
            raise ValueError("molarity_mol_l: expected a strength in per cent or in mol/L, found both")


class Acid(_Agent, frozen=True, kw_only=True, tag_field="kind", tag="acid"):
    """An acid, as bought or as working acid. Without a strength it is never dosed."""

    agent: Literal["nitric", "phosphoric", "sulfuric", "hydrochloric", "citric"]


class Base(_Agent, frozen=True, kw_only=True, tag_field="kind", tag="base"):
    """A base, as bought or as working base."""

    agent: Literal["potassium_hydroxide", "potassium_carbonate", "potassium_hydrogen_carbonate"]


class SaltProduct(ProductBase, frozen=True, kw_only=True, tag_field="kind", tag="salt"):
    """A salt for making concentrates."""

    salt: Line


class Ration(ProductBase, frozen=True, kw_only=True, tag_field="kind", tag="ration"):
    """Hen ration."""


class OtherSupply(ProductBase, frozen=True, kw_only=True, tag_field="kind", tag="supply"):
    """Anything else that must not run out: buffers, gloves, bleach, filters."""


Product = Concentrate | Acid | Base | SaltProduct | Ration | OtherSupply
PRODUCT_KINDS: dict[str, type[ProductBase]] = {
    "concentrate": Concentrate, "acid": Acid, "base": Base, "salt": SaltProduct, "ration": Ration,
    "supply": OtherSupply,
}  # fmt: skip


class ShelfFile(Part, frozen=True, kw_only=True):
    """shelf.toml as a whole."""

    format: Format
    products: tuple[Product, ...] = field(default=())
