"""What readers of verbs ask for in the same way: a count, an amount, one of several things."""

from __future__ import annotations

from collections.abc import Generator, Mapping, Sequence
from typing import Any

from rounds.errors import BadInput
from rounds.text import clean_line
from rounds.units import Gallon
from rounds.walk.doings.error_texts import in_words
from rounds.walk.doings.model import Ask
from rounds.walk.doings.words import Words, one_of

MOST = 1_000_000.0


def count(words: Words, what: str, question: str, example: str) -> Generator[Ask, Any, int]:
    """How many: the number of the line, else asked. Raises `BadInput` for what is no count."""
    found = words.take_quantity(_UNITS_OF_COUNTS)
    words.refuse_numbers(f"{found[0]:g}" if found else "", example)
    if found is not None:
        return _counted(found[0], what)
    ask = Ask(code="count", text=question, inline=example, read=lambda text: _read_count(text, what))
    number: int = yield ask
    return number


_UNITS_OF_COUNTS = dict.fromkeys(
    ("hen", "hens", "bird", "birds", "chick", "chicks", "pullet", "pullets", "plant", "plants", "piece", "pieces"),
    "pieces",
)


def _read_count(text: str, what: str) -> int:
    found = Words(text, text).take_quantity(_UNITS_OF_COUNTS)
    if found is None:
        raise in_words(BadInput, "count", number=f"“{clean_line(text, 20)}”", what=what)
    return _counted(found[0], what)


def _counted(number: float, what: str) -> int:
    if number != int(number) or not 1 <= number <= MOST:
        raise in_words(BadInput, "count", number=f"{number:g}", what=what)
    return int(number)


def amount(
    words: Words, units: Mapping[str, str], usual: str, question: str, example: str, *, most: float = MOST,
    gallon: Gallon | None = None,
) -> Generator[Ask, Any, float]:  # fmt: skip
    """How much, in the usual unit: the number of the line, else asked. Raises `BadInput` for what cannot be.

    Parameters
    ----------
    most : float
        More than that cannot be. [the usual unit]
    """

    def checked(number: float) -> float:
        if not 0.0 < number <= most:
            raise in_words(BadInput, "amount", number=f"{number:g}", unit=usual, most=most)
        return number

    def read(text: str) -> float:
        found = Words(text, text, gallon).take_quantity(units)
        if found is None:
            raise in_words(BadInput, "answer", word=clean_line(text, 40), known=f"a number in {usual}")
        return checked(found[0])

    found = words.take_quantity(units)
    if found is not None:
        return checked(found[0])
    number: float = yield Ask(code="amount", text=question, inline=example, read=read)
    return number


def which(names: Mapping[str, Sequence[str]], code: str, question: str, example: str) -> Generator[Ask, Any, str]:
    """One of several things: the only one there is, else asked by number or name."""
    if len(names) == 1:
        return next(iter(names))
    told = " · ".join(f"{number} {each[0]}" for number, each in enumerate(names.values(), 1))

    def read(text: str) -> str:
        known = ", ".join(each[0] for each in names.values())
        return one_of(names, text, lambda: in_words(BadInput, "answer", word=clean_line(text, 40), known=known))

    key: str = yield Ask(code=code, text=f"{question} {told}", inline=example, read=read)
    return key


def yes_or_no(code: str, question: str, example: str) -> Generator[Ask, Any, bool]:
    """A question that y or n answers."""

    def read(text: str) -> bool:
        if text.casefold() in ("y", "yes"):
            return True
        if text.casefold() in ("n", "no"):
            return False
        raise in_words(BadInput, "answer", word=clean_line(text, 40), known="y or n")

    answer: bool = yield Ask(code=code, text=question, inline=example, read=read)
    return answer
