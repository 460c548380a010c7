"""What was measured of a feed and of a tub on purpose: a bucket test of its parts, and the litres that circulate.

These are observations; what is made of them is the belief's matter (`belief/feeding`). Whoever writes such a record
reads it back here: `feed_tests_of` is the one place that knows its keys.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime

from rounds.book.amounts import number
from rounds.book.entry import Entry

BUCKET_SD = 0.02
"""Spread of the logarithm of a pour against its water: a 10 mL syringe, and ten litres by the mark. Practice. [-]"""
SAME_METER_MS_CM = 0.015
"""Of the difference of two conductivities read one after the other with one meter. Practice. [mS/cm]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class BucketPour:
    """One part poured into the bucket, and the conductivity once it was stirred in."""

    product: str
    """Id of the concentrate on the shelf."""
    ml: float
    ec_after_ms_cm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BucketTest:
    """Parts poured one after the other into a bucket of the farm's water, at working strength."""

    at: datetime
    litres: float
    """Of water, before anything was poured. [L]"""
    water: str
    """Id of the water in farm.toml; empty where nobody said."""
    ec_water_ms_cm: float
    pours: tuple[BucketPour, ...]
    """In the order of pouring."""
    sd: float = BUCKET_SD
    """Spread of the logarithm of mL per litre. [-]"""
    meter_sd_ms_cm: float = SAME_METER_MS_CM
    """Of the difference of two readings. [mS/cm]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class PartTest:
    """What a bucket showed of one part, worked out already."""

    at: datetime
    product: str
    per_ml_l: float
    """What a millilitre in each litre raises the EC by, at working strength. [mS/cm per mL/L]"""
    sd: float
    """Its standard deviation. [mS/cm per mL/L]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class VolumeTest:
    """The circulating volume of a reservoir, measured: by jug, or with the pump off by a second dip."""

    at: datetime
    reservoir: str
    times: float
    """Measured litres against those that dip, channels and pipes gave at that moment. [-]"""
    sd: float
    """Spread of its logarithm. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class FeedTests:
    """All that was measured on purpose, oldest first."""

    buckets: tuple[BucketTest, ...] = ()
    parts: tuple[PartTest, ...] = ()
    volumes: tuple[VolumeTest, ...] = ()

    def of(self, reservoir: str) -> FeedTests:
        """What counts at one reservoir: every bucket, and the volumes measured there."""
        return FeedTests(
            buckets=self.buckets, parts=self.parts, volumes=tuple(v for v in self.volumes if v.reservoir == reservoir)
        )


def feed_tests_of(entries: Iterable[Entry]) -> FeedTests:
    """What the record holds of such tests: of all stations, since a bucket is poured at none of them."""
    tried = [entry for entry in entries if entry.record.kind == "measured" and entry.item.startswith("measured:bucket")]
    parts = [part for entry in sorted(tried, key=lambda e: e.measured_at) for part in _parts_of(entry)]
    return FeedTests(parts=tuple(parts))


def _parts_of(entry: Entry) -> Iterator[PartTest]:
    found = entry.record.data.get("parts")
    for product, told in found.items() if isinstance(found, Mapping) else ():
        rise = number(told.get("per_ml_l")) if isinstance(told, Mapping) else None
        sd = number(told.get("sd")) if isinstance(told, Mapping) else None
        if isinstance(product, str) and rise is not None and rise > 0.0:
            yield PartTest(at=entry.measured_at, product=product, per_ml_l=rise, sd=max(sd or 0.0, 0.01 * rise))
