"""The words behind a verb: numbers with their units, names of products and waters, days; the rest is a note."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence

from rounds.errors import BadInput
from rounds.text import clean_line
from rounds.units import Gallon, parse_quantity, split_quantity
from rounds.walk.doings.error_texts import in_words

_NUMBER = re.compile(r"[+-]?[0-9]")
_DAY_WORDS = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}|[0-9]{1,2}:[0-9]{2}")
LITRES: Mapping[str, str] = dict.fromkeys(
    ("l", "litre", "litres", "liter", "liters", "ml", "cl", "gal", "gallon", "gallons"), "L"
)
MILLILITRES: Mapping[str, str] = dict.fromkeys(("ml", "l", "cl", "millilitre", "millilitres", "litre", "litres"), "mL")
WEIGHT: Mapping[str, str] = dict.fromkeys(("kg", "g", "kilo", "kilos", "kilogram", "kilograms", "gram", "grams"), "kg")
PIECES: Mapping[str, str] = dict.fromkeys(
    ("pieces", "piece", "pcs", "pc", "heads", "head", "bunches", "bunch"), "pieces"
)
_OTHERS = ("min", "minutes", "h", "hours", "day", "days", "cm", "m", "l/min")
_ANY_UNIT = frozenset({*LITRES, *MILLILITRES, *WEIGHT, *PIECES, *_OTHERS})
_SPELLED = {"kilo": "kg", "kilos": "kg", "kilogram": "kg", "kilograms": "kg", "gram": "g", "grams": "g",
            "millilitre": "mL", "millilitres": "mL", "liters": "L"}  # fmt: skip


class Words:
    """What stands behind a verb; each reader takes out what it knows, and what is left is a note."""

    def __init__(self, typed: str, text: str, gallon: Gallon | None = None) -> None:
        """Begin.

        Parameters
        ----------
        typed : str
            The whole line.
        text : str
            What stands behind the verb.
        """
        self.typed = typed
        self._gallon = gallon
        self.until: list[str] | None = None
        """What stood behind `until`; None where nothing was said of it."""
        self.left = [token.strip(",;") for token in text.split() if token.strip(",;")]

    def rest(self) -> str:
        """What nobody has taken."""
        return clean_line(" ".join(self.left))

    def take_word(self, *known: str) -> str:
        """The first of some words that is there, taken out; empty where none is."""
        for index, token in enumerate(self.left):
            if token.casefold() in known:
                return self.left.pop(index).casefold()
        return ""

    def take_leading(self, known: Sequence[str]) -> None:
        """Take words out that may stand right behind the verb and say nothing."""
        while self.left and self.left[0].casefold() in known:
            self.left.pop(0)

    def take_behind(self, *known: str) -> list[str] | None:
        """All words behind one of some words, taken out with it; None where none of them is there."""
        for index, token in enumerate(self.left):
            if token.casefold() in known:
                behind, self.left = self.left[index + 1 :], self.left[:index]
                return behind
        return None

    @property
    def numbers(self) -> list[str]:
        """The numbers that are still there, as typed, each with the unit that is glued to it."""
        return [token for token in self.left if _NUMBER.match(token)]

    def take_quantity(self, *units: Mapping[str, str]) -> tuple[float, str] | None:
        """The first number with its unit, in the usual unit of that kind; None where there is no number.

        Parameters
        ----------
        units : mappings of str to str
            The kinds of unit that may stand behind it, each with its usual one; empty where none was typed.

        Raises
        ------
        BadInput
            For a number that cannot be read, or a unit of another kind.
        """
        index = next((n for n, token in enumerate(self.left) if _NUMBER.match(token)), None)
        if index is None:
            return None
        known = {word: usual for kind in units for word, usual in kind.items()}
        number, unit = split_quantity(self.left.pop(index))
        if not unit and index < len(self.left) and self.left[index].casefold() in known.keys() | _ANY_UNIT:
            unit = self.left.pop(index)
        usual = known.get(unit.casefold(), "")
        if unit and not usual:
            raise in_words(BadInput, "unit", number=f"{number} {clean_line(unit, 20)}", units=_told(units),
                           example=f"{number} {_first(units)}")  # fmt: skip
        if usual == "pieces" or not usual:
            return parse_quantity(number, usual=""), usual
        return parse_quantity(
            f"{number} {_SPELLED.get(unit.casefold(), unit)}", usual=usual, gallon=self._gallon
        ), usual

    def refuse_numbers(self, taken: str, example: str) -> None:
        """Refuse a second number: a line never means two things.

        Raises
        ------
        BadInput
            Where one is left.
        """
        if self.numbers:
            raise in_words(BadInput, "two-numbers", one=taken, other=clean_line(self.numbers[0], 20), example=example)


def _told(units: Sequence[Mapping[str, str]]) -> str:
    return " or ".join(dict.fromkeys(usual for kind in units for usual in kind.values())) or "no unit"


def _first(units: Sequence[Mapping[str, str]]) -> str:
    return next((usual for kind in units for usual in kind.values()), "").strip()


def one_of(names: Mapping[str, Sequence[str]], text: str, unknown: Callable[[], BadInput]) -> str:
    """The key of what a text names: by its number in their order, in full, or by all of its words.

    Parameters
    ----------
    names : mapping of str to sequence of str
        The names of each thing, by its key.
    unknown : callable
        Makes the error for a text that names none.

    Raises
    ------
    BadInput
        Where it names none, or several.
    """
    typed = text.strip().casefold()
    if typed.isdecimal() and typed.isascii() and 1 <= int(typed) <= len(names):
        return list(names)[int(typed) - 1]
    found = named_by(names, typed)
    if not found:
        raise unknown()
    if len(found) > 1:
        raise in_words(BadInput, "which", word=clean_line(typed, 40), found=" or ".join(found))
    return found[0]


def named_by(names: Mapping[str, Sequence[str]], typed: str) -> list[str]:
    """The keys of what a text names: in full, else by all of its words."""
    full = [key for key, each in names.items() if typed in (name.casefold() for name in each)]
    if full or not typed:
        return full
    wanted = set(_parts(typed))
    return [key for key, each in names.items() if wanted and wanted <= {part for name in each for part in _parts(name)}]


def _parts(text: str) -> list[str]:
    return [part for part in re.split(r"[^\w]+", text.casefold()) if part]
