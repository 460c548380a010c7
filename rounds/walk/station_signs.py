"""What the first screen tells of today at a glance: alarms that stand, and a sign for each station."""

from __future__ import annotations

from rounds.book.entries import Skip, entry_of
from rounds.checklist.answers import is_off
from rounds.checklist.load import ALIVE
from rounds.history.record import Record
from rounds.walk.session import Session


def standing_alarms(session: Session) -> list[str]:
    """What is not alive or not running, as it was last said on this day: it comes before everything else."""
    today = session.now().date()
    newest = session.history.latest_by_item()
    found = []
    for (station, mark), record in session.history.latest_marks().items():
        item = session.checklists.item(ALIVE, record.item)
        is_today = record.measured_at.astimezone(session.zone).date() == today
        if station == "" and mark.startswith("off:") and item and is_today and newest.get(("", item.id)) == record:
            found.append(f"{item.label}: NO. {item.off}")
    return found


def signs_today(session: Session) -> dict[str, str]:
    """One sign for each station that was stopped at today: ✓ well, ! something is off, – left out."""
    midnight = session.now().replace(hour=0, minute=0, second=0, microsecond=0)
    signs: dict[str, str] = {}
    for (station_id, item_id), record in session.history.latest_by_item().items():
        if station_id not in session.farm.stations or record.measured_at < midnight:
            continue
        sign = signs.setdefault(station_id, "✓")
        if isinstance(entry_of(record), Skip) and sign == "✓":
            signs[station_id] = "–"
        elif record.item == item_id and _is_off(session, record):
            signs[station_id] = "!"
    return signs


def _is_off(session: Session, record: Record) -> bool:
    station = session.farm.stations[record.station]
    item = session.checklists.item(station.kind, record.item)
    return item is not None and is_off(item, record.value, session.farm, station)
