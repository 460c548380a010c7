"""Where a number is only guessed, and how to measure it: said beside the item that hangs on it."""

from __future__ import annotations

from collections.abc import Mapping

from rounds.book.measurements import JAR_TEST, PUMP, PUMP_OFF, TUB
from rounds.farm.vessel import Vessel
from rounds.walk.measuring.leading import MEASURE
from rounds.walk.session import Session

BESIDE: Mapping[str, tuple[str, ...]] = {"dip": (TUB, PUMP_OFF), "pump": (PUMP,)}
"""By item of a station's checklist, the numbers that it is read with."""
_NAMES = {TUB: "the litres of a dip", PUMP_OFF: "the water in channels and pipes", PUMP: "the pump's flow"}


def guess_text(session: Session, station_id: str, item_id: str) -> str:
    """What of an item is a guess, and what measures it; empty where nothing is.

    A dip table in farm.toml may have been measured before there was a record of it, so that it is called none.
    """
    if item_id == "jar":
        return f"`{MEASURE} {JAR_TEST}` guides through it."
    from rounds.walk.measuring.kinds import KINDS

    guessed = [
        what
        for what in BESIDE.get(item_id, ())
        if (station_id, what) not in session.farm.measured
        and any(each.id == station_id for each in KINDS[what].of(session.farm))
        and not (what == TUB and _has_table(session, station_id))
    ]
    return " ".join(f"{_first(_NAMES[what])} is a guess: measure it: `{MEASURE} {what}`." for what in guessed)


def _has_table(session: Session, station_id: str) -> bool:
    station = session.farm.stations.get(station_id)
    return isinstance(station, Vessel) and bool(station.dip_table)


def _first(text: str) -> str:
    return f"{text[0].upper()}{text[1:]}"
