"""From a place of the round to the page of a measurement: `measure pump`, `measure titration well`."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rounds.book.measurements import BUCKET, TITRATION
from rounds.errors import RoundsError
from rounds.farm.farm import Farm
from rounds.farm.shelf import Acid, Concentrate, Product
from rounds.farm.stations import Reservoir, Tank
from rounds.walk.dialogue import Reply, ToMeasure, ToStation, ToWalk
from rounds.walk.session import Session

if TYPE_CHECKING:
    from rounds.walk.measuring.at_measurement import AtMeasurement

MEASURE = "measure"


def is_measure(line: str) -> bool:
    """Whether a line asks for a measurement."""
    return line.casefold().split()[:1] == [MEASURE]


def led_to(session: Session, line: str, station_id: str = "") -> ToMeasure | str:
    """Where such a line leads to; with no more than `measure`, what there is to measure, in a sentence.

    Parameters
    ----------
    station_id : str
        Where it was typed: it is measured there, where that is possible.

    Raises
    ------
    NotFound, BadInput
        Where there is no such measurement, or it does not say of what.
    """
    from rounds.walk.measuring.kinds import KINDS, kind_named, subject_of

    _, *words = line.split(maxsplit=2)
    if not words:
        there = [what for what in KINDS if _here(session.farm, what, station_id)] or list(KINDS)
        told = [f"{what} ({_known(session, what, station_id)})" for what in there]
        return f"Type `{MEASURE}` and one of: {', '.join(told)}."
    kind = kind_named(words[0].casefold())
    named = words[1] if len(words) > 1 else _here(session.farm, kind.what, station_id)
    return ToMeasure(kind.what, subject_of(session.farm, kind, named).id, station_id)


def reply_to(session: Session, line: str, station_id: str = "") -> Reply:
    """What is answered to such a line: the way to the page, or a sentence."""
    try:
        found = led_to(session, line, station_id)
    except RoundsError as error:
        return Reply(message=f"✗ {error}", accepted=False)
    return Reply(message=found) if isinstance(found, str) else Reply(way=found)


def _known(session: Session, what: str, station_id: str) -> str:
    """What is known of it here: when it was measured, or that it is a guess; else how it is measured."""
    from rounds.walk.measuring.kinds import KINDS, filed_text

    kind, subject = KINDS[what], _here(session.farm, what, station_id)
    if not kind.is_number or not subject:
        return kind.does
    return session.farm.source_of(subject, what, filed_text(session, kind, subject) or "not known")


def _here(farm: Farm, what: str, station_id: str) -> str:
    """Of what it is measured at a station: of itself, of its water, of its feed; empty where that is not clear."""
    from rounds.walk.measuring.kinds import KINDS

    there, station = [each.id for each in KINDS[what].of(farm)], farm.stations.get(station_id)
    named = [station_id]
    if what == TITRATION:
        named = list(station.waters) if isinstance(station, Reservoir) else []
        named += [station.water] if isinstance(station, Tank) else []
    elif what == BUCKET:
        named = [station.feed] if isinstance(station, Reservoir) else []
    found = [each for each in dict.fromkeys(named) if each in there]
    return found[0] if len(found) == 1 else ""


def measured_with(farm: Farm, product: Product) -> ToMeasure | str:
    """Where a product of the shelf leads: a part of a feed to the bucket test, an acid to the titration of a water.

    Returns
    -------
    ToMeasure or str
        A sentence where it leads nowhere, or to one of several.
    """
    if isinstance(product, Concentrate):
        feeds = [feed.id for feed in farm.feeds.values() if product.id in feed.products]
        return ToMeasure(BUCKET, feeds[0]) if feeds else f"{product.name} is part of no nutrient feed in feeds.toml."
    if isinstance(product, Acid):
        waters = [water.id for water in farm.waters.values() if not water.blend]
        if len(waters) == 1:
            return ToMeasure(TITRATION, waters[0])
        return f"At a station type `{MEASURE} {TITRATION}` and one of: {', '.join(waters) or 'no water is entered'}."
    return "Parts of a nutrient feed and acids are what is measured with."


def at_measurement(session: Session, to: ToMeasure, round_id: str | None) -> AtMeasurement:
    """Begin the dialogue of a measurement, or take it up where it stood. Raises as `AtMeasurement`."""
    from rounds.walk.measuring.at_measurement import AtMeasurement
    from rounds.walk.measuring.kinds import kind_named, subject_of

    kind = kind_named(to.what)
    back = ToStation(to.station_id) if to.station_id else ToWalk()
    return AtMeasurement(session, kind, subject_of(session.farm, kind, to.subject), round_id, back)
