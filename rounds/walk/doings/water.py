"""Water that goes into a reservoir or out of it: topped up, drained off."""

from __future__ import annotations

from collections.abc import Generator, Sequence
from datetime import timedelta
from typing import Any

from rounds.book.entries import Dose
from rounds.book.level import inside_after
from rounds.errors import BadInput, RoundsError
from rounds.farm.stations import Reservoir
from rounds.farm.volumes import dip_to_litres
from rounds.history.record import Draft
from rounds.text import clean_line
from rounds.walk.doings.asking import amount, which
from rounds.walk.doings.error_texts import in_words
from rounds.walk.doings.model import Ask, Place, Understood, Verb, Way
from rounds.walk.doings.words import LITRES, Words, named_by
from rounds.walk.session import Session

RESERVOIRS = frozenset({"reservoir"})
_WATERS = frozenset({"rain", "rainwater", "well", "tap", "mains", "spring", "river", "pond", "blend", "feed", "soft"})
"""What is said of a water: where none at hand has that name it is no note, but another water."""


def dose(
    place: Place, words: Words, action: str, product: str, value: float, unit: str, marks: Sequence[str] = ()
) -> Draft:
    """What went into a reservoir or out of it unasked, as the ledger knows it."""
    touches = ["level"] if action == "drain_off" else ["level", "composition", "stock"]
    data = {"action": action, "correction": None, "advised": None, "own": True, "touches": touches}
    return place.draft(
        Dose.kind, product, value, unit=unit, typed=words.typed, note=words.rest() or None, data=data,
        marks=tuple(marks),
    )  # fmt: skip


def litres_now(session: Session, reservoir: Reservoir) -> float | None:
    """What stands in a reservoir, by the last dip and what was poured and drained since; None without a dip. [L]"""
    soon = session.now() + timedelta(seconds=1)
    dip = session.history.latest(reservoir.id, "dip", kind="reading", before=soon)
    if dip is None or not isinstance(dip.value, int | float):
        return None
    try:
        litres = dip_to_litres(reservoir, float(dip.value))[0]
    except RoundsError:
        return None
    since = session.history.records(station=reservoir.id, kind="dose", since=dip.measured_at)
    outside_l = session.farm.outside_volume_l(reservoir)
    for each in (Dose(record) for record in since if dip.measured_at < record.measured_at <= soon):
        litres = inside_after(litres, each, outside_l)
    return litres


def water_of(place: Place, words: Words, example: str) -> Generator[Ask, Any, str]:
    """Which water: named on the line, the only one at hand, else asked."""
    reservoir = place.station
    assert isinstance(reservoir, Reservoir)
    waters = place.session.farm.waters
    names = {each: (waters[each].name, each) for each in reservoir.waters if each in waters}
    for index, token in enumerate(words.left):
        found = named_by(names, token.casefold())
        if len(found) == 1 and token.casefold() != "water":
            words.left.pop(index)
            words.take_word("water")
            return found[0]
    if words.left[:1] == ["water"]:
        words.left.pop(0)
    elsewhere = {key: (water.name, key) for key, water in waters.items()}
    left = [token.casefold() for token in words.left]
    other = next((each for each in left if each in _WATERS or named_by(elsewhere, each)), "")
    if other:
        known = ", ".join(each[0] for each in names.values())
        raise in_words(BadInput, "not-a-water", word=clean_line(other, 40), place=place.name, known=known)
    return (yield from which(names, "water", "Which water?", example))


def read_topped(place: Place, words: Words) -> Way:
    """Water topped up; more than the reservoir holds is refused."""
    reservoir = place.station
    assert isinstance(reservoir, Reservoir)
    litres = yield from _litres(place, reservoir, words, "topped 20")
    water = yield from water_of(place, words, f"topped {litres:g} {reservoir.waters[0]}")
    return Understood(
        drafts=(dose(place, words, "top_up", water, litres, "L"),), follows=_stands(place, reservoir, litres)
    )


def read_drained(place: Place, words: Words) -> Way:
    """Feed drained off; more than stands there is refused."""
    reservoir = place.station
    assert isinstance(reservoir, Reservoir)
    there = litres_now(place.session, reservoir)
    litres = yield from _litres(place, reservoir, words, "drained 40")
    if there is not None and litres > 1.2 * there + 5.0:
        raise in_words(BadInput, "not-there", litres=litres, there=there, place=place.name)
    return Understood(
        drafts=(dose(place, words, "drain_off", "", litres, "L"),), follows=_stands(place, reservoir, -litres)
    )


def _litres(place: Place, reservoir: Reservoir, words: Words, example: str) -> Generator[Ask, Any, float]:
    """How many litres, no more than the reservoir holds."""
    gallon, most = place.session.farm.place.gallon, reservoir.full_volume_l
    litres = yield from amount(words, LITRES, "L", "How many litres?", example, most=most, gallon=gallon)
    words.refuse_numbers(f"{litres:g}", example)
    return litres


def _stands(place: Place, reservoir: Reservoir, more_l: float) -> str:
    """What stands in it then; that it is more than it holds, where it is."""
    there = litres_now(place.session, reservoir)
    if there is None:
        return ""
    then = max(0.0, there + more_l)
    told = f"{then:.0f} L in it then"
    return told if then <= reservoir.full_volume_l else f"{told}, more than the {reservoir.full_volume_l:g} it holds"


WATER = (
    Verb(word="topped", particles=("up", "with"), read=read_topped, at=RESERVOIRS, example="topped 20",
         does="water added, in litres", in_help=True),
    Verb(word="drained", also=("dumped", "bailed"), particles=("off", "out"), read=read_drained, at=RESERVOIRS,
         example="drained 40", does="feed taken out, in litres", in_help=True),
)  # fmt: skip
