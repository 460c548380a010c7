"""A station found by a part of its name or id."""

from __future__ import annotations

from rounds.text import clean_line
from rounds.walk.dialogue import Reply, ToStation
from rounds.walk.session import Session


def stations_like(session: Session, text: str) -> list[str]:
    """The ids of the stations that have a text in name or id, in the order of the walk; those that begin with it first.

    The empty text fits all.
    """
    part, stations = " ".join(text.casefold().split()), session.farm.stations
    found = [each for each in session.walk_order() if part in _names(stations[each].name, each)]
    return sorted(found, key=lambda each: not _begins(part, stations[each].name, each))


def find(session: Session, text: str, *, round_name: str | None = None) -> Reply:
    """What is answered to whoever looks for a station: the way there, or those that may be meant."""
    part = text.strip()
    found, stations = stations_like(session, part), session.farm.stations
    same = [each for each in found if part.casefold() in (each.casefold(), stations[each].name.casefold())]
    if part and len(same or found) == 1:
        return Reply(way=ToStation((same or found)[0], round_name=round_name))
    if not found:
        return Reply(message=f"✗ No station is called “{clean_line(part, 40)}”: / lists them.", accepted=False)
    listed = "\n".join(f"  {stations[each].name}  ({each})" for each in found)
    return Reply(paper=listed, message="Type / and a part of the name that only one of them has.")


def _names(name: str, station_id: str) -> str:
    return f"{' '.join(name.casefold().split())}\n{station_id.casefold()}"


def _begins(part: str, name: str, station_id: str) -> bool:
    return name.casefold().startswith(part) or station_id.casefold().startswith(part)
