"""What is done for plants, animals and gear: sick and well, sprayed, wormed, cleaned, racked, bottled, the hose."""

from __future__ import annotations

from collections.abc import Generator
from datetime import date
from functools import partial
from typing import Any

from rounds.book.as_done import SICK, WELL
from rounds.errors import BadInput
from rounds.farm.station_kinds import STATION_KINDS
from rounds.text import clean_line
from rounds.walk.doings.days import day_ahead
from rounds.walk.doings.error_texts import in_words
from rounds.walk.doings.model import FARM, Ask, Place, Understood, Verb, Way, doing
from rounds.walk.doings.passing import read_hose
from rounds.walk.doings.words import LITRES, PIECES, Words

GROWN = frozenset({"channel", "bed", "trees", "seedlings"})
EVERYWHERE = frozenset({*STATION_KINDS, FARM})
AT_STATIONS = EVERYWHERE - {FARM}
_NONE = ("none", "no", "0")
_MOST_L = 100_000.0


def read_health(verb: str, place: Place, words: Words) -> Understood:
    """A station that is sick, or well again: a sick one is walked last."""
    station, filed = place.station, place.session.filed.stations.get(place.station_id)
    assert station is not None
    if verb == WELL and not station.sick:
        raise in_words(BadInput, "not-sick", place=place.name)
    draft = doing(place, words, verb, filed=filed.sick if filed is not None else None)
    follows = "walked last from now on" if verb == SICK else "walked in its turn again"
    return Understood(drafts=(draft,), follows=follows)


def read_treated(verb: str, whose: str, place: Place, words: Words) -> Way:
    """A treatment, with its waiting time as label or vet says: entered, never supplied."""
    until = _until_of(words)
    if not words.rest():
        said: str = yield Ask(code="with-what", text="With what?", inline=f"{verb} soap 3 days", read=_read_what)
        words.left = said.split()
    day = yield from _waiting(place, whose, until, f"{verb} {words.rest()} 3 days")
    draft = doing(place, words, verb, until=day.isoformat() if day is not None else None)
    return Understood(drafts=(draft,))


def read_plain(verb: str, place: Place, words: Words) -> Understood:
    """Something whose words say all: what was cleaned."""
    return Understood(drafts=(doing(place, words, verb),))


def read_cask(verb: str, place: Place, words: Words) -> Understood:
    """Something racked or bottled, in litres or bottles where that is said."""
    found = words.take_quantity(LITRES, {"bottles": "bottles", "bottle": "bottles", **PIECES})
    words.refuse_numbers(f"{found[0]:g}" if found else "", f"{verb} 20 L")
    if found is not None and not 0.0 < found[0] <= _MOST_L:
        raise in_words(BadInput, "amount", number=f"{found[0]:g}", unit=found[1] or "L", most=_MOST_L)
    number, unit = found if found is not None else (None, None)
    return Understood(drafts=(doing(place, words, verb, number, unit or ("L" if number is not None else None)),))


def _until_of(words: Words) -> str:
    """What the line says of the waiting time: `until 3 dec`, `for 7 days`, `7 days`, `no waiting`; else empty."""
    behind = words.until if words.until is not None else words.take_behind("for")
    if behind is not None:
        return " ".join(behind)
    left = [token.casefold() for token in words.left]
    if left[-2:] in (["no", "waiting"], ["none", "waiting"]):
        words.left = words.left[:-2]
        return "0"
    if len(left) >= 2 and left[-1] in ("days", "day", "d") and left[-2].isdecimal():
        words.left = words.left[:-2]
        return left[-2]
    return ""


def _waiting(place: Place, whose: str, said: str, example: str) -> Generator[Ask, Any, date | None]:
    """The last day of the waiting time; None where there is none."""
    today = place.at.date()

    def read(text: str) -> date | None:
        day = today if text.casefold() in _NONE else day_ahead(text, today)
        return None if day == today else day

    if said:
        return read(said)
    question = f"Waiting time, as {whose} says? A number of days, or a date; 0 is none"
    day: date | None = yield Ask(code="waiting", text=question, inline=example, read=read)
    return day


def _read_what(text: str) -> str:
    said = clean_line(text.strip())
    if not said:
        raise in_words(BadInput, "answer", word="", known="the name on the label")
    return said


CARE = (
    Verb(word="sick", read=partial(read_health, SICK), at=AT_STATIONS, example="sick brown roots",
         does="marks a station: it is walked last", in_help=True),
    Verb(word="well", read=partial(read_health, WELL), at=AT_STATIONS, particles=("again",), example="well",
         does="a sick station is well again"),
    Verb(word="sprayed", read=partial(read_treated, "sprayed", "the label"), at=GROWN,
         particles=("with",), example="sprayed soap 3 days", does="asks the waiting time of the label", in_help=True),
    Verb(word="wormed", also=("treated",), read=partial(read_treated, "wormed", "label or vet"), at=frozenset({"hens"}),
         particles=("with",), example="wormed until 3 dec", does="asks the waiting time of label or vet"),
    Verb(word="hose", read=read_hose, at=EVERYWHERE, example="hose 12",
         does="says when it is full, in L/min; then hose off 25"),
    Verb(word="cleaned", also=("scrubbed",), read=partial(read_plain, "cleaned"), at=EVERYWHERE, particles=("the",),
         example="cleaned strainer", does="what was cleaned"),
    Verb(word="racked", particles=("off",), read=partial(read_cask, "racked"), at=frozenset({"ferment"}),
         example="racked 20 L", does="drawn off its lees"),
    Verb(word="bottled", read=partial(read_cask, "bottled"), at=frozenset({"ferment"}), example="bottled 24 bottles",
         does="filled into bottles"),
)  # fmt: skip
