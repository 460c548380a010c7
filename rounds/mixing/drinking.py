"""How much water plants and air take from a reservoir in a day, from dips and top-ups on record."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from rounds.book.entry import RecordLike
from rounds.errors import NotFound
from rounds.farm.farm import Farm
from rounds.farm.stations import Reservoir
from rounds.walk.slow_change.derived import drunk_between_dips

LOOK_BACK_DAYS = 21
LEAST_DAYS = 3.0
MOST_L_DAY = 100_000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Drinking:
    """What a reservoir loses in a day."""

    litres_per_day: float
    days: float
    """Over how many days it was seen; 0 where the grower said it. [d]"""


def drinking_rate(farm: Farm, records: Sequence[RecordLike], reservoir_id: str, now: datetime) -> Drinking:
    """Litres a day, as a balance between dips: what was there, plus what was poured in, less what is there.

    Parameters
    ----------
    records : sequence of record
        Effective records, of other stations too.

    Raises
    ------
    NotFound
        Where fewer than three days lie between the dips of the last three weeks.
    """
    reservoir = farm.reservoir(reservoir_id)
    since = now - timedelta(days=LOOK_BACK_DAYS)
    mine = sorted(
        (r for r in records if r.station == reservoir.id and since <= r.measured_at <= now), key=lambda r: r.measured_at
    )
    used, hours = _balance(reservoir, mine)
    days = hours / 24.0
    if days < LEAST_DAYS or used <= 0.0:
        raise NotFound(
            f"The dips of {reservoir.name} do not say how much it drinks in a day.",
            "Say it with --litres-per-day, or dip it on four mornings first.",
        )
    return Drinking(litres_per_day=used / days, days=days)


def _balance(reservoir: Reservoir, records: Sequence[RecordLike]) -> tuple[float, float]:
    """Litres used and hours seen."""
    stretches = list(drunk_between_dips(reservoir, records))
    return sum(litres for _, litres, _ in stretches), sum(hours for _, _, hours in stretches)
