"""The types that the farm's files are made of: names, amounts and bands, each with what a reader should be told."""

from __future__ import annotations

import math
from typing import Annotated, Literal

from msgspec import Meta, Struct

Id = Annotated[
    str, Meta(pattern="^[a-z0-9][a-z0-9-]{0,39}$", description="lower-case letters, digits and hyphens, at most 40")
]
Line = Annotated[str, Meta(min_length=1, max_length=80, description="a text of 1 to 80 characters")]
Text = Annotated[str, Meta(max_length=2000, description="a text of at most 2000 characters")]
Litres = Annotated[float, Meta(gt=0, le=1_000_000, description="litres, more than 0")]
LitresOrNone = Annotated[float, Meta(ge=0, le=100_000, description="litres, 0 or more")]
Centimetres = Annotated[float, Meta(gt=0, le=10_000, description="centimetres, more than 0")]
Share = Annotated[float, Meta(ge=0, le=1, description="a share from 0 to 1")]
Ph = Annotated[float, Meta(ge=0, le=14, description="a pH from 0 to 14")]
Ec = Annotated[float, Meta(ge=0, le=20, description="mS/cm at 25 °C, from 0 to 20")]
Millimol = Annotated[float, Meta(ge=0, le=100, description="from 0 to 100")]
MilligramPerLitre = Annotated[float, Meta(ge=0, le=5000, description="mg/L, from 0 to 5000")]
Count = Annotated[int, Meta(ge=0, le=1_000_000, description="a whole number, 0 or more")]
Positive = Annotated[float, Meta(gt=0, le=1_000_000, description="a number above 0")]
Amount = Annotated[float, Meta(ge=0, le=1_000_000, description="a number, 0 or more")]
Band = tuple[float, float]
Format = Annotated[Literal[1, 2], Meta(description="1 or 2, the version of these files")]
NEWEST_FORMAT = 2
"""Format 2 holds all that format 1 does, and keys that programs of format 1 do not know."""


class Part(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What everything read from the farm's files has in common: frozen, and no key that nobody knows."""


def check_band(name: str, band: Band | None) -> None:
    """Refuse a band whose low end is not below its high end.

    Raises
    ------
    ValueError
        Which the loader shows with the file and the key.
    """
    if band is not None and not -math.inf < band[0] < band[1] < math.inf:
        raise ValueError(f"{name}: expected the low end below the high end, found {list(band)}")
