"""What happens to a flock: deaths, the fox, culls, chicks, birds bought and sold."""

from __future__ import annotations

from functools import partial

from rounds.book.flock import MOVES
from rounds.errors import BadInput
from rounds.farm.stations import Flock
from rounds.walk.doings.asking import count
from rounds.walk.doings.error_texts import in_words
from rounds.walk.doings.model import Place, Understood, Verb, Way, doing
from rounds.walk.doings.words import Words

HENS = frozenset({"hens"})


def read_birds(verb: str, question: str, place: Place, words: Words) -> Way:
    """Birds that died, came or went; never more than there are."""
    flock = place.station
    assert isinstance(flock, Flock)
    number = yield from count(words, "birds", question, f"{verb} 1")
    comes = MOVES[verb] > 0
    if not comes and number > flock.birds:
        raise in_words(BadInput, "more-than-there", number=number, there=flock.birds, what="birds")
    filed = place.session.filed.station(flock.id)
    draft = doing(
        place, words, verb, number, touches=("flock",), filed=filed.birds if isinstance(filed, Flock) else None
    )
    return Understood(drafts=(draft,), follows=f"flock {flock.birds + MOVES[verb] * number} now")


ANIMALS = (
    Verb(word="dead", also=("died",), read=partial(read_birds, "dead", "How many died?"), at=HENS, example="dead 1",
         does="birds found dead", in_help=True),
    Verb(word="fox", read=partial(read_birds, "fox", "How many are gone?"), at=HENS, example="fox 2",
         does="birds that a fox took"),
    Verb(word="culled", also=("slaughtered",), read=partial(read_birds, "culled", "How many were culled?"), at=HENS,
         example="culled 1", does="birds taken out on purpose"),
    Verb(word="hatched", read=partial(read_birds, "hatched", "How many hatched?"), at=HENS, example="hatched 6",
         does="chicks that count as birds"),
)  # fmt: skip
