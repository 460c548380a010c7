"""From a typed line to what it means: a verb first, else it is no doing; what is nearly one is offered."""

from __future__ import annotations

from dataclasses import replace
from difflib import get_close_matches

from rounds.checklist.check_words import NO, YES, words_for_checks
from rounds.errors import BadInput
from rounds.text import clean_line
from rounds.walk.doings.days import take_moment
from rounds.walk.doings.error_texts import in_words
from rounds.walk.doings.model import FARM, Place, Understood, Verb, Way
from rounds.walk.doings.table import BY_WORD
from rounds.walk.doings.words import Words

_NEAR = 0.74
_LEAST_LETTERS = 4
LONGEST = 200


def verb_of(place: Place, line: str) -> Verb | None:
    """The verb that a line begins with; None where it begins with none, or answers a check of that name.

    Raises
    ------
    BadInput
        For a verb that makes no sense here, and for what is nearly one.
    """
    words = line.casefold().split()
    first = words[0].strip(",.:;") if words else ""
    two = BY_WORD.get(" ".join(words[:2])) if len(words) > 1 else None
    if not first.isalpha() or (two is None and _answers_a_check(place, first, words[1:])):
        return None
    verb = two or BY_WORD.get(first)
    if verb is None:
        _offer_near(place, first)
        return None
    if not _is_here(verb, place):
        raise in_words(BadInput, "not-here", verb=verb.word, place=place.name, where=_where(verb, place))
    return verb


def way_of(place: Place, verb: Verb, line: str) -> Way:
    """What is asked and understood of a line with a verb of this place.

    Raises
    ------
    BadInput
        For a time that cannot be. The way itself raises for what else is wrong, when it is gone.
    """
    typed = clean_line(line.strip(), LONGEST)
    said = typed.split()
    behind = said[2:] if " ".join(said[:2]).casefold() in BY_WORD else said[1:]
    words = Words(typed, " ".join(behind), place.session.farm.place.gallon)
    words.take_leading(verb.particles)
    words.until = words.take_behind("until", "till")
    at = place.at if verb.ahead else take_moment(words, place.at)
    found = verb.read(replace(place, at=at), words)
    return _straight(found) if isinstance(found, Understood) else found


def _straight(understood: Understood) -> Way:
    """A way on which nothing is asked."""
    return understood
    yield


def _is_here(verb: Verb, place: Place) -> bool:
    return (FARM if place.station is None else place.station.kind) in verb.at


def _answers_a_check(place: Place, first: str, rest: list[str]) -> bool:
    """Whether the word names a check here and what follows is its answer, or the checklist alone knows it.

    A reading that this station's checklist asks for by that very name is no doing.
    """
    if any(first in (item.id, *item.names) for item in place.items if item.type == "reading"):
        return True
    if first not in words_for_checks(place.items):
        return False
    is_answer = len(rest) == 1 and rest[0].casefold() in (YES | NO) - {"0", "1"}
    return first not in BY_WORD or is_answer or place.station is None


def _offer_near(place: Place, first: str) -> None:
    """Offer the verbs that were nearly typed, where nothing else of this place has that name.

    Raises
    ------
    BadInput
        With what is near.
    """
    if len(first) < _LEAST_LETTERS or first in _named_here(place):
        return
    near = [BY_WORD[word] for word in get_close_matches(first, BY_WORD, n=5, cutoff=_NEAR)]
    if any(_is_here(verb, place) for verb in near):
        told = " or ".join(dict.fromkeys(f"`{verb.word}`" for verb in near if _is_here(verb, place)))
        raise in_words(BadInput, "near", word=clean_line(first, 40), near=told)


def _named_here(place: Place) -> set[str]:
    return {name for item in place.items for name in (item.id, *item.names)} | words_for_checks(place.items).keys()


def only_station(place: Place, line: str) -> str:
    """The one station of the farm at which a line's verb makes sense, where it makes none here; else empty."""
    verb = BY_WORD.get(line.casefold().split()[0])
    if verb is None or _is_here(verb, place):
        return ""
    there = [each.id for kind in sorted(verb.at) for each in place.session.farm.stations_of(kind)]
    return there[0] if len(there) == 1 else ""


def _where(verb: Verb, place: Place) -> str:
    """The stations at which a verb makes sense, in words."""
    stations = [each.name for kind in sorted(verb.at) for each in place.session.farm.stations_of(kind)]
    if len(stations) > 3:
        return f"{'; '.join(stations[:3])}; and {len(stations) - 3} more"
    return "; ".join(stations) or "the first screen"
