"""What was measured of a feed and of a tub on purpose: a bucket test of its parts, and the litres that circulate.

These are observations; what is made of them is the belief's matter (`belief/feeding`). Whoever writes such a record
reads it back here: `feed_tests_of` is the one place that knows its keys.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from rounds.book.entries import only
from rounds.book.entry import Entry
from rounds.book.measurements import BUCKET, Measured

BUCKET_SD = 0.02
"""Spread of the logarithm of a pour against its water: a 10 mL syringe, and ten litres by the mark. Practice. [-]"""
_MOST_ML = 20_000.0
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
    """What the record holds of such tests: of all stations, since a bucket is poured at none of them.

    A bucket that is kept pour by pour is taken so; of another one, what was worked out of each part.
    """
    tried = [entry for entry in only(Measured, entries) if entry.what == BUCKET]
    tried.sort(key=lambda entry: entry.measured_at)
    buckets = {entry.id: bucket for entry in tried if (bucket := _bucket_of(entry)) is not None}
    parts = [part for entry in tried if entry.id not in buckets for part in _parts_of(entry)]
    return FeedTests(buckets=tuple(buckets.values()), parts=tuple(parts))


def _bucket_of(entry: Measured) -> BucketTest | None:
    """The bucket pour by pour; None where the record does not tell all of it."""
    litres, plain, products, rows = entry.litres, entry.ec_ms_cm, entry.products, entry.rows
    if litres is None or plain is None or not products or len(products) != len(rows):
        return None
    if not 0.1 <= litres <= 1000.0 or not 0.0 <= plain <= 20.0 or not all(_may_be(row) for row in rows):
        return None
    pours = tuple(
        BucketPour(product=product, ml=row[0], ec_after_ms_cm=row[1])
        for product, row in zip(products, rows, strict=True)
    )
    return BucketTest(at=entry.measured_at, litres=litres, water=entry.water, ec_water_ms_cm=plain, pours=pours)


def _may_be(row: Sequence[float]) -> bool:
    """Whether it is millilitres and the conductivity after them that can be."""
    return len(row) == 2 and 0.0 < row[0] <= _MOST_ML and 0.0 <= row[1] <= 20.0


def _parts_of(entry: Measured) -> Iterator[PartTest]:
    for product, (rise, sd) in entry.parts.items():
        if rise > 0.0:
            yield PartTest(at=entry.measured_at, product=product, per_ml_l=rise, sd=max(sd, 0.01 * rise))
