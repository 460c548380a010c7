"""What there is to measure, and of what: one row for each."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime
from typing import Any

import msgspec

from rounds.book.composition import alkalinity_of
from rounds.book.measurements import BUCKET, JAR_TEST, PUMP, PUMP_OFF, TITRATION, TUB
from rounds.errors import BadInput, NotFound
from rounds.farm.farm import Farm
from rounds.farm.stations import Reservoir
from rounds.farm.vessel import Vessel
from rounds.walk.measuring.asking import Way
from rounds.walk.measuring.bucket import bucket
from rounds.walk.measuring.error_texts import in_words
from rounds.walk.measuring.jar import asked_at, jar
from rounds.walk.measuring.pump import pump, pump_off
from rounds.walk.measuring.titration import titration
from rounds.walk.measuring.tub import for_the_file, tub, vessel_of
from rounds.walk.session import Session


class Subject(msgspec.Struct, frozen=True):
    """What something is measured of: a reservoir, a tub, a water, a feed."""

    id: str
    name: str


class Kind(msgspec.Struct, frozen=True, kw_only=True):
    """One thing that there is to measure."""

    what: str
    name: str
    """As it stands in a title: `alkalinity`."""
    does: str
    """How it is measured, in a few words."""
    of: Callable[[Farm], tuple[Subject, ...]]
    """Of what it can be measured."""
    nothing: str
    """What to enter where there is nothing of that."""
    way: Callable[[Session, str], Way]
    filed: Callable[[Farm, str], str]
    """What the farm's files say of it, with its unit; empty where they do not."""
    filed_is: str = "a guess in farm.toml"
    """What that is."""
    is_number: bool = True
    """Whether it comes to a number of the farm itself; else it belongs to what it leads to."""
    since: Callable[[Session, str], datetime] | None = None
    """From when on its answers count, where they belong to something that changes; else they are kept for ever."""
    into_file: Callable[[Farm, str], Mapping[str, Any]] | None = None
    """The keys of its station in farm.toml that it is to be written into, where the grower wants that."""


def _waters(farm: Farm) -> tuple[Subject, ...]:
    return tuple(Subject(water.id, water.name) for water in farm.waters.values() if not water.blend)


def _feeds(farm: Farm) -> tuple[Subject, ...]:
    return tuple(Subject(feed.id, feed.name) for feed in farm.feeds.values())


def _tubs(farm: Farm) -> tuple[Subject, ...]:
    return tuple(Subject(each.id, each.name) for each in farm.stations.values() if isinstance(each, Vessel))


def _reservoirs(farm: Farm) -> tuple[Subject, ...]:
    return tuple(Subject(each.id, each.name) for each in farm.stations.values() if isinstance(each, Reservoir))


def _filed_outside(farm: Farm, reservoir_id: str) -> str:
    pipes, channels = farm.reservoir(reservoir_id).pipes_l, farm.channels_of(reservoir_id)
    return f"{pipes + sum(channel.holds_l for channel in channels):g} L in pipes and channels"


def _filed_tub(farm: Farm, vessel_id: str) -> str:
    vessel = vessel_of(farm, vessel_id)
    return f"{len(vessel.dip_table)} dips" if vessel.dip_table else "a form with its sizes"


KINDS: Mapping[str, Kind] = {
    kind.what: kind
    for kind in (
        Kind(
            what=PUMP, name="flow of the pump", does="the pump by jug and clock", of=_reservoirs,
            nothing="Enter a reservoir in farm.toml.", way=pump,
            filed=lambda farm, id: f"{farm.reservoir(id).pump_l_min:g} L/min",
        ),
        Kind(
            what=TUB, name="dip table", does="the tub by jug: pour, dip, and again", of=_tubs,
            nothing="Enter a reservoir or a tank in farm.toml.", way=tub, filed=_filed_tub, into_file=for_the_file,
            filed_is="by farm.toml",
        ),
        Kind(
            what=PUMP_OFF, name="water outside", does="the water that runs back with the pump off", of=_reservoirs,
            nothing="Enter a reservoir in farm.toml.", way=pump_off, filed=_filed_outside,
        ),
        Kind(
            what=TITRATION, name="alkalinity", does="a litre of water, working acid to pH 4.5", of=_waters,
            nothing="Enter a water in farm.toml.", way=titration,
            filed=lambda farm, id: f"{alkalinity_of(farm.waters[id]):.2f} meq/L",
            filed_is="by farm.toml",
        ),
        Kind(
            what=BUCKET, name="what a mL does to the EC", does="ten litres of water, each part by syringe", of=_feeds,
            nothing="Enter a nutrient feed in feeds.toml.", way=bucket, filed=lambda _farm, _id: "",
        ),
        Kind(
            what=JAR_TEST, name="jar test", does="the reservoir's own water with its dose", of=_reservoirs,
            nothing="Enter a reservoir in farm.toml.", way=jar, filed=lambda _farm, _id: "", is_number=False,
            since=asked_at,
        ),
    )
}  # fmt: skip


def kind_named(what: str) -> Kind:
    """What is measured under a name.

    Raises
    ------
    NotFound
        With what there is.
    """
    found = KINDS.get(what)
    if found is None:
        raise in_words(NotFound, "no-measurement", what=what[:40], known=", ".join(KINDS))
    return found


def subject_of(farm: Farm, kind: Kind, named: str = "") -> Subject:
    """Of what it is measured: what is named by id or name, or the only one there is.

    Raises
    ------
    NotFound
        Where nothing is of that name, or there is nothing of which this is measured.
    BadInput
        Where it has to be named.
    """
    there = kind.of(farm)
    if not there:
        raise in_words(NotFound, "measure-of-nothing", what=kind.name, hint=kind.nothing)
    found = [each for each in there if named.casefold() in (each.id.casefold(), each.name.casefold())]
    if found or (not named and len(there) == 1):
        return found[0] if found else there[0]
    known = ", ".join(each.id for each in there)
    raise in_words(BadInput if not named else NotFound, "measure-of-what", what=kind.does.capitalize(), known=known)


def filed_text(session: Session, kind: Kind, subject_id: str) -> str:
    """What the farm's files say of a number, and what that is: a guess, an analysis; empty where they do not."""
    filed = kind.filed(session.filed, subject_id)
    return f"{filed}, {kind.filed_is}" if filed else ""
