"""The words of a quick line, read one by one: names, numbers, units, and words that are none of these."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from rounds.checklist.model import Item
from rounds.checklist.typed_number import number_for
from rounds.errors import BadInput
from rounds.text import clean_line
from rounds.units import Gallon, parse_quantity

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
    """The part of the line it was read from, as typed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """One part of the line that cannot be used."""

    item_id: str | None
    """The item it was meant for, where that can be told."""
    sentence: str
    hint: str

    def __str__(self) -> str:
        return f"{self.sentence} {self.hint}".strip()


class LineReader:
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
        """Take all words: then `entries` and `problems` hold what they gave, `bare` how many numbers had no name."""
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
            value = number_for(item, quantity, gallon=self.gallon, refuse_impossible=self.refuse_impossible)
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


def _quoted(word: str) -> str:
    return f"“{clean_line(word, 40)}”"
