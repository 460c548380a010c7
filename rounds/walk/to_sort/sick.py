"""Still to sort: a station that fell sick: looked at on every round, walked last; what shares its water is warned."""

from __future__ import annotations

from collections.abc import Iterator

from rounds.checklist.still_off import matter_id
from rounds.farm.station_base import StationBase
from rounds.farm.stations import Channel, Reservoir
from rounds.walk.session import Session
from rounds.walk.to_sort.model import OpenMatter
from rounds.walk.to_sort.words import age_text, lost_at, name_of, named

SICK = "sick"


def sick_stations(session: Session) -> Iterator[OpenMatter]:
    """Each station that somebody called sick and nobody well again."""
    for station_id, here in session.unsettled().passing.at.items():
        station = session.farm.stations.get(station_id)
        if here.sick is None or station is None or not station.sick:
            continue
        others = [name_of(session, each) for each in sharing(session, station)]
        water = f"; {named(others)} {'shares' if len(others) == 1 else 'share'} its water" if others else ""
        since = age_text(here.sick, session.now(), session.zone)
        yield OpenMatter(
            id=matter_id(SICK, station_id), code=SICK, station=station_id,
            what=f"Look at it on every round, last of all: sick{water}", since=here.sick, loses="tomorrow",
            what_is_lost=lost_at(session, station_id, "tomorrow"), closes_by=("undone", "reason"),
            closing="`well`, or a reason", cause=_cause(station), brief="sick", seen=(f"called sick {since}",),
            could_be="Rot and many leaf spots travel with water, hands and tools: wash them after it.",
            reasons=("well again", "pulled and thrown out", "another reason"),
        )  # fmt: skip


def _cause(station: StationBase) -> str:
    """What is wrong with its roots is the same thing."""
    return f"{station.reservoir}:roots" if isinstance(station, Channel) else ""


def sharing(session: Session, station: StationBase) -> list[str]:
    """The ids of the channels that share the water of a channel."""
    if not isinstance(station, Channel):
        return []
    return [each.id for each in session.farm.channels_of(station.reservoir) if each.id != station.id]


def same_water_line(session: Session, station_id: str) -> str:
    """Which sick stations share the water of this one; empty where none does."""
    station = session.farm.stations.get(station_id)
    if not isinstance(station, Channel | Reservoir):
        return ""
    here = sharing(session, station) if isinstance(station, Channel) else [
        each.id for each in session.farm.channels_of(station_id)
    ]  # fmt: skip
    ill = session.ill()
    sick = [name_of(session, each) for each in here if each in ill]
    return f"! {named(sick)} {'is' if len(sick) == 1 else 'are'} sick: same water" if sick else ""
