"""What happens to plants: set, pulled, lost, cut, picked; sown, pricked out and potted on the bench."""

from __future__ import annotations

from collections.abc import Generator
from functools import partial
from typing import Any

import msgspec

from rounds.book.entries import Check
from rounds.errors import BadInput
from rounds.farm.stations import Channel
from rounds.history.record import Draft
from rounds.walk.doings.asking import count, which, yes_or_no
from rounds.walk.doings.care import GROWN
from rounds.walk.doings.error_texts import in_words
from rounds.walk.doings.model import Ask, Place, Understood, Verb, Way, doing
from rounds.walk.doings.words import PIECES, WEIGHT, Words

PLANTS = frozenset({"channel", "bed", "seedlings"})
_MOST_KG = 10_000.0
_HARVEST = {"pieces": ("pieces", "pcs"), "kg": ("kg", "kilos")}
_LOSSES = "losses"
"""The item of the checklist that asks how many plants were lost."""
_THINGS = ("trays", "tray", "pots", "pot", "plugs", "cells", "rows", "row", "seeds", "seedlings", "plants", "modules")


def read_planted(place: Place, words: Words) -> Way:
    """Plants that were set; no more than there are free sites."""
    number = yield from count(words, "plants", "How many plants?", "planted 12")
    channel = place.station if isinstance(place.station, Channel) else None
    if channel is not None and channel.planted + number > channel.sites:
        raise in_words(BadInput, "no-sites", number=number, planted=channel.planted, sites=channel.sites)
    crop = words.rest()
    draft = doing(place, words, "planted", number, filed=_filed(place), crop=crop or None)
    planted = "" if channel is None else f"{channel.planted + number} of {channel.sites} sites planted"
    return Understood(drafts=(msgspec.structs.replace(draft, note=None),), follows=planted)


def read_taken_out(verb: str, question: str, place: Place, words: Words) -> Way:
    """Plants that were pulled or lost: their sites are free."""
    number = yield from _how_many(place, words, question, f"{verb} 2")
    draft = doing(place, words, verb, number, filed=_filed(place))
    beside = _losses(place, number) if verb == "lost" else ()
    return Understood(drafts=(draft, *beside), follows=_left(place, number))


def read_cut(place: Place, words: Words) -> Way:
    """Plants that were cut: where they regrow their sites stay taken, else these are free."""
    said = words.take_word("regrows", "regrow", "regrowing", "gone", "done")
    number = yield from _how_many(place, words, "How many plants?", "cut 12")
    regrows = said.startswith("regrow") if said else None
    if regrows is None:
        either = f"cut {number} regrows, or cut {number} gone"
        regrows = yield from yes_or_no("regrows", "Do they grow again? y or n", either)
    draft = doing(place, words, "cut", number, filed=_filed(place), regrows=regrows)
    return Understood(drafts=(draft,), follows="" if regrows else _left(place, number))


def read_picked(place: Place, words: Words) -> Way:
    """A harvest in pieces or kilograms; sites stay as they are."""
    found = words.take_quantity(PIECES, WEIGHT)
    words.refuse_numbers(f"{found[0]:g}" if found else "", "picked 3.2 kg")
    if found is None:
        found = yield Ask(code="amount", text="How much? Such as 14 pieces, or 3.2 kg", inline="picked 3.2 kg",
                          read=_read_harvest)  # fmt: skip
    number, unit = found
    _refuse_odd(number, unit)
    if not unit:
        unit = yield from which(_HARVEST, "unit", f"{number:g} of what?", f"picked {number:g} kg")
        _refuse_odd(number, unit)
    return Understood(drafts=(doing(place, words, "picked", number, unit),))


def read_bench(verb: str, question: str, place: Place, words: Words) -> Way:
    """What was sown, pricked out or potted on."""
    number = yield from count(words, "them", question, f"{verb} 3 trays basil")
    unit = words.take_word(*_THINGS) or None
    return Understood(drafts=(doing(place, words, verb, number, unit),))


def read_pruned(place: Place, words: Words) -> Understood:
    """Plants that were pruned, tied or thinned; how many is said, or not."""
    found = words.take_quantity(PIECES)
    words.refuse_numbers(f"{found[0]:g}" if found else "", "pruned 4")
    if found is not None and not (found[0] == int(found[0]) and 1 <= found[0] <= _MOST_KG):
        raise in_words(BadInput, "count", number=f"{found[0]:g}", what="plants")
    return Understood(drafts=(doing(place, words, "pruned", int(found[0]) if found else None),))


def _how_many(place: Place, words: Words, question: str, example: str) -> Generator[Ask, Any, int]:
    """How many of the plants that stand there; `all` is all of them."""
    channel = place.station if isinstance(place.station, Channel) else None
    if channel is not None and not channel.planted:
        raise in_words(BadInput, "none-there", what="plants", place=place.name)
    if channel is not None and words.take_word("all"):
        return channel.planted
    number = yield from count(words, "plants", question, example)
    if channel is not None and number > channel.planted:
        raise in_words(BadInput, "more-than-there", number=number, there=channel.planted, what="plants")
    return number


def _left(place: Place, gone: int) -> str:
    channel = place.station
    if not isinstance(channel, Channel):
        return ""
    return f"{channel.planted - gone} of {channel.sites} sites planted"


def _filed(place: Place) -> int | None:
    filed = place.session.filed.stations.get(place.station_id)
    return filed.planted if isinstance(filed, Channel) else None


def _losses(place: Place, number: int) -> tuple[Draft, ...]:
    """What it answers of the checklist."""
    asked = any(item.id == _LOSSES for item in place.items)
    return (place.draft(Check.kind, _LOSSES, number),) if asked else ()


def _read_harvest(text: str) -> tuple[float, str]:
    found = Words(text, text).take_quantity(PIECES, WEIGHT)
    if found is None:
        raise in_words(BadInput, "answer", word=text[:40], known="such as 14 pieces, or 3.2 kg")
    _refuse_odd(*found)
    return found


def _refuse_odd(number: float, unit: str) -> None:
    if unit == "pieces" and (number != int(number) or not number >= 1):
        raise in_words(BadInput, "count", number=f"{number:g}", what="pieces")
    if not 0.0 < number <= _MOST_KG:
        raise in_words(BadInput, "amount", number=f"{number:g}", unit=unit or "kg", most=_MOST_KG)


PLANTS_VERBS = (
    Verb(word="picked", also=("harvested",), read=read_picked, at=GROWN, example="picked 3.2 kg",
         does="a harvest, in pieces or kg; the plants stay", in_help=True),
    Verb(word="planted", also=("set",), particles=("out",), read=read_planted, at=GROWN, example="planted 12 basil",
         does="plants set; they take sites", in_help=True),
    Verb(word="pulled", also=("removed",), particles=("out", "up"),
         read=partial(read_taken_out, "pulled", "How many plants? `all` is all of them"),
         at=PLANTS, example="pulled 13", does="plants taken out; their sites are free"),
    Verb(word="lost", read=partial(read_taken_out, "lost", "How many plants?"), at=PLANTS, example="lost 2",
         does="plants that died"),
    Verb(word="cut", particles=("back", "down"), read=read_cut, at=frozenset({"channel", "bed"}),
         example="cut 12 regrows", does="a cut; asks whether they regrow"),
    Verb(word="sowed", also=("sown",), read=partial(read_bench, "sowed", "How many?"), at=PLANTS,
         example="sowed 3 trays basil", does="seed sown"),
    Verb(word="pricked", particles=("out",), read=partial(read_bench, "pricked", "How many?"), at=PLANTS,
         example="pricked out 40", does="seedlings pricked out"),
    Verb(word="potted", particles=("on", "up"), read=partial(read_bench, "potted", "How many?"), at=PLANTS,
         example="potted 24", does="seedlings potted"),
    Verb(word="pruned", read=read_pruned, at=GROWN, example="pruned", does="pruned, thinned or tied"),
)  # fmt: skip
