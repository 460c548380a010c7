"""One of several: by its number, its id or its name."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Protocol, TypeVar

from rounds.errors import BadInput
from rounds.walk.measuring.asking import Ask
from rounds.walk.measuring.error_texts import in_words


class Named(Protocol):
    """What has an id and a name."""

    @property
    def id(self) -> str: ...
    @property
    def name(self) -> str: ...


N = TypeVar("N", bound=Named)


def which(code: str, text: str, there: Sequence[N], about: Callable[[N], str] = lambda each: each.name) -> Ask:
    """Ask which of several it is; Enter alone takes the first."""

    def read(typed: str) -> N:
        if not typed:
            return there[0]
        if typed.isascii() and typed.isdigit() and 1 <= int(typed) <= len(there):
            return there[int(typed) - 1]
        found = [each for each in there if typed.casefold() in (each.id.casefold(), each.name.casefold())]
        if not found:
            raise in_words(BadInput, "no-such-choice", text=typed[:40], most=len(there))
        return found[0]

    return Ask(
        code=code, text=text, read=read, told=lambda each: f"{code}: {each.name}",
        lines=tuple(f"{number}  {about(each)}" for number, each in enumerate(there, 1)),
        hint="Its number; Enter alone takes 1",
    )  # fmt: skip
