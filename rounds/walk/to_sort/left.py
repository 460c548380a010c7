"""Still to sort: what was put off, left out or not reached, and what a helper poured beyond the limit."""

from __future__ import annotations

from collections.abc import Iterator

from rounds.checklist.still_off import matter_id
from rounds.walk.session import Session
from rounds.walk.to_sort.model import OpenMatter
from rounds.walk.to_sort.words import lost_at, name_of

PUT_OFF, LEFT_OUT, NOT_REACHED, BEYOND = "put-off", "left-out", "not-reached", "beyond"


def corrections_put_off(session: Session) -> Iterator[OpenMatter]:
    """Corrections that were put off, and after which nothing was read or done at that station."""
    for station, here in session.unsettled().undone.at.items():
        left = here.put_off
        if left is not None and station in session.farm.stations:
            reason = f": {left.why}" if left.why else ""
            yield OpenMatter(
                id=matter_id(PUT_OFF, station), code=PUT_OFF, station=station,
                what=f"Correct what was put off{reason}", since=left.at, loses="tomorrow",
                what_is_lost=lost_at(session, station, "tomorrow"), closes_by=("read again", "step poured", "reason"),
                closing="pH or EC read, something poured, or a reason", cause=f"water:{station}",
                items=("ph", "ec"), brief=f"put off{reason}", seen=(f"put off{reason}",),
                could_be="Read pH and EC: the correction is worked out anew.",
            )  # fmt: skip


def stations_left_out(session: Session) -> Iterator[OpenMatter]:
    """Stations that somebody left out of a round, and nobody has looked at since."""
    for station, here in session.unsettled().undone.at.items():
        left = here.left_out
        if left is not None and station in session.farm.stations:
            yield OpenMatter(
                id=matter_id(LEFT_OUT, station), code=LEFT_OUT, station=station,
                what=f"Walk {name_of(session, station)}: left out: {left.why or 'no reason'}", since=left.at,
                loses="days", what_is_lost=lost_at(session, station, "days"), closes_by=("walked", "reason"),
                closing="something read or looked at there, or a reason", brief="left out",
                seen=(f"left out: {left.why or 'no reason'}",),
            )  # fmt: skip


def stations_not_reached(session: Session) -> Iterator[OpenMatter]:
    """Stations that a closed round did not reach, and nobody has looked at since."""
    for station, here in session.unsettled().undone.at.items():
        if here.not_reached is not None and station in session.farm.stations:
            yield OpenMatter(
                id=matter_id(NOT_REACHED, station), code=NOT_REACHED, station=station,
                what=f"Walk {name_of(session, station)}: not reached on an earlier round", since=here.not_reached,
                loses="days", what_is_lost=lost_at(session, station, "days"), closes_by=("walked", "reason"),
                closing="something read or looked at there, or a reason", cause=NOT_REACHED, brief="not reached",
                seen=("still open when its round was closed",),
            )  # fmt: skip


def poured_beyond(session: Session) -> Iterator[OpenMatter]:
    """What a helper poured beyond what the grower allows."""
    for station, here in session.unsettled().undone.at.items():
        if here.beyond is not None and station in session.farm.stations:
            yield OpenMatter(
                id=matter_id(BEYOND, station), code=BEYOND, station=station,
                what=f"Look over what was poured, {here.beyond.why}", since=here.beyond.at, loses="tomorrow",
                what_is_lost=lost_at(session, station, "tomorrow"), closing="a reason", cause=f"beyond:{station}",
                items=("ph", "ec"), brief="poured beyond the limit", seen=(here.beyond.why,),
                could_be="Read pH and EC, look at the roots, and talk it over.",
            )  # fmt: skip
