"""The events that items can be due after: change-outs, storms, refusals, and the days the farm's own files name."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime, time, tzinfo

from rounds.book.entries import Check, Dose, Event, Offer, Reading, Skip, entry_of
from rounds.checklist.answers import is_off
from rounds.checklist.load import ALIVE, Checklists
from rounds.checklist.model import Item
from rounds.farm.farm import Farm
from rounds.farm.stations import StationBase
from rounds.history.record import Record

Events = Mapping[tuple[str, str], datetime]
"""When an event last happened, by (station id, event); station "" is the whole farm."""
SKIPPED = "skipped"
"""The event that a station was left out on a round."""


def events_of(farm: Farm, checklists: Checklists, records: Iterable[Record]) -> dict[tuple[str, str], datetime]:
    """Find when each event last happened in the records given.

    A change-out is a dose whose action is `change_out`. A record of the kind `event` names its event as its item. An
    answer that is off tells of an event where its item says so, and then of one for the whole farm. A skip of a whole
    station is the event `skipped`. What a correction refuses is an event by the code of the refusal: what must be
    looked at before it is poured again falls due by it.
    """
    telling = {(kind, i.id): i for kind, c in checklists.by_kind.items() for i in c.items if i.tells}
    found: dict[tuple[str, str], datetime] = {}
    for record in records:
        for key in _events_in(record, farm, telling):
            if key not in found or record.measured_at > found[key]:
                found[key] = record.measured_at
    return found


def event_at(station: StationBase, event: str, events: Events, zone: tzinfo) -> datetime | None:
    """When an event last touched a station: its own, the whole farm's, or the day its file names."""
    times = [when for key in ((station.id, event), ("", event)) if (when := events.get(key)) is not None]
    named = station.day_of(event)
    if named is not None:
        times.append(datetime.combine(named, time(), zone))
    return max(times).astimezone(zone) if times else None


def _events_in(record: Record, farm: Farm, telling: Mapping[tuple[str, str], Item]) -> Iterator[tuple[str, str]]:
    match entry_of(record):
        case Event() as happened:
            yield happened.station, happened.item
        case Dose() as dose if dose.renews:
            yield dose.station, "change-out"
        case Skip() as skip if not skip.item:
            yield skip.station, SKIPPED
        case Offer() as offer:
            yield from ((offer.station, code) for code in offer.refusal_codes)
        case Check() | Reading() as answer:
            yield from _told_event(answer, farm, telling)


def _told_event(
    answer: Check | Reading, farm: Farm, telling: Mapping[tuple[str, str], Item]
) -> Iterator[tuple[str, str]]:
    station = farm.stations.get(answer.station)
    item = telling.get((station.kind if station else ALIVE, answer.item))
    if item is None or item.tells is None:
        return
    if is_off(item, answer.value, farm, station or StationBase(id="farm", name="The farm")):
        yield "", item.tells
