"""Still to sort: what was off by its last own answer, and what was kept although it was hard to believe."""

from __future__ import annotations

from collections.abc import Iterator

from rounds.checklist.answers import band_of, exact_count
from rounds.checklist.model import Item
from rounds.checklist.still_off import THE_FARM, StillOff
from rounds.farm.stations import Channel, Reservoir
from rounds.units import show
from rounds.walk.session import Session
from rounds.walk.to_sort.model import Closes, OpenMatter
from rounds.walk.to_sort.words import FEED, age_text, lost_at, lower, off_text, reading_text

PROBE = ("buffer", "buffer-4")
"""Items that show whether a pH probe is right."""
_READING_REASONS = ("put right, without a reading", "the reading was wrong", "it may be so here", "another reason")
_CHECK_REASONS = ("put right", "looked, it is well", "it may be so here", "another reason")
_BIRD_REASONS = ("found, all are there", "a miscount", "another reason")
_BIRD_GONE = "If it is dead or gone, type dead 1 or fox 1 at its station: then the flock is one less."


def things_off(session: Session) -> Iterator[OpenMatter]:
    """Each thing that was off and nobody has answered as well since."""
    for off in session.still_off().values():
        yield _matter(session, off)


def _matter(session: Session, off: StillOff) -> OpenMatter:
    item, feed = off.item, _is_of_feed(session, off)
    return OpenMatter(
        id=off.id,
        code="off" if off.is_off else "doubted",
        station=off.station_id,
        what=_what(session, off),
        since=off.since,
        last=off.last,
        loses=item.loses,
        what_is_lost=lost_at(session, off.station_id, item.loses),
        closes_by=_closes_by(off, feed=feed),
        closing=_closing(off, feed=feed),
        items=(item.id,),
        cause=_cause(session, off, feed=feed),
        parkable=item.loses not in ("people", "animals"),
        brief=_brief(off),
        seen=(_seen(session, off),),
        could_be=_could_be(session, off),
        reasons=_reasons(session, off),
    )


def _is_of_feed(session: Session, off: StillOff) -> bool:
    return off.item.id in FEED and isinstance(session.farm.stations.get(off.station_id), Reservoir)


def _what(session: Session, off: StillOff) -> str:
    item, station = off.item, session.farm.stations.get(off.station_id, THE_FARM)
    if not off.station_id and item.off:
        return f"{item.off.removesuffix('.')}: {off_text(session, off)}"
    if not off.is_off:
        return f"Read {lower(item.label)} again: {_shown(off)} was hard to believe and kept"
    if item.id in PROBE:
        shown = reading_text(session, item, station, float(off.value)) if isinstance(off.value, int | float) else ""
        return f"Clean and calibrate the pH probe: {shown} in buffer; {_in_doubt(session, off)}"
    exact = exact_count(item, station)
    if exact is not None and isinstance(off.value, int | float) and off.value < exact:
        missing = exact - int(off.value)
        what = "bird" if item.loses == "animals" else "one"
        return f"Look for {missing} {what}{'' if missing == 1 else 's'} missing: {off_text(session, off)}"
    if _is_of_feed(session, off) and isinstance(off.value, int | float):
        way = "down" if _is_above(session, off) else "up"
        return f"Bring {FEED[item.id]} {way}: {reading_text(session, item, station, float(off.value))}"
    return f"Look again: {off_text(session, off)}" + (" (and hard to believe)" if off.is_doubted else "")


def _in_doubt(session: Session, off: StillOff) -> str:
    """Which readings a probe that was found off has made doubtful."""
    if off.well is None:
        return "what it read before is in doubt"
    return f"what it read since {age_text(off.well, session.now(), session.zone)} is in doubt"


def _is_above(session: Session, off: StillOff) -> bool:
    band = band_of(off.item, session.farm, session.farm.stations[off.station_id])
    return band is not None and isinstance(off.value, int | float) and off.value > band[1]


def _shown(off: StillOff) -> str:
    item, value = off.item, off.value
    return show(float(value), item.unit, item.decimals) if isinstance(value, int | float) else str(value)


def _brief(off: StillOff) -> str:
    item = off.item
    return lower(item.seen) if item.seen else f"{lower(item.label)} {_shown(off)}"


def _closes_by(off: StillOff, *, feed: bool) -> tuple[Closes, ...]:
    if not off.is_off:
        return ("read again", "reason")
    if off.item.type == "reading":
        return ("reading in band", "step poured", "reason") if feed else ("reading in band", "reason")
    by_change_out = any(rule.after == "change-out" for rule in off.item.due)
    return ("check well", "step poured", "reason") if by_change_out else ("check well", "reason")


def _closing(off: StillOff, *, feed: bool) -> str:
    if not off.is_off:
        return f"{lower(off.item.label)} read once more, or a reason"
    if off.item.type == "reading":
        return "a reading in band, " + ("its correction done, " if feed else "") + "or a reason"
    if off.item.recovers:
        return f"{off.item.recovers[0]} seen on two days, or a reason"
    return f"“{off.item.label}” answered as well by itself, or a reason"


def _cause(session: Session, off: StillOff, *, feed: bool) -> str:
    station = session.farm.stations.get(off.station_id)
    if feed:
        return f"water:{off.station_id}"
    if isinstance(station, Channel):
        return f"{station.reservoir}:{_first_of(session, off.item).id}"
    if isinstance(station, Reservoir) and off.item.id == "dip":
        return f"level:{off.station_id}"
    return f"{off.station_id}:{_first_of(session, off.item).id}"


def _first_of(session: Session, item: Item) -> Item:
    """The item that this one follows, or itself: both are about the same thing."""
    for checklist in session.checklists.by_kind.values():
        first = checklist.item(item.follows) if item.follows is not None and item in checklist.items else None
        if first is not None:
            return first
    return item


def _seen(session: Session, off: StillOff) -> str:
    now, zone = session.now(), session.zone
    since = f"{'at least ' if off.is_longer else ''}since {age_text(off.since, now, zone)}"
    last = f", last {age_text(off.last, now, zone)}" if off.last != off.since else ""
    better = (
        f"; {off.item.recovers[0]} {age_text(off.better, now, zone)}, once more on another day" if off.better else ""
    )
    return f"{off_text(session, off)} {since}{last}{better}"


def _could_be(session: Session, off: StillOff) -> str:
    likely = off.item.off or off.item.why
    return f"{likely} {_BIRD_GONE}" if _counts_birds(session, off) else likely


def _counts_birds(session: Session, off: StillOff) -> bool:
    station = session.farm.stations.get(off.station_id, THE_FARM)
    return exact_count(off.item, station) is not None and off.item.loses == "animals"


def _reasons(session: Session, off: StillOff) -> tuple[str, ...]:
    if _counts_birds(session, off):
        return _BIRD_REASONS
    return _READING_REASONS if off.item.type == "reading" else _CHECK_REASONS
