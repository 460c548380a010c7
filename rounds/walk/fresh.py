"""What was read at a reservoir lately, as far as nothing was poured since; and what its level has become."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta

from rounds.book.entries import BUFFER_4, FILLED_HOW, JAR, STRIP, Dose
from rounds.book.level import inside_after
from rounds.book.offer import Readings
from rounds.errors import RoundsError
from rounds.farm.volumes import dip_to_litres
from rounds.history.record import DOUBTED, Record
from rounds.walk.session import Session

FRESH_H = 3.0
"""Readings older than this are not corrected any more."""
ANSWERS = (JAR, STRIP, BUFFER_4, FILLED_HOW, "buffer", "bottles", "calibrated", "chlorine", "rinsed")
"""What a correction asks beside its readings, and what opens and shuts the way to a dose: with another answer it is
worked out anew."""


def readings_of(session: Session, reservoir_id: str) -> Readings | None:
    """The fresh readings of a reservoir; None where neither pH nor EC was read since the last dose.

    A dip from before a dose is carried on by what was poured and drained since.
    """
    fresh = fresh_records(session, reservoir_id)
    if not {"ph", "ec"} & set(fresh):
        return None
    dip, volume_l = _level(session, reservoir_id, fresh.get("dip"))
    return Readings(
        at=_read_last(session, reservoir_id, fresh),
        ph=_number(fresh.get("ph")),
        ec_ms_cm=_number(fresh.get("ec")),
        temperature_c=_number(fresh.get("t")),
        dip_cm=dip,
        volume_l=volume_l,
        ph_at=fresh["ph"].measured_at if "ph" in fresh else None,
        ec_at=fresh["ec"].measured_at if "ec" in fresh else None,
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
    return {
        item: r
        for item, r in latest.items()
        if r is not None and r.measured_at >= since[item] and DOUBTED not in r.marks
    }


def answers_beside(session: Session, reservoir_id: str) -> dict[str, Record]:
    """The newest answer to each thing that a correction hangs on beside its readings."""
    latest, soon = session.history.latest_by_item(reservoir_id), session.now() + timedelta(seconds=1)
    found = ((item, latest.get((reservoir_id, item))) for item in ANSWERS)
    return {item: record for item, record in found if record is not None and record.measured_at <= soon}


def asked_values(session: Session, reservoir_id: str) -> dict[str, float]:
    """What was shown by what a correction asks, in the last hours and not before the pH that it belongs to."""
    read, answers = fresh_records(session, reservoir_id).get("ph"), answers_beside(session, reservoir_id)
    shown = {item: _number(answers[item]) for item in (JAR, STRIP, BUFFER_4) if item in answers}
    since = read.measured_at if read is not None else session.now()
    return {item: value for item, value in shown.items() if value is not None and answers[item].measured_at >= since}


def _read_last(session: Session, reservoir_id: str, fresh: Mapping[str, Record]) -> datetime:
    """When the last of it was read: a jar test or a strip after the readings belongs to them."""
    since = min(record.measured_at for item, record in fresh.items() if item in ("ph", "ec"))
    answers = answers_beside(session, reservoir_id)
    beside = [answers[item].measured_at for item in (JAR, STRIP) if item in answers]
    return max([*(record.measured_at for record in fresh.values()), *(at for at in beside if at >= since)])


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
