"""What the farm is: its place, its people, its meters, its waters and the limits it sets itself."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal

from msgspec import Meta, field

from rounds.errors import OutOfRange
from rounds.farm.field_types import Ec, Format, Id, Line, MilligramPerLitre, Millimol, Part, Ph, Positive, Text
from rounds.farm.station_kinds import Station
from rounds.science.water_told import ToldWater, WaterTest

BlendShare = Annotated[float, Meta(gt=0, le=1, description="a share above 0, at most 1")]


class Place(Part, frozen=True, kw_only=True):
    """Where the farm is, and how numbers are written there."""

    latitude: Annotated[float, Meta(ge=-66, le=66, description="degrees, south negative, from -66 to 66")]
    longitude: Annotated[float, Meta(ge=-180, le=180, description="degrees, west negative, from -180 to 180")]
    elevation_m: Annotated[float, Meta(ge=-400, le=5000, description="metres above the sea, from -400 to 5000")] = 0.0
    timezone: Line = "UTC"
    gallon: Literal["us", "imperial"] | None = None
    country: Annotated[str, Meta(pattern="^[A-Z]{2}$", description="two capital letters, such as NZ")] | None = None
    """By whose habit labels print P and K: as oxides, or as elements."""
    decimal_mark: Literal[".", ","] = "."


class HelperLimits(Part, frozen=True, kw_only=True):
    """What a helper may pour. By default no acid and no base."""

    products: tuple[Id, ...] = ()
    step_ml: Positive = 100.0
    day_ml: Positive = 200.0


VESSELS_ML = (5.0, 10.0, 20.0, 50.0, 100.0, 250.0, 500.0, 1000.0)
"""Usual sizes of syringes, cylinders and jugs: common practice. [mL]"""


class Limits(Part, frozen=True, kw_only=True):
    """How far one correction may go."""

    step_ph: Annotated[float, Meta(gt=0, le=1, description="pH, above 0, at most 1")] | None = None
    """The most that the grower lets one dose of acid or base move; none where it is left out."""
    step_ec: Annotated[float, Meta(gt=0, le=1, description="mS/cm, above 0, at most 1")] = 0.3
    day_ph: Annotated[float, Meta(gt=0, le=2, description="pH, above 0, at most 2")] | None = None
    """The same for a day."""
    day_ec: Annotated[float, Meta(gt=0, le=2, description="mS/cm, above 0, at most 2")] = 0.5
    lowest_ph: Annotated[float, Meta(ge=4.5, le=6, description="a pH from 4.5 to 6")] = 5.0
    stock_acid_from_l: Positive = 500.0
    """Reservoirs from this size may take acid as bought at a change-out."""
    buffer_tolerance_ph: Annotated[float, Meta(gt=0, le=0.5, description="pH, above 0, at most 0.5")] = 0.1
    next_round_h: Annotated[float, Meta(gt=0, le=336, description="hours, above 0, at most 336")] = 24.0
    """When the grower usually comes again."""
    vessels_ml: Annotated[tuple[Positive, ...], Meta(min_length=1)] = VESSELS_ML
    """Syringes, cylinders and jugs at hand: a dose names the smallest that holds it."""
    helper: HelperLimits = field(default_factory=HelperLimits)


class Person(Part, frozen=True, kw_only=True):
    """Somebody who walks the rounds."""

    id: Id
    name: Line
    role: Literal["grower", "helper"] = "grower"
    phone: Line | None = None


class Contact(Part, frozen=True, kw_only=True):
    """Somebody to call, the first one first."""

    name: Line
    what: Line
    phone: Line


class Meter(Part, frozen=True, kw_only=True):
    """An instrument, and how far its readings can be trusted."""

    id: Id
    name: Line
    measures: tuple[str, ...]
    tolerance: dict[str, Positive] = field(default_factory=dict)
    """Half width by item, in the item's unit."""


class ReadWater(Part, frozen=True, kw_only=True):
    """Hardness or alkalinity by drops or a strip."""

    value: Annotated[float, Meta(ge=0, le=1000, description="from 0 to 1000, in its unit")]
    """In its unit; with drops their number, where one drop is one of the unit."""
    unit: Literal["dH", "fH", "eH", "gpg", "mg_l_caco3", "meq_l"]
    """German, French or English degrees, grains per US gallon, mg/L as CaCO3, or meq/L."""
    by: Literal["drops", "strip", "laboratory"] = "drops"
    pad: Positive | None = None
    """Of a strip: how far the next pad lies."""

    def __post_init__(self) -> None:
        try:
            self.test()
        except OutOfRange as error:
            raise ValueError(f"value: expected {error.hint.removeprefix('Expected ')}, found {self.value:g}") from error

    def test(self) -> WaterTest:
        """The same as the chemistry reads it."""
        return WaterTest(value=self.value, unit=self.unit, by=self.by, pad=self.pad)


class Water(Part, frozen=True, kw_only=True):
    """A water at hand, with its analysis or what was read of it. Alkalinity is given in one form at most."""

    id: Id
    name: Line
    analysed_on: date | None = None
    ph: Ph | None = None
    ec_ms_cm: Ec | None = None
    hardness: ReadWater | None = None
    alkalinity: ReadWater | None = None
    softener: bool = False
    """Whether a softener stands in this line: it takes calcium and magnesium, leaves alkalinity, and adds sodium."""
    alkalinity_meq_l: Millimol | None = None
    alkalinity_mg_l_caco3: MilligramPerLitre | None = None
    hco3_mg_l: MilligramPerLitre | None = None
    ca_mg_l: MilligramPerLitre = 0.0
    mg_mg_l: MilligramPerLitre = 0.0
    na_mg_l: MilligramPerLitre = 0.0
    k_mg_l: MilligramPerLitre = 0.0
    cl_mg_l: MilligramPerLitre = 0.0
    so4_mg_l: MilligramPerLitre = 0.0
    no3_mg_l: MilligramPerLitre | None = None
    no3_n_mg_l: MilligramPerLitre | None = None
    blend: dict[str, BlendShare] = field(default_factory=dict)
    """For a water mixed from others: the share of each, by water id."""

    def __post_init__(self) -> None:
        forms = [self.alkalinity_meq_l, self.alkalinity_mg_l_caco3, self.hco3_mg_l]
        given = sum(form is not None for form in forms)
        if given + (self.alkalinity is not None) > 1:
            raise ValueError(
                "alkalinity: expected exactly one of alkalinity_meq_l, alkalinity_mg_l_caco3, hco3_mg_l, "
                f"found {given + (self.alkalinity is not None)}"
            )
        if given == 1 and self.hardness is not None:
            raise ValueError("hardness: expected the ions of the analysis or a hardness, found both")
        if given == 0 and self.has_ions:
            raise ValueError("alkalinity: expected the alkalinity of the analysis beside its ions, found nothing")
        if self.no3_mg_l is not None and self.no3_n_mg_l is not None:
            raise ValueError("no3_n_mg_l: expected either nitrate or nitrate-nitrogen, found both")

    @property
    def is_analysed(self) -> bool:
        """Whether it comes with an analysis, and not with drops, a strip or a pen alone."""
        return any(form is not None for form in (self.alkalinity_meq_l, self.alkalinity_mg_l_caco3, self.hco3_mg_l))

    @property
    def has_ions(self) -> bool:
        """Whether calcium, magnesium or sodium are told."""
        return self.ca_mg_l + self.mg_mg_l + self.na_mg_l > 0.0

    def told(self) -> ToldWater:
        """What was read of it, as the chemistry takes it."""
        return ToldWater(
            hardness=None if self.hardness is None else self.hardness.test(),
            alkalinity=None if self.alkalinity is None else self.alkalinity.test(),
            ec_ms_cm=self.ec_ms_cm, softener=self.softener,
        )  # fmt: skip


class FarmFile(Part, frozen=True, kw_only=True):
    """farm.toml as a whole."""

    format: Format
    name: Line
    place: Place
    gone: tuple[Id, ...] = ()
    """Stations that the record knows and that are gone for good: nobody asks where they are."""
    limits: Limits = field(default_factory=Limits)
    people: tuple[Person, ...] = ()
    contacts: tuple[Contact, ...] = ()
    where: dict[str, Text] = field(default_factory=dict)
    """Where things are: water, isolators, first aid, acid cupboard, spare pump, feed."""
    meters: tuple[Meter, ...] = ()
    waters: tuple[Water, ...] = ()
    stations: tuple[Station, ...] = ()
