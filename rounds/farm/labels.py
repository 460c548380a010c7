"""What the label of a nutrient bottle or bag prints, as it is entered in shelf.toml."""

from __future__ import annotations

from typing import Annotated, Literal

from msgspec import Meta, field

from rounds.farm.field_types import Part
from rounds.science.printed_label import FORMS, TRACES, PrintedLabel

Printed = Annotated[float, Meta(ge=0, le=100, description="per cent, 0 to 100")]
Density = Annotated[float, Meta(ge=0.95, le=1.7, description="kg/L, from 0.95 to 1.7: weigh 100 mL, grams / 100")]
Form = Literal[
    "n",
    "no3_n",
    "nh4_n",
    "urea_n",
    "p",
    "p2o5",
    "k",
    "k2o",
    "ca",
    "cao",
    "mg",
    "mgo",
    "s",
    "so3",
    "cl",
    "na",
    "fe",
    "mn",
    "zn",
    "cu",
    "b",
    "mo",
    "si",
]


class Label(Part, frozen=True, kw_only=True):
    """A label: N-P-K alone, or each element in the form it is printed in."""

    npk: tuple[Printed, Printed, Printed] | None = None
    """The three numbers as they stand on the front."""
    p_and_k: Literal["oxides", "elements"] | None = None
    """What the last two of them are: P2O5 and K2O, or P and K. Left out, both are held possible."""
    percent: dict[Form, Printed] = field(default_factory=dict)
    """From a declaration or data sheet: `no3_n`, `nh4_n` and `urea_n` are forms of nitrogen, `cao` lime, and so on."""
    by: Literal["weight", "volume"] | None = None
    """Grams in 100 g, or grams in 100 mL. Left out, both are held possible."""
    density_kg_l: Density | None = None
    """Of a liquid."""
    stock_g_l: Annotated[float, Meta(gt=0, le=600, description="grams per litre, above 0, at most 600")] | None = None
    """For a powder: so many grams are dissolved to a litre of stock solution, which is what is poured."""
    whole: bool = False
    """Whether it is the only bottle of its feed, and so may hold calcium beside phosphate; found from feeds.toml."""
    organic: bool = False
    """Whether it is an organic liquid: its EC says nothing of its strength."""
    buffered: bool = False
    """Whether it says that it holds the pH by itself."""

    def __post_init__(self) -> None:
        if self.npk is not None and {"n", "p", "p2o5", "k", "k2o"} & set(self.percent):
            raise ValueError("npk: expected N, P and K once, found them in percent too")
        if self.npk is None and not self.percent and not self.organic:
            raise ValueError("npk: expected the three numbers of the label, or percent, found neither")

    def printed(self) -> PrintedLabel:
        """The label as the chemistry reads it.

        Raises
        ------
        BadInput, OutOfRange
            Where it cannot be.
        """
        percent: list[tuple[str, float]] = [(str(name), value) for name, value in self.percent.items()]
        if self.npk is not None:
            percent = [*zip(("n", "p_as_printed", "k_as_printed"), self.npk, strict=True), *percent]
        told = {
            FORMS[name][0] if name in FORMS else name[0]
            for name, value in percent
            if value > 0.0 and name not in TRACES
        }
        has_nitrogen, has_phosphate = bool({"n", "no3"} & told), bool({"p", "po4"} & told)
        part: Literal["calcium", "rest"] = "calcium" if has_nitrogen and not has_phosphate else "rest"
        return PrintedLabel(
            percent=tuple(percent), habit=self.p_and_k, by=self.by, density_kg_l=self.density_kg_l,
            stock_g_l=self.stock_g_l, part="whole" if self.whole else part,
        )  # fmt: skip
