"""What the farm is: its place, its people, its meters, its waters and the limits it sets itself."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal

from msgspec import Meta, field

from rounds.farm.field_types import Ec, Id, Line, MilligramPerLitre, Millimol, Part, Ph, Positive, Text
from rounds.farm.station_kinds import Station

BlendShare = Annotated[float, Meta(gt=0, le=1, description="a share above 0, at most 1")]


class Place(Part, frozen=True, kw_only=True):
    """Where the farm is, and how numbers are written there."""

    latitude: Annotated[float, Meta(ge=-66, le=66, description="degrees, south negative, from -66 to 66")]
    longitude: Annotated[float, Meta(ge=-180, le=180, description="degrees, west negative, from -180 to 180")]
    elevation_m: Annotated[float, Meta(ge=-400, le=5000, description="metres above the sea, from -400 to 5000")] = 0.0
    timezone: Line = "UTC"
    gallon: Literal["us", "imperial"] | None = None
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


class Water(Part, frozen=True, kw_only=True):
    """A water at hand with its analysis. Alkalinity is given in one of its three forms."""

    id: Id
    name: Line
    analysed_on: date | None = None
    ph: Ph
    ec_ms_cm: Ec
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
        if sum(form is not None for form in forms) != 1:
            raise ValueError(
                "alkalinity: expected exactly one of alkalinity_meq_l, alkalinity_mg_l_caco3, hco3_mg_l, "
                f"found {sum(form is not None for form in forms)}"
            )
        if self.no3_mg_l is not None and self.no3_n_mg_l is not None:
            raise ValueError("no3_n_mg_l: expected either nitrate or nitrate-nitrogen, found both")


class FarmFile(Part, frozen=True, kw_only=True):
    """farm.toml as a whole."""

    format: Literal[1]
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
