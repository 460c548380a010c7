"""What the walk, a station and the end of a round say of slow change: few lines, and only what nobody has seen yet."""

from __future__ import annotations

from datetime import datetime

from rounds.walk.session import Session
from rounds.walk.slow_change.watch import look_over, new_since
from rounds.walk.slow_change.words import at_station, first_screen, sentence


def farm_lines(session: Session) -> list[str]:
    """At most two lines for the first screen: the most pressing, and how many more there are."""
    told = look_over(session).to_tell(session.now())
    lines = [first_screen(finding, session.zone) for finding in told[:2]]
    return lines if len(told) <= 2 else [lines[0], f"  and {len(told) - 1} more change slowly: t lists them"]


def station_lines(session: Session, station_id: str) -> list[str]:
    """At most one line for a station that is walked."""
    if station_id not in session.farm.stations:
        return []
    told = look_over(session, station_id=station_id).to_tell(session.now())
    return [at_station(finding, session.zone) for finding in told[:1]]


def new_lines(session: Session, since: datetime) -> list[str]:
    """What the readings since a moment have made a finding of: a whole sentence each."""
    return [sentence(finding, session.zone) for finding in new_since(look_over(session), since)]
