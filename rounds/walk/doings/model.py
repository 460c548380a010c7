"""A doing on its way into the record: where it is typed, what is still asked, what was understood."""

from __future__ import annotations

from collections.abc import Callable, Generator
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import msgspec

from rounds.book.entries import Doing
from rounds.checklist.model import Item
from rounds.farm.station_base import StationBase
from rounds.history.record import Draft
from rounds.walk.dialogue import Way as Onwards
from rounds.walk.doings.words import Words
from rounds.walk.session import Session

FARM = ""
"""The farm as a whole, where the verb of no station is typed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where and when something was done."""

    session: Session
    station: StationBase | None
    """None for the farm as a whole."""
    at: datetime
    round_id: str | None = None
    items: tuple[Item, ...] = ()
    """What may be typed there else."""

    @property
    def station_id(self) -> str:
        """As it stands in the records: empty for the farm as a whole."""
        return self.station.id if self.station is not None else FARM

    @property
    def name(self) -> str:
        """In words."""
        return self.station.name if self.station is not None else "The farm"

    def draft(self, kind: str, item: str, value: float | int | str | bool | None = None, **more: Any) -> Draft:
        """What is written down of it here and now."""
        fields: dict[str, Any] = {"station": self.station_id, "person": self.session.person_name()} | more
        return Draft(kind=kind, item=item, value=value, measured_at=self.at, round_id=self.round_id, **fields)


class Ask(msgspec.Struct, frozen=True, kw_only=True):
    """One question between a line and what is understood by it."""

    code: str
    text: str
    """The question with the answers there are."""
    read: Callable[[str], Any]
    """Reads the answer, and raises a `RoundsError` where it cannot be: then it is asked again."""
    inline: str
    """The same said behind the verb, for who types all in one line: `topped 20 well`."""
    keys: tuple[str, ...] = ()
    """The keys that answer it, each alone."""


class Understood(msgspec.Struct, frozen=True, kw_only=True):
    """What a line means, not yet written down."""

    drafts: tuple[Draft, ...]
    """Saved in one go; the first is what is told."""
    follows: str = ""
    """What is so afterwards: `flock 22 now`; empty where nothing is to be said."""
    beyond: str = ""
    """Why it is hard to believe; then it must be typed once more."""
    again: str = ""
    """What must be typed once more, then."""
    now_do: str = ""
    """What to do at once, once it is saved: after an accident."""
    lead: Callable[[], Onwards] | None = None
    """Where it leads instead of being written down; raises a `RoundsError` where that way cannot be gone."""
    sure: bool = False
    """Whether it needs no Enter: a key has answered a question that named it."""
    first: str = ""
    """Id of a record that is taken back with it: one that it explains away."""


Way = Generator[Ask, Any, Understood]
"""Is sent each answer as its question has read it; returns what was understood."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Verb:
    """One thing that may be done unasked."""

    word: str
    """In the past tense, as it stands in the record."""
    read: Callable[[Place, Words], Way | Understood]
    """From the words behind it to what is understood, or to what must be asked first."""
    at: frozenset[str]
    """The kinds of station where it makes sense; `FARM` for the farm as a whole."""
    also: tuple[str, ...] = ()
    """Other words for it."""
    particles: tuple[str, ...] = ()
    """Words that may stand right behind it and say nothing more: topped *up*."""
    example: str
    does: str
    """What it says, in a few words, for the help."""
    ahead: bool = False
    """Whether a day in its line is one to come; else it says when it was done."""
    in_help: bool = False


def doing(
    place: Place, words: Words, verb: str, value: float | int | None = None, unit: str | None = None, *,
    touches: tuple[str, ...] = (), **data: Any,
) -> Draft:  # fmt: skip
    """A doing as it is written down, with what is left of the words as its note.

    Parameters
    ----------
    touches : tuple of str
        What it changes, for older versions, that shut the doses where a record does not say.
    """
    kept = {key: value for key, value in data.items() if value is not None}
    return place.draft(
        Doing.kind, verb, value, unit=unit, note=words.rest() or None, typed=words.typed,
        data={"touches": list(touches), **kept},
    )  # fmt: skip
