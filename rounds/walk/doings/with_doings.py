"""A place of the walk where a doing may be typed: a verb first, then as the place itself takes it."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import msgspec

from rounds.book.entries import Doing, entries_of, only
from rounds.errors import RoundsError
from rounds.history.record import Draft, Record
from rounds.walk.dialogue import Anew, Begin, Question, Reply, ToMeasure, WithAsides
from rounds.walk.dialogue import Way as Onwards
from rounds.walk.doings.in_hand import InHand
from rounds.walk.doings.model import Place, Way
from rounds.walk.key_table import key_of

_STAYS = (Anew, Begin, ToMeasure)
"""Where it leads without the station being left."""

EXPLAINS = "topped"
"""The verb that, typed where a dip that rose is asked about, says what it was."""


class WithDoings(WithAsides):
    """A dialogue whose line takes doings, too; one that is begun is saved or left before anything else is taken."""

    asks_of_older = True
    """Whether what was left in a passing state before is asked about on leaving; else only what was left so here."""

    def __init__(self) -> None:
        super().__init__()
        self._left_so: set[str] = set()
        self._has_asked_of_states = False
        self.in_hand: InHand | None = None
        """What is understood and not saved yet."""
        self._waits: InHand | None = None
        """What keys alone answer, while a doing that was typed meanwhile is not saved yet."""
        self._explained: Place | None = None
        """Where and when a doing was that explains it."""
        self._goes_on: Onwards | None = None
        """Where the place led when something was asked in between."""

    def place_of_doing(self) -> Place:
        """Where and when what is typed here was done."""
        raise NotImplementedError

    def save_doing(self, drafts: Sequence[Draft]) -> Sequence[Record]:
        """Write a doing down."""
        return self.place_of_doing().session.save(*drafts)

    def take_out(self, record_id: str) -> None:
        """Take back a record that a doing explains away."""
        raise NotImplementedError

    @property
    def keys_alone(self) -> tuple[str, ...]:
        """The keys that answer what is asked now, without Enter."""
        asked = self.in_hand.asked if self.in_hand is not None and self.aside is None else None
        return asked.keys if asked is not None else ()

    def after_doing(self, records: Sequence[Record], said: Reply) -> Reply:
        """What is replied once it is saved."""
        return said

    def is_answer(self, text: str) -> bool:
        """Whether a line is an answer to what the place itself asks, though it begins with a verb."""
        return False

    def elsewhere(self, station_id: str, line: str) -> Onwards | None:
        """Where a line leads whose verb makes sense at one station alone; None where it is only told so."""
        return None

    @property
    def unsaved_doing(self) -> str:
        """What was understood, or begun, and is not saved yet; empty where there is nothing."""
        if self.in_hand is None or self.keys_alone:
            return ""
        return f"“{self.in_hand.sentence or self.in_hand.typed}” is not saved yet"

    @property
    def question(self) -> Question:
        """What is asked now: of a doing first."""
        return self.in_hand.question if self.in_hand is not None and self.aside is None else super().question

    def answer(self, text: str) -> Reply:
        """Take a typed line; the empty one is Enter alone."""
        if self.aside is not None:
            return super().answer(text)
        if self.in_hand is not None and text.casefold() == "u":
            return self.press("u")
        if self.keys_alone and not text:
            return self._told(self._left_open())
        if self.in_hand is not None and (not self.keys_alone or text in self.keys_alone):
            return self._told(self._further(self.in_hand.answer(text)))
        if self.in_hand is not None:
            return self._meanwhile(text, self.in_hand)
        begun = self._begun(text)
        return super().answer(text) if begun is None else self._told(begun)

    def press(self, key: str) -> Reply:
        """Take a key; Esc, and what takes back, leave a doing that is not saved."""
        if self.in_hand is None or self.aside is not None:
            return super().press(key)
        if self.keys_alone and key != "esc":
            return self._beside(lambda: super(WithDoings, self).press(key))
        if key_of(key) in ("esc", "u"):
            return self._told(self._further(self.in_hand.leave()))
        return Reply(message=f"✗ {self.unsaved_doing}.\n{self.in_hand.text}", accepted=False)

    def hold(self, way: Way, said: Reply, then: Place) -> Reply:
        """Ask something of what was just saved, before it goes on to where the place has led.

        Parameters
        ----------
        then : Place
            When it was, if a doing that is typed in answer explains it.
        """
        self.in_hand = InHand(self.place_of_doing(), way, self.save_doing)
        self._goes_on, self._explained = said.way, then
        return self._asking(said, self.in_hand)

    def _told(self, reply: Reply) -> Reply:
        return super()._told(self._before_leaving(reply))

    def _before_leaving(self, reply: Reply) -> Reply:
        """Ask once of what is still in a passing state here, before it leads away."""
        leads_away = reply.way is not None and not isinstance(reply.way, _STAYS)
        if not leads_away or self.in_hand is not None or self._has_asked_of_states:
            return reply
        place = self.place_of_doing()
        if not any(mark == f"kind:{Doing.kind}" for _, mark in place.session.history.latest_marks()):
            return reply
        from rounds.walk.to_sort.leaving import ask_before_leaving, so_at  # not needed before a doing was written

        found = so_at(place.session, place.station_id)
        still = [each for each in found if self.asks_of_older or each.state.verb in self._left_so]
        if not still:
            return reply
        self._has_asked_of_states = True
        return self.hold(ask_before_leaving(place, still), reply, place)

    def _meanwhile(self, text: str, asked: InHand) -> Reply:
        """Something else is typed where keys alone answer: a doing, or what the place takes; it stays asked."""
        begun = self._begun(text)
        if begun is None:
            return self._beside(lambda: super(WithDoings, self).answer(text))
        self._waits = asked if self.in_hand is not asked else None
        return self._told(begun)

    def _left_open(self) -> Reply:
        """Enter alone at what keys alone answer: none of these, and on, as Enter always leads."""
        self.in_hand, goes_on = None, self._goes_on
        self._goes_on = None
        return Reply(way=goes_on) if goes_on is not None else self.take("")

    def _asked_again(self, doing: InHand, said: Reply, asked: InHand) -> Reply:
        """What was asked before a doing came in between."""
        self.in_hand, self._waits = asked, None
        return self._asking(self.after_doing(doing.saved, said) if doing.saved else said, asked)

    def _beside(self, take: Callable[[], Reply]) -> Reply:
        """Take something else while keys alone answer what is asked: that stays asked, and nothing leads on before."""
        asked = self.in_hand
        said = take()
        if self.in_hand is not asked or asked is None:
            return said
        self._goes_on = said.way or self._goes_on
        return self._told(self._asking(said, asked))

    def _asking(self, said: Reply, asked: InHand) -> Reply:
        """A reply with what is asked behind it, in place of what the place itself would ask: one question at a time."""
        own = self.own_question().text
        before = said.message.removesuffix(own).rstrip() if own else said.message
        message = "\n".join(part for part in (before, asked.text) if part)
        return msgspec.structs.replace(said, message=message, way=None)

    def _begun(self, text: str) -> Reply | None:
        """What is replied to a line with a verb first; None where it has none."""
        if not text or self.is_answer(text):
            return None
        from rounds.walk.doings.understanding import only_station, verb_of, way_of  # not before the first line

        place = self.place_of_doing()
        try:
            verb = verb_of(place, text)
            if verb is None:
                return None
            if verb.word == EXPLAINS and self._explained is not None and self.keys_alone:
                place = self._explained
            self.in_hand = InHand(place, way_of(place, verb, text), self.save_doing, text)
        except RoundsError as error:
            there = only_station(place, text)
            way = self.elsewhere(there, text) if there else None
            return Reply(way=way) if way is not None else Reply(message=f"✗ {error}", accepted=False)
        return self._further(self.in_hand.begin())

    def _further(self, said: Reply) -> Reply:
        """Go on with the doing, or with the place once it is over."""
        doing = self.in_hand
        if doing is None or not doing.is_over:
            return said
        if self._waits is not None and not (doing.saved and doing.place is self._explained):
            return self._asked_again(doing, said, self._waits)
        self.in_hand, self._waits, goes_on = None, None, self._goes_on
        self._goes_on = None
        if doing.saved and doing.understood is not None and doing.understood.first:
            self.take_out(doing.understood.first)
            goes_on = None
        self._left_so |= {each.verb for each in only(Doing, entries_of(doing.saved))}
        if doing.saved:
            said = self.after_doing(doing.saved, said)
        return said if said.way is not None or goes_on is None else msgspec.structs.replace(said, way=goes_on)
