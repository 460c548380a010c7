"""What is still to sort now: asked of every source, without what is settled, joined by cause, the worst first."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from itertools import groupby

import msgspec

from rounds.text import clean_line
from rounds.walk.session import Session
from rounds.walk.to_sort import sources  # noqa: F401  # registers those of this room
from rounds.walk.to_sort.model import SOURCES, OpenMatter, Source
from rounds.walk.to_sort.words import name_of, named

FAILED = "source-failed"
JOINED = "joined"


def open_matters(session: Session) -> list[OpenMatter]:
    """What is still to sort, the worst first; what is left for later is none of it."""
    return joined(session, _each_open(session, parked=False))


def parked_matters(session: Session) -> list[OpenMatter]:
    """What is left for a later day."""
    return joined(session, _each_open(session, parked=True))


def back_on(session: Session, matter: OpenMatter) -> date:
    """The day on which something that is left for later is back: of several, the first."""
    settled, today = session.unsettled().settled, session.now().date()
    days = (settled.parked_until(id, today) for id in matter.ids)
    return min((day for day in days if day is not None), default=today)


def matters_at(session: Session, station_id: str) -> list[OpenMatter]:
    """What is still to sort at one station, without what is joined with it elsewhere."""
    return joined(session, [each for each in _each_open(session, parked=False) if each.station == station_id])


def _each_open(session: Session, *, parked: bool) -> list[OpenMatter]:
    """Every matter by itself that was not closed since it was last found so; those left for later, or the others."""
    settled, today = session.unsettled().settled, session.now().date()
    told = [each for source in SOURCES for each in _asked(source, session)]
    return [
        each
        for each in told
        if ((closed := settled.closed_at(each.id)) is None or closed < each.found)
        and (each.parkable and settled.parked_until(each.id, today) is not None) is parked
    ]


def _asked(source: Source, session: Session) -> list[OpenMatter]:
    """What a source tells; one that fails costs one line, never the rest."""
    try:
        return list(source(session))
    except Exception as error:  # noqa: BLE001  # whatever is wrong with one, the others are to be told
        name = getattr(source, "__name__", "source").replace("_", " ")
        what = clean_line(f"Run `rounds check`: the {name} can't be told: {type(error).__name__}: {error}")
        return [
            OpenMatter(id=f"{FAILED}:{name}", code=FAILED, station="", what=what, since=session.now(), loses="days")
        ]


def _in_walking_order(session: Session, group: Sequence[OpenMatter]) -> list[str]:
    """The stations of several matters as they stand in the farm's file."""
    order = list(session.farm.stations)
    ids = dict.fromkeys(each.station for each in group)
    return sorted(ids, key=lambda id: order.index(id) if id in order else -1)


def joined(session: Session, matters: Sequence[OpenMatter]) -> list[OpenMatter]:
    """Matters of one cause as one, the worst first."""
    ranked = sorted(matters, key=lambda each: each.rank)
    groups: dict[str, list[OpenMatter]] = {}
    for each in ranked:
        groups.setdefault(each.cause or each.id, []).append(each)
    return [group[0] if len(group) == 1 else _as_one(session, cause, group) for cause, group in groups.items()]


def _as_one(session: Session, cause: str, group: Sequence[OpenMatter]) -> OpenMatter:
    """Several matters of one cause, told by the worst of them."""
    worst, seen = group[0], [line for each in group for line in _seen(session, each, group)]
    is_same = len({each.items for each in group}) == 1 and len({each.loses for each in group}) == 1
    station = _in_walking_order(session, group)[0] if is_same else worst.station
    closers = dict.fromkeys(closer for each in group for closer in each.closes_by)
    return msgspec.structs.replace(
        worst, id=f"{JOINED}:{cause}", station=station, what=_told(session, group),
        since=min(each.since for each in group), last=max(each.found for each in group),
        closes_by=tuple(closers), closing=f"{worst.closing} (each of them)", of=tuple(group), seen=tuple(seen),
        parkable=all(each.parkable for each in group), leads=next((each.leads for each in group if each.leads), ""),
    )  # fmt: skip


def _told(session: Session, group: Sequence[OpenMatter]) -> str:
    """What is said of all of them: the same at several stations, or the worst with the others behind it."""
    names = {station: name_of(session, station) for station in _in_walking_order(session, group)}
    if len(names) == 1:
        return "; ".join([group[0].what, *(each.brief or each.what for each in group[1:])])
    bare = {each.what.replace(names[each.station], "").strip() for each in group}
    if len(bare) == 1:
        told = group[0].what
        if names[group[0].station] in told:
            return told.replace(names[group[0].station], named(list(names.values())))
        return f"{told} in {named(list(names.values()))}"
    others = [f"{names[station]}: {', '.join(each.brief or each.what for each in these)}"
              for station, these in groupby(group[1:], key=lambda each: each.station)]  # fmt: skip
    return "; ".join([f"{group[0].what} in {names[group[0].station]}", *others])


def _seen(session: Session, matter: OpenMatter, group: Sequence[OpenMatter]) -> list[str]:
    alone = all(each.station == matter.station for each in group)
    return [line if alone else f"{name_of(session, matter.station)}: {line}" for line in matter.seen]
