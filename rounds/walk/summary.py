"""The end of a round on one screen: what was done, what is off, what is carried over."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from rounds.checklist.judgement import judge_as_it_is
from rounds.checklist.load import ALIVE
from rounds.history.record import Record
from rounds.walk.round import Round
from rounds.walk.session import Session
from rounds.walk.slow_change.told import new_lines
from rounds.walk.stops import ALIVE_STATION


@dataclass(frozen=True, slots=True, kw_only=True)
class Summary:
    """What one round came to."""

    stations_done: int
    stations_open: tuple[str, ...]
    """Ids of stations where something is still due."""
    readings: int
    checks: int
    doses: tuple[str, ...]
    off: tuple[str, ...]
    """By the newest answer of each item: what was read again and is well by now is none of it."""
    skipped: tuple[str, ...]
    notes: tuple[str, ...]
    slow: tuple[str, ...] = ()
    """What the readings of this round have made a slow change of."""

    def to_data(self) -> dict[str, Any]:
        """What the record of the closed round keeps."""
        return {
            "open": list(self.stations_open),
            "done": self.stations_done,
            "readings": self.readings,
            "checks": self.checks,
            "off": list(self.off),
        }


def summarise(session: Session, walk: Round) -> Summary:
    """Look back over one round."""
    records = session.history.records(round_id=walk.id, since=walk.started_at)
    open_stations = tuple(each.station_id for each in session.due(walk.name, day=walk.day))
    newest = {(r.station, r.item): r for r in records if r.kind in ("reading", "check")}
    touched = {r.station for r in records if r.station and r.kind in ("reading", "check")}
    return Summary(
        stations_done=len(touched - set(open_stations)),
        stations_open=open_stations,
        readings=sum(r.kind == "reading" for r in records),
        checks=sum(len(r.data.get("covers", ())) or 1 for r in records if r.kind == "check"),
        doses=tuple(_dose_text(session, r) for r in records if r.kind == "dose"),
        off=tuple(text for r in newest.values() if (text := _off_text(session, r))),
        skipped=tuple(f"{_name(session, r.station)}: {r.note or ''}" for r in records if r.kind == "skip"),
        notes=tuple(f"{_name(session, r.station)}: {r.note or ''}" for r in records if r.kind == "note"),
        slow=tuple(new_lines(session, walk.started_at)),
    )


def _dose_text(session: Session, record: Record) -> str:
    product = session.farm.shelf.get(record.item) or session.farm.waters.get(record.item)
    what = product.name if product else str(record.data.get("action", record.item)).replace("_", " ")
    amount = f"{record.value:g} {record.unit or ''}" if isinstance(record.value, int | float) else ""
    return f"{_name(session, record.station)}: {what} {amount}".rstrip()


def _off_text(session: Session, record: Record) -> str:
    station = session.farm.stations.get(record.station)
    if record.kind not in ("reading", "check") or record.item == "all-well":
        return ""
    item = session.checklists.item(station.kind if station else ALIVE, record.item)
    if item is None:
        return ""
    judgement = judge_as_it_is(record.value, item, session.farm, station or ALIVE_STATION)
    label = item.label if item.type == "reading" else f"“{item.label}”"
    return f"{_name(session, record.station)}: {label} {judgement.sign} {judgement.text}" if judgement.is_off else ""


def _name(session: Session, station_id: str) -> str:
    station = session.farm.stations.get(station_id)
    return station.name if station else station_id or session.farm.name
