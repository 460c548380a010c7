"""How much a reservoir's plants and the air take in a day, from dips and top-ups on record."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from rounds.advice.steps import RecordLike
from rounds.errors import NotFound, RoundsError
from rounds.farm.farm import Farm
from rounds.farm.stations import Reservoir
from rounds.farm.volumes import dip_to_litres

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
    """Litres used and hours seen; stretches with a change-out or an impossible gain are left out."""
    used = hours = added = 0.0
    renewed, last = False, None
    for record in records:
        if record.kind == "dose":
            added += _added_l(record)
            renewed = renewed or record.data.get("action") == "change_out"
        litres = _dipped_l(reservoir, record)
        if litres is None:
            continue
        if last is not None and not renewed and last[1] + added - litres > -0.05 * reservoir.working_volume_l:
            used += last[1] + added - litres
            hours += (record.measured_at - last[0]).total_seconds() / 3600.0
        last, added, renewed = (record.measured_at, litres), 0.0, False
    return used, hours


def _dipped_l(reservoir: Reservoir, record: RecordLike) -> float | None:
    if record.kind != "reading" or record.item != "dip" or isinstance(record.value, bool | str | None):
        return None
    try:
        return dip_to_litres(reservoir, float(record.value))[0]
    except RoundsError:
        return None


def _added_l(record: RecordLike) -> float:
    if isinstance(record.value, bool | str | None):
        return 0.0
    litres = float(record.value) * {"L": 1.0, "mL": 0.001}.get(record.unit or "", 0.0)
    return -litres if record.data.get("action") == "drain_off" else litres
