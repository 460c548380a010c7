"""A dip that rose with nothing on record: what it was is asked, the pump first; the answer becomes what it says."""

from __future__ import annotations

from collections.abc import Callable, Generator
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any

from rounds.book.entries import Dose, Note
from rounds.book.level import inside_after
from rounds.errors import BadInput, RoundsError
from rounds.farm.stations import Reservoir
from rounds.farm.volumes import dip_to_litres
from rounds.history.record import DOUBTED, Record
from rounds.text import clean_line
from rounds.units import parse_quantity
from rounds.walk.doings.asking import which
from rounds.walk.doings.error_texts import in_words
from rounds.walk.doings.model import Ask, Place, Understood, Way
from rounds.walk.doings.water import dose
from rounds.walk.doings.words import Words
from rounds.walk.session import Session

KEYS = ("1", "2", "3", "4")
_TIMES_ERROR = 2.0
"""A rise of less than so many times the error of a dip is none: two dips, each with its own. [-]"""
_LONGEST = timedelta(days=7)
_CHOICES = "1 pump off · 2 float valve · 3 rain · 4 topped up · Enter none of these"
_BEFORE = timedelta(minutes=1)
"""What went in was in before the dip was read; so long before, it is written down."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rise:
    """How much more there is than everything on record says."""

    dip: Record
    cm: float
    litres: float
    since: datetime
    """When the dip before it was read."""


def unexplained(session: Session, reservoir: Reservoir, dip: Record) -> Rise | None:
    """How far a dip rose beyond what was poured since the one before; None where it did not, or nobody can say."""
    before = session.history.latest(reservoir.id, dip.item, kind="reading", before=dip.measured_at)
    if before is None or dip.measured_at - before.measured_at > _LONGEST or DOUBTED in (*before.marks, *dip.marks):
        return None
    try:
        then, now = (dip_to_litres(reservoir, float(str(each.value)))[0] for each in (before, dip))
        shown = dip_to_litres(reservoir, float(str(dip.value)) - _TIMES_ERROR * reservoir.dip_error_cm)[0]
    except (RoundsError, ValueError):
        return None
    records = session.history.records(station=reservoir.id, kind="dose", since=before.measured_at)
    since = [Dose(r) for r in records if before.measured_at < r.measured_at <= dip.measured_at]
    if any(each.renews or each.number is None for each in since):
        return None
    for each in since:
        then = inside_after(then, each, session.farm.outside_volume_l(reservoir))
    if shown <= then:
        return None
    cm = float(str(dip.value)) - float(str(before.value))
    return Rise(dip=dip, cm=cm, litres=now - then, since=before.measured_at)


def before_the_dip(place: Place, rise: Rise) -> Place:
    """When what explains it went in: before the dip was read, and after the one before it."""
    return replace(place, at=max(rise.dip.measured_at - _BEFORE, rise.since + timedelta(seconds=1)))


def read_rise(place: Place, rise: Rise) -> Way:
    """Ask what it was."""
    poured = before_the_dip(place, rise)
    more = f"rose by {rise.cm:.1f} cm, {rise.litres:.0f} L more" if rise.cm > 0.0 else f"shows {rise.litres:.0f} L more"
    key: str = yield Ask(
        code="rose", keys=KEYS, read=_key, inline="topped 20",
        text=f"The dip {more} than is on record. {_CHOICES}",
    )  # fmt: skip
    if key == "1":
        note = f"The dip of {rise.dip.value} cm was read with the pump off"
        draft = place.draft(Note.kind, "", note=note)
        return Understood(drafts=(draft,), first=rise.dip.id, sure=True, now_do=_PUMP_ON)
    litres, water, note = round(rise.litres, 1), "", "float valve" if key == "2" else ""
    if key == "4":
        litres = yield Ask(code="litres", text=f"How many litres? Enter alone is {litres:g}", inline="topped 20",
                           read=_litres(litres, place))  # fmt: skip
    water = _rain(place.session) if key == "3" else (yield from _which_water(place))
    words = Words(rise.dip.typed or "", note)
    return Understood(drafts=(dose(poured, words, "top_up", water, litres, "L"),), sure=True)


_PUMP_ON = "Start the pump; when the level stands still, read the dip again."


def _key(text: str) -> str:
    if text not in KEYS:
        raise in_words(BadInput, "answer", word=clean_line(text, 40), known="1, 2, 3 or 4")
    return text


def _litres(usual: float, place: Place) -> Callable[[str], float]:
    reservoir = place.station
    assert isinstance(reservoir, Reservoir)

    def read(text: str) -> float:
        litres = parse_quantity(text, usual="L", gallon=place.session.farm.place.gallon) if text else usual
        if not 0.0 < litres <= reservoir.full_volume_l:
            raise in_words(BadInput, "amount", number=f"{litres:g}", unit="L", most=reservoir.full_volume_l)
        return litres

    return read


def _which_water(place: Place) -> Generator[Ask, Any, str]:
    reservoir, waters = place.station, place.session.farm.waters
    assert isinstance(reservoir, Reservoir)
    names = {each: (waters[each].name, each) for each in reservoir.waters if each in waters}
    return (yield from which(names, "water", "Which water?", "topped 20 well"))


def _rain(session: Session) -> str:
    """Id of the farm's rain water; one that the farm does not know is in doubt in the book."""
    named = [id for id, water in session.farm.waters.items() if "rain" in f"{id} {water.name}".casefold()]
    return named[0] if named else "rain"
