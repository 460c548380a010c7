"""What a measurement asks, step by step, and what it comes to: the way of each is a generator of questions."""

from __future__ import annotations

from collections.abc import Callable, Generator, Mapping
from typing import Any

import msgspec

from rounds.errors import BadInput
from rounds.walk.dialogue import Way as Onwards
from rounds.walk.measuring.error_texts import in_words


class Ask(msgspec.Struct, frozen=True, kw_only=True):
    """One question of a measurement."""

    code: str
    text: str
    """The question itself, short: the one strong line."""
    read: Callable[[str], Any]
    """Reads the line, and raises a `RoundsError` where it cannot be: then it is asked again."""
    told: Callable[[Any], str] = str
    """How the answer is shown among what was entered."""
    lines: tuple[str, ...] = ()
    """How it is done."""
    cautions: tuple[str, ...] = ()
    hint: str = ""
    """What is typed, with an example."""
    settle: bool = False
    """Whether Enter alone says that something was done: one typed before this could be read does not count."""
    wait_s: float = 0.0
    """So long after the answer before this one it may be answered. [s]"""


class Outcome(msgspec.Struct, frozen=True, kw_only=True):
    """What a measurement came to."""

    value: float
    sd: float
    unit: str
    how: str
    """By what, to stand behind "measured 12 October": `by jug and clock`."""
    lines: tuple[str, ...]
    """What it came to, in words."""
    meter: str | None = None
    """Id of the meter that it hangs on."""
    beside: Mapping[str, Any] = {}
    """What is kept beside it: `rows`, `parts`."""
    keep: Callable[[str | None], Onwards] | None = None
    """Writes it down where it is no number of the farm itself, for a round, and says where it leads."""


Way = Generator[Ask, Any, Outcome]
"""Is sent each answer as its question has read it; returns what they come to."""


def done(text: str) -> bool:
    """Whether a line says that something was done: Enter alone does, or `y`."""
    if text.casefold() not in ("", "y", "yes", "ok"):
        raise in_words(BadInput, "measure-enter")
    return True
