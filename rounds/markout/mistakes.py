"""Mistakes in what was typed for a channel, all of them at once."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from rounds.errors import BadInput


@dataclass(frozen=True, slots=True, kw_only=True)
class InputMistake:
    """One thing that cannot be, with the field it was typed in."""

    field: str
    sentence: str
    hint: str = ""
    is_missing: bool = False
    """Whether nothing was typed yet where something is needed."""

    def __str__(self) -> str:
        return f"{self.sentence} {self.hint}".strip()


class SeveralMistakes(BadInput):
    """Everything that is wrong with the inputs of a channel, in the order of the form."""

    def __init__(self, mistakes: Sequence[InputMistake]) -> None:
        self.mistakes = tuple(mistakes)
        super().__init__("\n".join(str(mistake) for mistake in self.mistakes))


def raise_if_any(mistakes: Iterable[InputMistake]) -> None:
    """Raise all mistakes together.

    Raises
    ------
    SeveralMistakes
        Where there is at least one.
    """
    found = list(mistakes)
    if found:
        raise SeveralMistakes(found)
