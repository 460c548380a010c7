"""A conversation without a screen: what is asked, what may be answered, and where the answer leads.

Every place of a round is such a dialogue. The app shows it with its widgets, the plain mode in lines; both hand on what
was typed, and neither decides anything.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol

import msgspec

from rounds.errors import RoundsError
from rounds.walk.key_table import EVERYWHERE, MEANINGS, PAGES, key_of


class Choice(msgspec.Struct, frozen=True):
    """Something that may be answered without a text of one's own."""

    key: str
    """As it is pressed, or typed before Enter: `+`, `esc`, `p`; `enter` is Enter alone."""
    word: str
    """What it does."""


class Question(msgspec.Struct, frozen=True, kw_only=True):
    """What is asked now."""

    code: str
    """What kind of question it is; stable, for programs and tests."""
    text: str = ""
    """In words; empty where the place itself is the question."""
    lines: tuple[str, ...] = ()
    """What to read before answering."""
    hint: str = ""
    """What an empty line takes."""
    choices: tuple[Choice, ...] = ()
    settle: bool = False
    """Whether an answer that was typed before this could be read does not count: it says that something was poured."""


def choices_of(page: str) -> tuple[Choice, ...]:
    """The keys of a page of the table, as choices."""
    here = PAGES[page]
    return tuple(Choice(key, here.word(key)) for key in here.listed)


EVERYWHERE_CHOICES = tuple(Choice(key, MEANINGS[key].word) for key in EVERYWHERE)
"""What a front has everywhere: help, commands, the emergency card."""


class ShownItem(msgspec.Struct, frozen=True, kw_only=True):
    """How one item stands after something was typed."""

    item_id: str
    sign: str
    text: str
    value: str = ""


class Onward(msgspec.Struct, frozen=True):
    """A station is done for now: to its correction where it was just read and is off, else to the next station."""

    after: str
    read: bool = False


class ToStation(msgspec.Struct, frozen=True):
    """To one station, with what was typed for it already."""

    station_id: str
    line: str = ""
    round_name: str | None = None
    """The round that is looked at; None stays with the one that is walked."""


class Anew(msgspec.Struct, frozen=True):
    """The correction of a reservoir is worked out anew: something that it hung on is known now."""

    station_id: str


class ToWalk(msgspec.Struct, frozen=True):
    """Back to the whole walk."""


class Begin(msgspec.Struct, frozen=True):
    """Start the round of that name, or take it up where it was."""

    round_name: str


class ToEnd(msgspec.Struct, frozen=True):
    """To the end of a round, which can be closed there."""

    round_name: str


class ToMeasure(msgspec.Struct, frozen=True):
    """To the page on which a number of the farm itself is measured."""

    what: str
    subject: str
    """Id of what it is measured of: a station, a water, a feed."""
    station_id: str = ""
    """Where it leads back to; empty for the whole walk."""


class Leave(msgspec.Struct, frozen=True):
    """Nothing more for now: whoever walks leaves."""


Way = Onward | ToStation | Anew | ToWalk | Begin | ToEnd | ToMeasure | Leave


class Reply(msgspec.Struct, frozen=True, kw_only=True):
    """What is answered to something that was typed."""

    message: str = ""
    shown: tuple[ShownItem, ...] = ()
    accepted: bool = True
    """Whether the line can be cleared; what could not be read stays on it."""
    way: Way | None = None
    """Where it leads, once there is nothing more to ask here."""
    alarm: str = ""
    """What must not be missed, wherever it leads."""
    alarm_holds: Callable[[], bool] | None = None
    """Whether the alarm is still so; None where nothing tells."""
    paper: str = ""
    """Something long to read, on a page of its own."""

    @property
    def finished(self) -> bool:
        """Whether everything is answered here: time to walk on."""
        return self.way is not None


class Dialogue(Protocol):
    """One place of a round: a station, a correction, the end."""

    @property
    def opening(self) -> tuple[str, ...]:
        """What is to be read once, on arriving."""

    @property
    def question(self) -> Question:
        """What is asked now."""

    @property
    def finished(self) -> bool:
        """Whether the last answer led on."""

    @property
    def not_saved(self) -> str:
        """What was typed and is not written down yet, as a sentence without its point; empty where there is nothing."""

    def help(self) -> tuple[str, ...]:
        """What is in focus: what it is, how, why, and what to do when it is off."""

    def answer(self, text: str) -> Reply:
        """Take a typed line; the empty one is Enter alone."""

    def press(self, key: str) -> Reply:
        """Take a key of the question's choices that is not typed as text."""


ENTER_TAKES_IT = "Enter takes it, Esc leaves it."
NOTHING_TYPED = "A few words are expected; Esc leaves it."


class Aside(msgspec.Struct, frozen=True, kw_only=True):
    """A question in between, which Esc leaves: for a reason, a note, an amount."""

    code: str
    text: str
    take: Callable[[str], Reply]
    hint: str = ""
    settle: bool = False
    check: Callable[[str], object] | None = None
    """Reads the line, and raises a `RoundsError` where it cannot be: then it is asked again."""
    enter_confirms: bool = False
    """Whether Enter alone says yes to it, and nothing has to be typed."""

    @property
    def question(self) -> Question:
        """It, as a question."""
        hint = self.hint or ENTER_TAKES_IT
        return Question(
            code=self.code, text=self.text, hint=hint, choices=(Choice("esc", "leave it"),), settle=self.settle
        )


class WithAsides:
    """A dialogue that may ask something in between."""

    def __init__(self) -> None:
        self.aside: Aside | None = None
        """The question in between, while it is open."""
        self.finished = False
        """Whether the last answer led on."""

    def help(self) -> tuple[str, ...]:
        """What is in focus: what it is, how, why, and what to do when it is off."""
        return ()

    @property
    def question(self) -> Question:
        """What is asked now."""
        return self.aside.question if self.aside is not None else self.own_question()

    @property
    def not_saved(self) -> str:
        """What was typed and is not written down yet."""
        return ""

    def own_question(self) -> Question:
        """What this place asks while nothing is asked in between."""
        raise NotImplementedError

    def take(self, text: str) -> Reply:
        """Take a line that answers the place's own question."""
        raise NotImplementedError

    def take_key(self, key: str) -> Reply:
        """Take a key, while nothing is asked in between."""
        return Reply(message=f"{key} does nothing here.", accepted=False)

    def answer(self, text: str) -> Reply:
        """Take a typed line; the empty one is Enter alone, a lone letter or sign of the table is its key."""
        if self.aside is not None:
            return self._told(self._answer_aside(self.aside, text))
        if text.casefold() in self.typed_keys:
            return self.press(text.casefold())
        return self._told(self.take(text))

    @property
    def typed_keys(self) -> frozenset[str]:
        """Keys that may be typed with Enter behind them instead of being pressed."""
        return frozenset()

    def press(self, key: str) -> Reply:
        """Take a key, or another that does the same; Esc leaves a question in between."""
        key = key_of(key)
        if self.aside is None:
            return self._told(self.take_key(key))
        if key != "esc":
            return Reply(message=NOTHING_TYPED, accepted=False)
        self.aside = None
        return Reply()

    def ask(self, aside: Aside) -> Reply:
        """Ask something in between."""
        self.aside = aside
        return Reply()

    def _answer_aside(self, aside: Aside, text: str) -> Reply:
        if bool(text) is aside.enter_confirms:
            why = "Enter alone says yes; Esc leaves it." if text else NOTHING_TYPED
            return Reply(message=why, accepted=False)
        try:
            if aside.check is not None:
                aside.check(text)
        except RoundsError as error:
            return Reply(message=f"✗ {error}", accepted=False)
        self.aside = None
        return aside.take(text)

    def _told(self, reply: Reply) -> Reply:
        self.finished = reply.finished
        return reply
