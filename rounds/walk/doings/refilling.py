"""A change-out: led step by step, or written down as it was done already."""

from __future__ import annotations

from collections.abc import Generator
from functools import partial
from typing import Any

from rounds.errors import BadInput, Refused
from rounds.farm.shelf import Concentrate
from rounds.farm.stations import Reservoir
from rounds.history.record import Draft
from rounds.text import clean_line
from rounds.units import parse_quantity
from rounds.walk.dialogue import Onward
from rounds.walk.doings.asking import amount
from rounds.walk.doings.error_texts import in_words
from rounds.walk.doings.model import Ask, Place, Understood, Verb, Way
from rounds.walk.doings.pouring import Liquid, action_of, far_beyond, liquid_of
from rounds.walk.doings.water import RESERVOIRS, dose, water_of
from rounds.walk.doings.words import LITRES, MILLILITRES, Words
from rounds.walk.error_texts import in_words as of_walk
from rounds.walk.helper import beyond_limit
from rounds.walk.offering import offer
from rounds.walk.permission import BEYOND

STEPS = "steps"
_NOTHING = ("0", "-", "none", "no", "nothing")
_MOST_ML = 20_000.0


def read_refilled(place: Place, words: Words) -> Way:
    """A change-out: `steps` leads through one; a number of litres says that it is done."""
    reservoir = place.station
    assert isinstance(reservoir, Reservoir)
    session = place.session
    most = reservoir.full_volume_l + session.farm.outside_volume_l(reservoir)
    if words.take_word(STEPS, "guide", "lead"):
        return _led(place, reservoir)
    parts = session.farm.feeds[reservoir.feed].parts
    poured = {part.product: _take_behind(words, part.letter, part.product) for part in parts}
    trim, trimmed_with = _take_trim(words)
    if not words.numbers:
        said: str = yield Ask(
            code="refilled", text="Done already? The litres filled in, channels and pipes too. `steps` leads through",
            inline="refilled 170 well a 850 b 850 acid 20", read=partial(_litres_or_steps, most),
        )  # fmt: skip
        if said == STEPS:
            return _led(place, reservoir)
        words.left.append(said)
    gallon = session.farm.place.gallon
    litres = yield from amount(words, LITRES, "L", "How many litres?", "refilled 170", most=most, gallon=gallon)
    words.refuse_numbers(f"{litres:g}", "refilled 170 well a 850 b 850 acid 20")
    water = yield from water_of(place, words, f"refilled {litres:g} {reservoir.waters[0]}")
    pours = yield from _parts(place, reservoir, litres, poured)
    pours += yield from _trim(place, reservoir, trim, trimmed_with)
    return _understood(place, reservoir, words, litres, water, pours)


Pours = list[tuple[Liquid, float]]


def _parts(place: Place, reservoir: Reservoir, litres: float, typed: dict[str, str]) -> Generator[Ask, Any, Pours]:
    """What was poured of each part of the feed."""
    found: Pours = []
    for part in place.session.farm.feeds[reservoir.feed].parts:
        product = place.session.farm.shelf.get(part.product)
        if not isinstance(product, Concentrate):
            continue
        letter, usual = part.letter.lower(), part.ml_per_l * litres
        ask = Ask(
            code=f"part-{letter}", text=f"How many mL of {product.name}? Full strength is {usual:.0f}; 0 none",
            inline=f"refilled {litres:g} {letter} {usual:.0f}", read=_millilitres,
        )  # fmt: skip
        ml = _millilitres(typed[part.product]) if typed[part.product] else (yield ask)
        found += [(product, ml)] if ml > 0.0 else []
    return found


def _trim(place: Place, reservoir: Reservoir, typed: str, named: str) -> Generator[Ask, Any, Pours]:
    """What acid or base went in with it."""
    inline = "refilled 170 a 850 b 850 acid 20"
    ask = Ask(code="trim", text="How many mL of acid, or of base? 0 none", inline=inline, read=_millilitres)
    ml = _millilitres(typed) if typed else (yield ask)
    if not ml > 0.0:
        return []
    product = yield from liquid_of(place, reservoir, Words("", named), inline)
    return [(product, ml)]


def _understood(
    place: Place, reservoir: Reservoir, words: Words, litres: float, water: str, pours: Pours
) -> Understood:
    session = place.session
    drafts: list[Draft] = [dose(place, words, "change_out", water, litres, "L")]
    words.left = []
    beyond = ""
    for product, ml in pours:
        limit = beyond_limit(session, product.id, ml, "mL")
        marks = (f"{BEYOND}, warned: {limit}",) if limit else ()
        drafts.append(dose(place, words, action_of(product), product.id, ml, "mL", marks))
        beyond = beyond or far_beyond(session, reservoir, product, ml, litres)
    told = ", ".join(f"{ml:g} mL of {product.name}" for product, ml in pours) or "nothing poured in"
    return Understood(drafts=tuple(drafts), follows=told, beyond=beyond, again=f"{litres:g}" if beyond else "")


def _led(place: Place, reservoir: Reservoir) -> Understood:
    """A change-out as a correction of its own, led step by step."""
    if place.session.is_helper:
        raise of_walk(Refused, "growers-change-out")

    def lead() -> Onward:
        found = offer(place.session, reservoir, place.round_id, renew=True)
        if found is None or found.next_step is None:
            raise in_words(Refused, "no-change-out", why=" ".join(found.refusals) if found is not None else place.name)
        return Onward(reservoir.id, read=True)

    return Understood(drafts=(), lead=lead, sure=True)


def _take_trim(words: Words) -> tuple[str, str]:
    """The amount of acid or base that the line names, and which of the two; empty where it names none."""
    for named in ("acid", "base"):
        typed = _take_behind(words, named, "ph-down" if named == "acid" else "ph-up")
        if typed:
            return typed, named
    return "", ""


def _take_behind(words: Words, *names: str) -> str:
    """The number behind one of some names, taken out with the name and its unit; empty where it is not there."""
    known = {name.casefold() for name in names}
    for index, token in enumerate(words.left[:-1]):
        number = words.left[index + 1]
        if token.casefold() in known and number[:1].isdigit():
            end = index + 2
            unit = words.left[end] if number[-1].isdigit() and words.left[end : end + 1] else ""
            is_unit = unit.casefold() in MILLILITRES
            del words.left[index : end + is_unit]
            return f"{number} {unit}" if is_unit else number
    return ""


def _millilitres(text: str) -> float:
    if text.casefold() in _NOTHING:
        return 0.0
    ml = parse_quantity(text, usual="mL")
    if not 0.0 <= ml <= _MOST_ML:
        raise in_words(BadInput, "amount", number=f"{ml:g}", unit="mL", most=_MOST_ML)
    return ml


def _litres_or_steps(most: float, text: str) -> str:
    if text.casefold() == STEPS:
        return STEPS
    found = Words(text, text).take_quantity(LITRES)
    if found is None:
        raise in_words(BadInput, "answer", word=clean_line(text, 40), known="the litres, or `steps`")
    if not 0.0 < found[0] <= most:
        raise in_words(BadInput, "amount", number=f"{found[0]:g}", unit="L", most=most)
    return f"{found[0]!r}"


REFILLING = (
    Verb(word="refilled", also=("renewed", "changed out"), read=read_refilled, at=RESERVOIRS,
         example="refilled", does="a change-out: led, or as it was done", in_help=True),
)  # fmt: skip
