"""The table of keys: what each key means, and which of them each page has. No key has two meanings.

Everybody asks here: the bindings of the screens, the key lines, the help, the plain mode. On a page with a line the
line is always open: a lone letter and Enter is a command, anything longer is a reading or a doing; signs act at once
while the line is empty. On the other pages bare letters act. On a form every key is text but those that are no letter.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

import msgspec

Keyboard = Literal["line", "letters", "form"]


class Meaning(msgspec.Struct, frozen=True):
    """What a key does, wherever it does something."""

    command: str
    """Stable, for programs and for the bindings of users."""
    word: str
    """On the key line."""
    told: str
    """In the help, as a sentence."""
    also: tuple[str, ...] = ()
    """Other keys for the same, on every page."""


MEANINGS: Mapping[str, Meaning] = {
    "enter": Meaning("on", "on", "Where nothing is typed, go on."),
    "esc": Meaning("back", "back", "Back to where you came from."),
    "space": Meaning("read-on", "read on", "Read on: show what has no room, or what is older."),
    "+": Meaning("all-well", "all well", "All the rest is well.", ("f2",)),
    "-": Meaning("leave-out", "leave out", "Leave the rest of the station out: - and the reason.", ("f4",)),
    "*": Meaning("note", "note", "Write a note.", ("f3",)),
    "/": Meaning("find", "find", "Find a station by a part of its name, and go there."),
    "?": Meaning("help", "help", "Help with what is in focus, and the keys of this page.", ("f1",)),
    ":": Meaning("commands", "commands", "Every command of this page by its name.", ("ctrl+p",)),
    "!": Meaning("emergency", "EMERGENCY", "Whom to call, the main switch, what to do first.", ("f8",)),
    "f5": Meaning("part-back", "part before", "The part of the form, or the day, before this one."),
    "f7": Meaning("part-on", "next part", "The next part of the form, or the next day."),
    "f9": Meaning("correct", "correct", "Work out the correction now."),
    "f10": Meaning("view", "next view", "Results, drawing, lists: the next of them."),
    "f12": Meaning("take-in", "take in", "Take it into the farm, once what changes was shown."),
    "ctrl+r": Meaning("print", "print", "Print it into a file."),
    "ctrl+g": Meaning("bundle", "bundle", "The bundle for the helper's own laptop."),
    "ctrl+l": Meaning("prepare", "prepare", "Tanks, change-outs and bottles to prepare before you leave."),
    "ctrl+t": Meaning("time-away", "time away", "The time away on one page."),
    "a": Meaning("another", "another", "Go to another one: round, station, day."),
    "b": Meaning("shelf", "bottles", "The shelf: bottles, drums and bags."),
    "c": Meaning("close", "close", "Close the round."),
    "d": Meaning("daybook", "daybook", "The daybook: what was written down."),
    "e": Meaning("other-value", "other value", "Enter another value in place of this one."),
    "f": Meaning("look-for", "look for", "Look for words, a station, a person, readings, notes, doings, corrections."),
    "g": Meaning("give-up", "give up", "Give up the missing half of a pair, with a reason."),
    "h": Meaning("cured", "put right", "What changed slowly was put right: a new run begins."),
    "i": Meaning("card", "type in a card", "Type in what was filled on paper.", ("ctrl+n",)),
    "j": Meaning("to-sort", "still to sort", "What is still to sort: evidence, causes, closed with a reason."),
    "k": Meaning("keep", "keep", "Keep a reading that is hard to believe as it is."),
    "l": Meaning("lay-out", "lay out", "Lay a channel out before it is drilled."),
    "m": Meaning("measure", "measure", "Measure a number of the farm itself."),
    "n": Meaning("no", "no", "No, to a question."),
    "o": Meaning("open", "open it", "Open the station under the bar."),
    "p": Meaning(
        "put-off",
        "put off",
        "Put it off: a correction with a reason, what is still to sort to a day.",
    ),
    "q": Meaning("leave", "leave", "Leave."),
    "r": Meaning("relief", "relief", "Hand the round over to a helper, and take it back."),
    "s": Meaning("skip", "skip", "Leave a question of a correction without an answer."),
    "t": Meaning("slow", "slow change", "What changes slowly although each reading is in its band."),
    "u": Meaning("undo", "undo", "Take the last thing back; the record keeps both.", ("f6",)),
    "v": Meaning("seen", "seen", "Seen: leave it as it is."),
    "w": Meaning("working", "working", "The working of every number."),
    "x": Meaning("take-back", "take back", "Take the entry under the bar back, with a reason."),
    "y": Meaning("yes", "yes", "Yes, it was really done."),
    "left": Meaning("before", "day before", "The day before this one."),
    "right": Meaning("after", "day after", "The day after this one."),
}
"""Every key of the walk that is more than text or moving about, by how it is typed."""


class Page(msgspec.Struct, frozen=True, kw_only=True):
    """What one page does with keys."""

    keyboard: Keyboard
    """Whether a line is open there, bare letters act, or fields are filled in."""
    words: Mapping[str, str]
    """The keys of the page in the order of its key line, each with its word there; empty for the usual word."""

    def word(self, key: str) -> str:
        """What a key is called on this page."""
        return self.words[key] or MEANINGS[key].word

    @property
    def listed(self) -> tuple[str, ...]:
        """The keys that stand on its key line: all but the answers to questions, which stand in the questions."""
        return tuple(key for key in self.words if key not in ANSWERS)

    @property
    def signs(self) -> frozenset[str]:
        """What acts at once while its line is empty; `-` may begin a number or a reason, so it waits for Enter."""
        here = (key for key in (*self.words, *EVERYWHERE) if len(key) == 1 and not key.isalnum() and key != "-")
        return frozenset(here) if self.keyboard == "line" else frozenset()


ANSWERS = ("k", "n", "y")
"""Letters that answer a question."""
EVERYWHERE = ("?", ":", "!")
"""What every page has, behind its own keys: the emergency card always stands last."""

PAGES: Mapping[str, Page] = {
    "walk": Page(keyboard="letters", words={
        "enter": "walk", "/": "", "j": "to sort", "o": "", "c": "", "u": "", "d": "", "b": "", "a": "other round",
        "q": "", "t": "", "i": "", "l": "", "r": "",
    }),
    "station": Page(keyboard="line", words={
        "+": "", "-": "", "*": "", "/": "", "u": "", "f9": "", "esc": "", "enter": "take what is typed", "k": "",
        "n": "", "y": "",
    }),
    "correction": Page(keyboard="line", words={
        "enter": "done", "e": "other amount", "s": "", "p": "", "w": "", "g": "", "y": "", "u": "", "*": "", "/": "",
        "space": "", "esc": "walk on",
    }),
    "measuring": Page(keyboard="line", words={"enter": "", "space": "", "u": "", "esc": "leave, kept"}),
    "summary": Page(keyboard="letters", words={"enter": "close the round", "u": "", "esc": "back to the walk"}),
    "daybook": Page(keyboard="letters", words={
        "enter": "open", "left": "", "right": "", "a": "another day", "f": "", "e": "put right", "x": "",
        "space": "older", "u": "", "esc": "",
    }),
    "shelf": Page(keyboard="letters", words={"enter": "count it", "m": "", "u": "", "esc": ""}),
    "to_sort": Page(keyboard="letters", words={"enter": "open station", "p": "later", "u": "", "esc": ""}),
    "slow": Page(keyboard="letters", words={
        "enter": "larger", "a": "next station", "h": "", "v": "seen, leave it", "u": "", "esc": "",
    }),
    "card": Page(keyboard="form", words={"+": "checks all well", "esc": ""}),
    "markout": Page(keyboard="form", words={
        "f10": "", "f5": "fields back", "f7": "more fields", "f12": "into farm", "ctrl+r": "PDF", "esc": "",
    }),
    "relief": Page(keyboard="form", words={
        "ctrl+r": "sheet", "ctrl+g": "", "ctrl+l": "", "f12": "", "ctrl+t": "", "i": "paper in", "*": "question",
        "esc": "",
    }),
    "paper": Page(keyboard="form", words={
        "+": "rest of the day well", "f5": "day before", "f7": "next day", "esc": "",
    }),
}  # fmt: skip
"""Every page of the walk. A form takes signs as text: there only the other keys of a command act."""


def key_of(typed: str) -> str:
    """The key that a key stands for: itself, or the one that it does the same as.

    Examples
    --------
    >>> key_of("f6"), key_of("u"), key_of("f12")
    ('u', 'u', 'f12')
    """
    return _SAME.get(typed.casefold(), typed.casefold())


def told_of(page: str) -> list[tuple[str, str, str]]:
    """The keys of a page as they stand in the help: the key and its others, the word, the sentence."""
    here = PAGES[page]
    return [(shown(key, here.keyboard), here.word(key), MEANINGS[key].told) for key in here.words] + [
        (shown(key, here.keyboard), MEANINGS[key].word, MEANINGS[key].told) for key in EVERYWHERE
    ]


def shown(key: str, keyboard: Keyboard) -> str:
    """A key as it stands in the help of a page: with Enter behind a letter that is typed on a line.

    Examples
    --------
    >>> shown("u", "line"), shown("u", "letters"), shown("+", "form")
    ('u Enter, F6', 'u, F6', 'F2')
    """
    also = [name_of(each) for each in MEANINGS[key].also]
    if keyboard == "form" and len(key) == 1:
        return ", ".join(also)
    waits = keyboard == "line" and ((key.isalpha() and len(key) == 1) or key == "-")
    return ", ".join([name_of(key) + (" Enter" if waits else ""), *also])


_NAMES = {
    "enter": "Enter", "esc": "Esc", "space": "Space", "left": "←", "right": "→", "up": "↑", "down": "↓",
}  # fmt: skip
_SAME = {other: key for key, meaning in MEANINGS.items() for other in meaning.also}


def name_of(key: str) -> str:
    """A key as it stands on the keyboard."""
    if key.startswith("ctrl+"):
        return f"Ctrl+{key[-1].upper()}"
    return _NAMES.get(key, key.upper() if key.startswith("f") and key[1:].isdigit() else key)
