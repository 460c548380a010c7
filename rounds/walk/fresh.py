"""What was read at a reservoir lately, as far as nothing was poured since; and what its level has become."""

from __future__ import annotations

from datetime import timedelta

from rounds.book.entries import Dose
from rounds.book.level import inside_after
from rounds.book.offer import Readings
from rounds.errors import RoundsError
from rounds.farm.volumes import dip_to_litres
from rounds.history.record import Record
from rounds.walk.session import Session

FRESH_H = 3.0
"""Readings older than this are not corrected any more."""


def readings_of(session: Session, reservoir_id: str) -> Readings | None:
    """The fresh readings of a reservoir; None where neither pH nor EC was read since the last dose.

    A dip from before a dose is carried on by what was poured and drained since.
    """
    fresh = fresh_records(session, reservoir_id)
    if not {"ph", "ec"} & set(fresh):
        return None
    dip, volume_l = _level(session, reservoir_id, fresh.get("dip"))
    return Readings(
        at=max(record.measured_at for record in fresh.values()),
        ph=_number(fresh.get("ph")),
        ec_ms_cm=_number(fresh.get("ec")),
        temperature_c=_number(fresh.get("t")),
        dip_cm=dip,
        volume_l=volume_l,
        ph_meter=fresh["ph"].meter if "ph" in fresh else None,
        ec_meter=fresh["ec"].meter if "ec" in fresh else None,
    )


def fresh_records(session: Session, reservoir_id: str) -> dict[str, Record]:
    """The newest reading of each item, as far as it is fresh; pH and EC only where nothing was poured since."""
    now = session.now()
    soon, latest_of = now + timedelta(seconds=1), session.history.latest
    latest = {item: latest_of(reservoir_id, item, kind="reading", before=soon) for item in ("ph", "ec", "t", "dip")}
    poured = session.history.latest_marks().get((reservoir_id, "kind:dose"))
    since = {item: now - timedelta(hours=FRESH_H) for item in latest}
    if poured is not None and poured.measured_at <= now:
        since |= {item: max(since[item], poured.measured_at) for item in ("ph", "ec")}
    return {item: r for item, r in latest.items() if r is not None and r.measured_at >= since[item]}


def _level(session: Session, reservoir_id: str, dip: Record | None) -> tuple[float | None, float | None]:
    """The dip, or, where something was poured or drained since, the litres that it has become."""
    dip_cm = _number(dip)
    if dip is None or dip_cm is None:
        return None, None
    reservoir = session.farm.reservoir(reservoir_id)
    since = session.history.records(station=reservoir_id, kind="dose", since=dip.measured_at)
    doses = [dose for dose in map(Dose, since) if dip.measured_at < dose.measured_at <= session.now()]
    if not doses:
        return dip_cm, None
    try:
        litres = dip_to_litres(reservoir, dip_cm)[0]
    except RoundsError:
        return dip_cm, None
    outside_l = session.farm.outside_volume_l(reservoir)
    for dose in doses:
        litres = inside_after(litres, dose, outside_l)
    return None, min(max(litres, 0.0), reservoir.full_volume_l)


def _number(record: Record | None) -> float | None:
    return float(record.value) if record is not None and isinstance(record.value, int | float) else None
