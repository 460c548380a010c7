"""What is still to sort, in words: names, ages, what would be lost, what was seen."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime, tzinfo

from rounds.checklist.answers import band_of, exact_count, seen_text
from rounds.checklist.judgement import judge_as_it_is
from rounds.checklist.model import Item, Loses
from rounds.checklist.still_off import THE_FARM, StillOff
from rounds.farm.stations import Channel, Flock, Reservoir, StationBase
from rounds.units import show
from rounds.walk.session import Session
from rounds.walk.wording import DAYS

SOON_TEXT: Mapping[Loses, str] = {
    "people": "somebody may be hurt", "animals": "animals may die", "30 minutes": "within 30 minutes",
    "2 hours": "within 2 hours", "tonight": "tonight", "tomorrow": "tomorrow", "days": "within days",
}  # fmt: skip
_KEPT_THERE: Mapping[str, str] = {
    "tank": "the water in store", "ferment": "what ferments", "store": "what is in store",
    "safeguards": "what it guards",
}  # fmt: skip
FEED = {"ph": "pH", "ec": "EC"}


def name_of(session: Session, station_id: str) -> str:
    """A station by its name; the farm by its own."""
    station = session.farm.stations.get(station_id)
    return station.name if station is not None else station_id or session.farm.name


def named(names: Sequence[str]) -> str:
    """Several names in a row.

    Examples
    --------
    >>> named(["Channel 1", "Channel 2", "Channel 3"])
    'Channel 1, Channel 2 and Channel 3'
    """
    return " and ".join([", ".join(names[:-1]), names[-1]]) if len(names) > 1 else "".join(names)


def lost_at(session: Session, station_id: str, loses: Loses) -> str:
    """What would be lost at a station, in words."""
    station = session.farm.stations.get(station_id)
    if loses == "people":
        return "somebody may be hurt"
    if loses == "animals" or isinstance(station, Flock):
        return "birds"
    if isinstance(station, Channel):
        return f"the {station.crop} of {station.name}"
    if isinstance(station, Reservoir):
        fed = len(session.farm.channels_of(station_id))
        return f"what its {fed} channels grow" if fed > 1 else "what its channel grows" if fed else "its feed"
    return _KEPT_THERE.get(station.kind, "what grows there") if station is not None else "the crops"


def loss_text(what_is_lost: str, loses: Loses) -> str:
    """What would be lost, and how soon, in one phrase.

    Examples
    --------
    >>> loss_text("the lettuce of Channel 3", "2 hours"), loss_text("somebody may be hurt", "people")
    ('the lettuce of Channel 3, within 2 hours', 'somebody may be hurt')
    """
    if loses == "people":
        return SOON_TEXT[loses]
    return f"{what_is_lost}, {'any time' if loses == 'animals' else SOON_TEXT[loses]}" if what_is_lost else ""


def age_text(since: datetime, now: datetime, zone: tzinfo) -> str:
    """Since when it is so, as people say it: `7:10`, `yesterday 7:10`, `Tue 7:10`, `3 Nov`."""
    local, today = since.astimezone(zone), now.astimezone(zone).date()
    days = (today - local.date()).days
    clock = f"{local.hour}:{local:%M}"
    if days <= 0:
        return f"today {clock}"
    if days == 1:
        return f"yesterday {clock}"
    return f"{DAYS[local.weekday()]} {clock}" if days < 7 else day_text(local.date(), today)


def day_text(day: date, today: date) -> str:
    """A day, with its year where that is another one."""
    return f"{day.day} {day:%b}" if day.year == today.year else f"{day.day} {day:%b %Y}"


def lower(text: str) -> str:
    """A text in the middle of a sentence: an abbreviation keeps its capitals.

    Examples
    --------
    >>> lower("Wilting seen"), lower("EC of the feed"), lower("pH")
    ('wilting seen', 'EC of the feed', 'pH')
    """
    return text if text[1:2].isupper() else text[:1].lower() + text[1:]


def off_text(session: Session, off: StillOff) -> str:
    """What was found, with its number: "wilting seen", "22 of 23 counted on the perch", "EC 3.10, 1.20 above …"."""
    item, value = off.item, off.value
    station = session.farm.stations.get(off.station_id, THE_FARM)
    if isinstance(value, bool):
        return lower(seen_text(item, value))
    if item.type == "reading" and isinstance(value, int | float):
        return f"{lower(item.label)} {reading_text(session, item, station, float(value))}"
    exact = exact_count(item, station)
    if exact is not None:
        return f"{value} of {exact} {lower(item.label)}"
    return f"{lower(item.label)}: {value}"


def reading_text(session: Session, item: Item, station: StationBase, value: float) -> str:
    """A reading with how far it is out of its band."""
    judgement = judge_as_it_is(value, item, session.farm, station)
    beside = f", {judgement.text}" if judgement.is_off and band_of(item, session.farm, station) is not None else ""
    return f"{show(value, item.unit, item.decimals)}{beside}"


def still_text(session: Session, off: StillOff) -> str:
    """What was found, and when: "Wilting seen yesterday 7:10"."""
    found = off_text(session, off) if off.is_off else f"{off_text(session, off)}, hard to believe"
    return f"{found[:1].upper()}{found[1:]}, {age_text(off.last, session.now(), session.zone)}"
