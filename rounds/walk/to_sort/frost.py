"""Still to sort: what is to be done before a night of frost, where the record says that there will be one."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from rounds.book.entries import Reading, entry_of
from rounds.checklist.still_off import matter_id
from rounds.history.record import Record
from rounds.units import show
from rounds.walk.session import Session
from rounds.walk.to_sort.model import OpenMatter
from rounds.walk.to_sort.words import lower, name_of

FROST = "frost"
AIR, LOWEST = "air", "min"
FROST_BELOW_C = 2.0
"""Where the last night was colder under cover, tonight may freeze. Common practice, no source. [°C]"""


def frost_tonight(session: Session) -> Iterator[OpenMatter]:
    """One matter with all that is not done yet, where last night was that cold or a note of today says frost."""
    found = _told(session)
    if found is None:
        return
    at, why = found
    jobs = [
        (each.station_id, due.item)
        for each in session.due("dusk")
        for due in each.items
        if due.item.frost
    ]  # fmt: skip
    if not jobs:
        return
    labels = dict.fromkeys(lower(item.label) for _, item in jobs)
    day = session.now().date()
    yield OpenMatter(
        id=matter_id(FROST, "", day.isoformat()), code=FROST, station="",
        what=f"Get ready for frost tonight ({why}): {'; '.join(labels)}", since=at, loses="tonight",
        what_is_lost="plants and pipes", closes_by=("check well", "reason"),
        closing="each of them answered at dusk, or a reason", parkable=False, brief="frost tonight",
        seen=(why, *(f"{name_of(session, station)}: {item.label}" for station, item in jobs)),
        could_be="The last hour of light is too late for what is still to be looked for.",
        reasons=("all done", "no frost is forecast", "another reason"),
    )  # fmt: skip


def _told(session: Session) -> tuple[datetime, str] | None:
    """When and why it was said today that there may be frost; None where it was not."""
    began = session.day_began()
    latest = session.history.latest_by_item()
    for station in session.farm.stations_of(AIR):
        last = latest.get((station.id, LOWEST))
        low = _low(last) if last is not None and last.measured_at >= began else None
        if last is not None and low is not None and low < FROST_BELOW_C:
            return last.measured_at, f"{show(low, '°C', 1)} last night"
    for noted in session.unsettled().notes.of.values():
        said = noted.text.casefold()
        if noted.at >= began and FROST in said and "tonight" in said:
            return noted.at, "as noted today"
    return None


def _low(record: Record) -> float | None:
    entry = entry_of(record)
    return entry.number if isinstance(entry, Reading) else None
