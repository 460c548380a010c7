"""What was measured of a feed and of a tub on purpose: a bucket test of its parts, and the litres that circulate.

These are observations; what is made of them is the belief's matter (`belief/feeding`). Whoever writes such a record
reads it back here: `feed_tests_of` is the one place that knows its keys.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

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
    volumes: tuple[VolumeTest, ...] = ()

    def of(self, reservoir: str) -> FeedTests:
        """What counts at one reservoir: every bucket, and the volumes measured there."""
        return FeedTests(buckets=self.buckets, volumes=tuple(v for v in self.volumes if v.reservoir == reservoir))


def feed_tests_of(entries: Iterable[Entry]) -> FeedTests:
    """What the record holds of such tests: of all stations, since a bucket is poured at none of them."""
    return FeedTests()
