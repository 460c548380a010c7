"""What happens to the farm as a whole: a storm, an outage. What hangs on it falls due."""

from __future__ import annotations

from rounds.book.entries import Event
from rounds.errors import BadInput
from rounds.walk.doings.care import EVERYWHERE
from rounds.walk.doings.error_texts import in_words
from rounds.walk.doings.model import FARM, Place, Understood, Verb
from rounds.walk.doings.words import Words

STORM, OUTAGE = "storm", "outage"
_MINUTES = dict.fromkeys(("min", "mins", "minute", "minutes"), "min")
_HOURS = dict.fromkeys(("h", "hour", "hours"), "h")
_MOST_MIN = 14 * 24 * 60.0


def read_storm(place: Place, words: Words) -> Understood:
    """A storm: what must be looked at after one falls due at every station."""
    draft = place.draft(Event.kind, STORM, station=FARM, typed=words.typed, note=words.rest() or None)
    return Understood(drafts=(draft,), follows="what is looked at after a storm falls due")


def read_outage(place: Place, words: Words) -> Understood:
    """The power was out, for so long where it is said."""
    found = words.take_quantity(_MINUTES, _HOURS)
    words.refuse_numbers(f"{found[0]:g}" if found else "", "outage 20 min")
    minutes = None if found is None else found[0] * (60.0 if found[1] == "h" else 1.0)
    if minutes is not None and not 0.0 < minutes <= _MOST_MIN:
        raise in_words(BadInput, "amount", number=f"{minutes:g}", unit="min", most=_MOST_MIN)
    draft = place.draft(
        Event.kind, OUTAGE, minutes, station=FARM, unit="min" if minutes is not None else None, typed=words.typed,
        note=words.rest() or None,
    )  # fmt: skip
    return Understood(drafts=(draft,))


WEATHER = (
    Verb(word=STORM, read=read_storm, at=EVERYWHERE, example="storm", does="what hangs on a storm falls due"),
    Verb(word=OUTAGE, read=read_outage, at=EVERYWHERE, example="outage 20 min", does="the power was out"),
)  # fmt: skip
