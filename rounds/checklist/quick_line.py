"""The quick line: everything of one station in one line, by name in any order or as bare numbers in its own order."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from rounds.checklist.model import Item
from rounds.errors import BadInput, OutOfRange
from rounds.text import clean_line
from rounds.units import Gallon, parse_quantity, show

LONGEST_LINE = 200
MOST = 1_000_000
"""No count is larger."""
_SPACE = re.compile("[ \t\r\n\u00a0\u2009\u202f]+")
_GLUED = re.compile(r"([a-z]{1,12})(?:[=:]\s*(.*)|([+-]?[0-9].*))\Z", re.IGNORECASE | re.DOTALL)
_NUMBER_FIRST = re.compile(r"[+-]?[0-9]")
_BARE_NUMBER = re.compile(r"[+-]?[0-9]+([.,][0-9]+)?\Z")


@dataclass(frozen=True, slots=True, kw_only=True)
class TypedValue:
    """One reading of the line, in the item's usual unit."""

    item_id: str
    value: float
    unit: str
    typed: str
    """Its part of the line, as it was typed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """One part of the line that cannot be used."""

    item_id: str | None
    """The item it was meant for, where that can be told."""
    sentence: str
    hint: str

    def __str__(self) -> str:
        return f"{self.sentence} {self.hint}".strip()


class BadLine(BadInput):
    """A line of which at least one part cannot be used: all that is wrong with it, and what of it is good."""

    def __init__(self, problems: Sequence[Problem], good: Sequence[TypedValue]) -> None:
        self.problems = tuple(problems)
        self.good = tuple(good)
        if len(self.problems) == 1:
            super().__init__(self.problems[0].sentence, self.problems[0].hint)
        else:
            super().__init__(" ".join(str(problem) for problem in self.problems))


def parse_line(
    text: str,
    items: Sequence[Item],
    *,
    gallon: Gallon | None = None,
    refuse_impossible: bool = True,
    checks: str = "",
    orders: Sequence[Sequence[str]] | None = None,
) -> tuple[TypedValue, ...]:
    """Read everything that one line says.

    Parameters
    ----------
    text : str
        `ph 6,4 ec 1.9 t 21 dip 31cm` in any order (`ph6.4` and `ph=6.4` too), or bare numbers in the order of the
        items that have a place in it: `6.4 1.9 21 31`. Bare numbers may stand before the named ones; of more than there
        are readings none is taken.
    items : sequence of Item
        The items of the station that are answered with a number, in the station's order.
    gallon : "us", "imperial" or None
        What the farm means by a gallon.
    refuse_impossible : bool
        Whether a value beyond the physical limits is a problem; the caller judges it otherwise.
    checks : str
        Words of checks that the caller takes out of the line before; told to whoever types a word that is none.
    orders : sequence of sequences of item ids, optional
        What bare numbers may mean where not all items with a place are asked for: they are taken for the first order;
        where there are more of them, for the one that has exactly as many.

    Returns
    -------
    tuple of Entry
        In the order they were typed.

    Raises
    ------
    BadLine
        With all problems of the line, and the entries that are good in spite of them.
    """
    if not text.strip():
        hint = _expected_line(_ordered(items, orders)[0])
        raise BadLine([Problem(item_id=None, sentence="Nothing was typed.", hint=hint)], [])
    if len(text) > LONGEST_LINE:
        sentence = f"The line is {len(text)} characters long."
        raise BadLine([Problem(item_id=None, sentence=sentence, hint=f"At most {LONGEST_LINE} are read.")], [])
    tokens = [token.rstrip(",;") or token for token in _SPACE.split(text) if token]
    first, *others = _ordered(items, orders)
    reader = _Reader(items, first, gallon, refuse_impossible, checks)
    reader.read(tokens)
    exact = next((order for order in others if len(order) == reader.bare > len(first)), None)
    if exact is not None:
        reader = _Reader(items, exact, gallon, refuse_impossible, checks)
        reader.read(tokens)
    if reader.problems:
        raise BadLine(reader.problems, reader.entries)
    return tuple(reader.entries)


def _ordered(items: Sequence[Item], orders: Sequence[Sequence[str]] | None) -> list[list[Item]]:
    by_id = {item.id: item for item in items}
    quick = [[item.id for item in items if item.quick]]
    return [[by_id[each] for each in order if each in by_id] for order in orders or quick]


class _Reader:
    """Takes the words of a line one after the other."""

    def __init__(
        self, items: Sequence[Item], order: list[Item], gallon: Gallon | None, refuse_impossible: bool, checks: str
    ) -> None:
        self.items, self.checks = items, checks
        self.refuse_impossible = refuse_impossible
        self.by_name = {name: item for item in items for name in item.names}
        self.order = order
        self.gallon = gallon
        self.entries: list[TypedValue] = []
        self.problems: list[Problem] = []
        self.seen: set[str] = set()
        self.bare = 0
        self.named = False

    def read(self, tokens: list[str]) -> None:
        rest = list(tokens)
        while rest:
            word = rest.pop(0)
            name, value = self._parted(word)
            if name is not None:
                self._named(name, word, value, rest)
            elif _NUMBER_FIRST.match(word):
                self._bare(word, rest)
            else:
                self._unknown(word, rest)

    def _parted(self, word: str) -> tuple[str | None, str]:
        if word.lower() in self.by_name:
            return word.lower(), ""
        glued = _GLUED.match(word)
        if glued and glued.group(1).lower() in self.by_name:
            return glued.group(1).lower(), glued.group(2) or glued.group(3) or ""
        return None, ""

    def _named(self, name: str, word: str, value: str, rest: list[str]) -> None:
        item = self.by_name[name]
        self.named = True
        if not value and rest and rest[0] in ("=", ":"):
            word += rest.pop(0)
        if not value and rest and self._parted(rest[0])[0] is None:
            value = rest.pop(0)
            word = f"{word} {value}"
        self._take(item, value, word, rest)

    def _bare(self, word: str, rest: list[str]) -> None:
        number, self.bare = self.bare, self.bare + 1
        if self.named:
            self._problem(None, f"{_quoted(word)} has no name.", "After a named reading every number needs its name.")
        elif number < len(self.order):
            self._take(self.order[number], word, word, rest)
        elif number == len(self.order):
            most = len(self.order)
            self.entries, self.seen = [], set()  # a line of another station: which number was meant is not known
            sentence = f"There are more numbers than readings, from {_quoted(word)} on: none is taken."
            hint = f"At most {most} are expected: {' '.join(self._first_names())}." if most else self._known()
            self._problem(None, sentence, hint)

    def _unknown(self, word: str, rest: list[str]) -> None:
        if any(c.isdigit() and not "0" <= c <= "9" for c in word):
            self._problem(None, f"{_quoted(word)} is not a number that can be read.", "Write the digits 0 to 9.")
            return
        value = ""
        if rest and _NUMBER_FIRST.match(rest[0]):
            value = " " + rest.pop(0)
        self.named = True
        self._problem(None, f"{_quoted(word + value)}: nothing has that name here.", self._known())

    def _take(self, item: Item, value: str, typed: str, rest: list[str]) -> None:
        unit = self._unit_after(item, value, rest)
        self._enter(item, f"{value} {unit}".strip(), f"{typed} {unit}".strip())

    def _unit_after(self, item: Item, value: str, rest: list[str]) -> str:
        if not _BARE_NUMBER.match(value) or not rest or _NUMBER_FIRST.match(rest[0]):
            return ""
        if self._parted(rest[0])[0] is not None:
            return ""
        if len(rest) > 1 and _NUMBER_FIRST.match(rest[1]) and not self._is_unit(item, value, rest[0]):
            return ""
        return rest.pop(0)

    def _is_unit(self, item: Item, value: str, word: str) -> bool:
        try:
            parse_quantity(f"{value} {word}", usual=item.unit, gallon=self.gallon)
        except BadInput:
            return word.lower().startswith(("gal", "ppm", "tds"))
        return True

    def _enter(self, item: Item, quantity: str, typed: str) -> None:
        if item.id in self.seen:
            self._problem(item, f"{item.label} stands twice in the line.", "Write each reading once.")
            self.entries = [entry for entry in self.entries if entry.item_id != item.id]
            return
        self.seen.add(item.id)
        try:
            value = _value(item, quantity, self.gallon, self.refuse_impossible)
        except BadInput as error:
            self._problem(item, f"{item.label}: {error.sentence}", error.hint)
            return
        self.entries.append(TypedValue(item_id=item.id, value=value, unit=item.unit, typed=typed))

    def _problem(self, item: Item | None, sentence: str, hint: str) -> None:
        if self.problems and self.problems[-1].hint == hint:
            self.problems[-1] = replace(self.problems[-1], hint="")
        self.problems.append(Problem(item_id=item.id if item else None, sentence=sentence, hint=hint))

    def _first_names(self) -> list[str]:
        return [item.names[0] for item in self.order]

    def _known(self) -> str:
        known = ", ".join(item.names[0] for item in self.items if item.names)
        numbers = f"Known here: {known}." if known else "Nothing is read in numbers at this station."
        return f"{numbers} Checks: {self.checks}." if self.checks else numbers


def _value(item: Item, quantity: str, gallon: Gallon | None, refuse_impossible: bool) -> float:
    if not quantity:
        raise BadInput("there is no number after it.", _expected(item))
    try:
        value = parse_quantity(_usual_case(quantity, item.unit), usual=item.unit, gallon=gallon)
    except BadInput as error:
        raise BadInput(error.sentence, f"{error.hint} {_expected(item)}".strip()) from error
    if refuse_impossible and item.limits is not None and not item.limits[0] <= value <= item.limits[1]:
        raise OutOfRange(f"{show(value, item.unit)} cannot be a reading.", _expected(item))
    _check_whole(item, value)
    return float(f"{value:.10g}")


def _check_whole(item: Item, value: float) -> None:
    if item.type == "count" and not (0 <= value <= MOST and value == round(value)):
        raise OutOfRange(f"{show(value)} cannot be a count.", f"A whole number from 0 to {MOST} is expected.")
    if item.decimals == 0 and not item.unit and value != round(value):
        raise BadInput(f"{show(value)} is not a whole number.", _expected(item))


def _usual_case(quantity: str, unit: str) -> str:
    """The usual unit in its usual letters: nobody means another by writing `CM`."""
    same = bool(unit) and quantity.casefold().endswith(unit.casefold())
    return quantity[: -len(unit)] + unit if same else quantity


def _expected(item: Item) -> str:
    if item.limits is None:
        return "A number is expected."
    low, high = (show(end, decimals=None) for end in item.limits)
    return f"Expected: {low} to {high}{' ' + item.unit if item.unit else ''}."


def _expected_line(items: Sequence[Item]) -> str:
    words = [item.names[0] for item in items if item.names]
    return f"Type the numbers in this order: {' '.join(words)}." if words else "There is nothing to read here."


def _quoted(word: str) -> str:
    return f"“{clean_line(word, 40)}”"
