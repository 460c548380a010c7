"""Two verbs for the line: `fixed leak glued` closes what is still to sort, `later leak thu` leaves it until then."""

from __future__ import annotations

from collections.abc import Generator, Sequence
from datetime import date
from typing import Any

from rounds.errors import BadInput, NotFound
from rounds.farm.station_kinds import STATION_KINDS
from rounds.text import clean_line
from rounds.walk.doings.days import day_ahead
from rounds.walk.doings.model import FARM, Ask, Place, Understood, Verb, Way
from rounds.walk.doings.words import Words
from rounds.walk.to_sort.error_texts import in_words
from rounds.walk.to_sort.model import OpenMatter
from rounds.walk.to_sort.naming import meant
from rounds.walk.to_sort.settle import closing, parking, refuse_to_wait
from rounds.walk.to_sort.words import day_text

_MOST_DAY_WORDS = 3
_TOMORROW = "tomorrow"


def read_fixed(place: Place, words: Words) -> Way:
    """What was put right: the matter is closed with the words as its reason."""
    matters = _here(place)
    found, rest = meant(place.session, matters, words.left)
    matter = yield from _one_of(found, "fixed", words.left)
    reason = " ".join(rest) or (yield _ask_reason(matter))
    drafts = closing(place.session, matter, reason, at=place.at, round_id=place.round_id)
    return Understood(drafts=drafts)


def read_later(place: Place, words: Words) -> Way:
    """What is left until a day; what does not wait is refused before anything is asked."""
    matters, today = _here(place), place.session.now().date()
    typed = [*words.left, *(words.until or ())]
    before, day = _parted(typed, today)
    found, rest = meant(place.session, matters, before)
    matter = yield from _one_of(found, "later", before)
    refuse_to_wait(matter)
    until: date = day if day is not None else (yield _ask_day(matter, today))
    drafts = parking(
        place.session, matter, until, " ".join(rest), at=place.at, round_id=place.round_id
    )  # fmt: skip
    return Understood(drafts=drafts, follows=f"back on {day_text(until, today)}")


def _here(place: Place) -> list[OpenMatter]:
    """What is still to sort at a place; at the farm as a whole all of it. Raises `NotFound` where nothing is."""
    from rounds.walk.to_sort.listing import matters_at, open_matters

    session = place.session
    found = open_matters(session) if place.station is None else matters_at(session, place.station_id)
    if not found:
        raise in_words(NotFound, "nothing-here", place=place.name)
    return found


def _one_of(found: Sequence[OpenMatter], verb: str, words: Sequence[str]) -> Generator[Ask, Any, OpenMatter]:
    """The only one there is, else asked by its number."""
    if len(found) == 1:
        return found[0]
    told = " · ".join(f"{n} {each.what}" for n, each in enumerate(found, 1))

    def read(text: str) -> OpenMatter:
        if text.isdecimal() and text.isascii() and 1 <= int(text) <= len(found):
            return found[int(text) - 1]
        known = f"a number from 1 to {len(found)}"
        raise in_words(BadInput, "no-such", word=clean_line(text, 40), known=known)

    example = f"{verb} {_first_word(found[0])} {' '.join(words)}".rstrip()
    matter: OpenMatter = yield Ask(code="which", text=f"Which? {told}", inline=example, read=read)
    return matter


def _first_word(matter: OpenMatter) -> str:
    """A word that names it."""
    return matter.id.rpartition(":")[2] if matter.id.count(":") > 1 else matter.code


def _ask_reason(matter: OpenMatter) -> Ask:
    def read(text: str) -> str:
        if not text.strip():
            raise in_words(BadInput, "no-reason")
        return text

    return Ask(code="reason", text=f"{matter.what}: what was done?", inline="fixed leak glued", read=read)


def _ask_day(matter: OpenMatter, today: date) -> Ask:
    return Ask(
        code="day", text=f"{matter.what}: until when? Such as thu, 3 dec, 2", inline="later leak thu",
        read=lambda text: day_named(text, today),
    )  # fmt: skip


def _parted(words: Sequence[str], today: date) -> tuple[list[str], date | None]:
    """The words before a day at the end of a line, and the day; None where there is none."""
    for many in range(min(_MOST_DAY_WORDS, len(words)), 0, -1):
        try:
            return list(words[:-many]), day_named(" ".join(words[-many:]), today)
        except BadInput:
            continue
    return list(words), None


def day_named(text: str, today: date) -> date:
    """A day to come, as it is typed. Raises `BadInput` for what is none, or is over."""
    return day_ahead("1" if text.strip().casefold() == _TOMORROW else text, today)


EVERYWHERE = frozenset({*STATION_KINDS, FARM})
SETTLING = (
    Verb(word="fixed", also=("settled", "sorted"), read=read_fixed, at=EVERYWHERE, example="fixed leak glued",
         does="what was still to sort is done with, and why", in_help=True),
    Verb(word="later", ahead=True, read=read_later, at=EVERYWHERE, example="later leak thu",
         does="leave it until that day; no animal, no half pair", in_help=True),
)  # fmt: skip
