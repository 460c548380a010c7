"""Checks on the quick line: `wilt`, `roots brown`, `pests 4`, `note hose leaks`, beside the readings."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass

from rounds.checklist.model import Item
from rounds.errors import BadInput
from rounds.text import clean_line
from rounds.units import parse_number

YES = {"y", "yes", "j", "1", "true"}
NO = {"n", "no", "0", "false"}
_SMALL_WORDS = frozenset("the and not all any for are its each every from off yet no".split(" "))  # noqa: SIM905
"""Words in labels that tell nothing about the item."""


_NEGATIONS = frozenset({"no", "not", "nothing", "none", "without"})
_FILLERS = frozenset({"is", "are", "and", "of", "the", "all", "still"})
LONGEST_CHOICE = 4
"""The most words of a choice that can be typed on the line."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckEntry:
    """One check that was answered in words."""

    item: Item
    value: bool | str | int
    typed: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Parted:
    """A line with its checks taken out."""

    entries: tuple[CheckEntry, ...] = ()
    rest: str = ""
    """The readings, for `parse_line`."""
    problems: tuple[str, ...] = ()
    """A sentence for each check whose answer is not clear; nothing of it is taken."""


def part_checks(text: str, items: Sequence[Item]) -> Parted:
    """Take the checks out of a line, and leave the readings.

    Parameters
    ----------
    text : str
        The line as typed. A check's name alone means that it is not well.
    items : sequence of Item
        All items of the station.
    """
    by_name = words_for_checks(items)
    readings = {name for item in items if item.is_number for name in item.names}
    words, entries, rest, problems = text.split(), [], [], []
    while words:
        word = words.pop(0)
        item = by_name.get(word.casefold())
        if item is None:
            rest.append(word)
            continue
        said, words = _said(item, words, by_name.keys() | readings)
        try:
            value = _answer_on_line(item, said, word)
        except BadInput as error:
            problems.append(str(error))
            continue
        entries.append(CheckEntry(item=item, value=value, typed=" ".join([word, *said])))
    return Parted(entries=tuple(entries), rest=" ".join(rest), problems=tuple(problems))


def words_for_checks(items: Sequence[Item]) -> dict[str, Item]:
    """Every word that may be typed for a check: its id, its names, and each word that only its label has."""
    taken = _by_name(item for item in items if item.is_number)
    labels = {word: item for word, item in _words_of_one_label(items) if not item.is_number and word not in taken}
    return labels | _by_name(item for item in items if not item.is_number)


def _words_of_one_label(items: Iterable[Item]) -> Iterator[tuple[str, Item]]:
    pairs = [(word, item) for item in items for word in _label_words(item)]
    counted = Counter(word for word, _ in pairs)
    yield from (pair for pair in pairs if counted[pair[0]] == 1)


def _by_name(items: Iterable[Item]) -> dict[str, Item]:
    return {name: item for item in items for name in (item.id, *item.names)}


def word_for(item: Item, items: Sequence[Item]) -> str:
    """The word by which an item is typed: its first name, a word that only its label has, or its id.

    Parameters
    ----------
    items : sequence of Item
        All items of the station.
    """
    if item.names:
        return item.names[0]
    words = words_for_checks(items)
    return next((word for word in _label_words(item) if words.get(word) == item), item.id)


def _label_words(item: Item) -> list[str]:
    words = (word.strip(",.()").casefold() for word in item.label.split())
    return [word for word in dict.fromkeys(words) if len(word) > 2 and word.isalpha() and word not in _SMALL_WORDS]


def read_check(text: str, item: Item) -> bool | str | int:
    """Read the answer to one check.

    Raises
    ------
    BadInput
        With the answers there are.
    """
    typed = clean_line(text.strip(), 200)
    match item.type:
        case "yes_no":
            return _yes_or_no(typed, item)
        case "choice":
            return _choice(typed, item)
        case "count":
            return _count(typed, item)
        case _:
            if not typed:
                raise BadInput(f"{item.label}: nothing was typed.", "A few words are expected.")
            return typed


def off_answer(item: Item) -> bool | str | int:
    """What naming a check alone means: that it is not well.

    Raises
    ------
    BadInput
        Where there is more than one answer that is not well.
    """
    if item.type == "yes_no" and isinstance(item.well, bool):
        return not item.well
    raise BadInput(f"{item.label}: which?", f"Expected is {answers_of(item)}.")


def answers_of(item: Item) -> str:
    """The answers a check takes, as they are shown beside it."""
    match item.type:
        case "yes_no":
            return "y or n"
        case "choice":
            return ", ".join(f"{n} {choice}" for n, choice in enumerate(item.choices, 1))
        case "count":
            return "a count"
        case "reading":
            return f"a number in {item.unit}" if item.unit else "a number"
        case _:
            return "a few words"


def _said(item: Item, words: list[str], names: Collection[str]) -> tuple[list[str], list[str]]:
    """The words after a check's name that answer it, and the words that are left."""
    if item.type == "note":
        return words, []
    if (count := _words_of_statement(item, words)) > 0:
        return words[:count], words[count:]
    count = _words_of_choice(item, words) or (1 if words and _may_answer(item, words[0], names) else 0)
    return words[:count], words[count:]


def _words_of_choice(item: Item, words: Sequence[str]) -> int:
    """How many of the words are one of the choices to the letter, the longest that fits; 0 where there is none.

    A choice goes before the name of another check: `airlock dry` is about the airlock, though `dry` names a cask.
    """
    choices = {choice.casefold() for choice in item.choices}
    longest = range(min(LONGEST_CHOICE, len(words)), 0, -1)
    return next((count for count in longest if " ".join(words[:count]).casefold() in choices), 0)


def _may_answer(item: Item, word: str, names: Collection[str]) -> bool:
    return word.casefold() not in names and not (item.type == "yes_no" and _is_reading(word, names))


def _is_reading(word: str, names: Collection[str]) -> bool:
    letters = word.rstrip("0123456789.,=:+-").casefold()
    return word[0].isdigit() or letters in names


def states(item: Item, words: Sequence[str]) -> bool | None:
    """What words of its own label say of a check that is named for how it should be: `clean` of “Strainer clean”.

    Returns
    -------
    bool or None
        Whether it is so; None where they do not say it: other words, or a part of the label that may be trouble.
    """
    told = [word for word in _bare(words) if word not in _FILLERS]
    is_denied = told[:1] == ["not"]
    told = told[1:] if is_denied else told
    if not told or not _is_well_by_label(item) or not set(told) <= set(_label_words(item)):
        return None
    return not is_denied if set(told) & _predicates(item) and not set(told) & _denied(item) else None


def _words_of_statement(item: Item, words: Sequence[str]) -> int:
    """How many of the words are of the label of a check that is named for how it should be, or deny that."""
    if not _is_well_by_label(item):
        return 0
    own = {*_label_words(item), *_FILLERS, "not"}
    count = next((n for n, word in enumerate(_bare(words)) if word not in own), len(words))
    return count if set(_bare(words[:count])) - _FILLERS - {"not"} else 0


def _is_well_by_label(item: Item) -> bool:
    return item.type == "yes_no" and item.well is True and not says_no(item)


def _predicates(item: Item) -> set[str]:
    """The last word of each part of a label: what is said of the thing, as “clean” of “Strainer clean”."""
    parts = [_bare(part.split()) for part in item.label.split(",")]
    return {part[-1] for part in parts if part and not _NEGATIONS & set(part)}


def _denied(item: Item) -> set[str]:
    """The words of those parts of a label that say what should not be: “leaves” of “Lid shut, no leaves”."""
    parts = [_bare(part.split()) for part in item.label.split(",")]
    return {word for part in parts if _NEGATIONS & set(part) for word in part}


def _bare(words: Iterable[str]) -> list[str]:
    return [word.strip(",.()").casefold() for word in words]


def _answer_on_line(item: Item, said: list[str], name: str) -> bool | str | int:
    if not said and _is_well_by_label(item) and {name.casefold()} & _predicates(item) and len(_label_words(item)) > 1:
        raise BadInput(f"“{item.label}”: is it so, or not?", _well_or_not(item))
    if not said:
        return off_answer(item)
    if _words_of_statement(item, said) == len(said):
        is_so = states(item, said)
        if is_so is None:
            raise BadInput(f"“{item.label}”: is it so, or not?", _well_or_not(item))
        return is_so
    if item.type == "yes_no" and says_no(item):
        raise BadInput(
            f"“{item.label}”: yes or no behind its name is not clear.",
            "Type its name alone where it is not well; else leave it to +.",
        )
    return read_check(" ".join(said), item)


def _well_or_not(item: Item) -> str:
    name = item.names[0] if item.names else next(iter(_label_words(item)), item.id)
    return f"Type `{name} y` or `{name} n`."


def says_no(item: Item) -> bool:
    """Whether a label says what should not be: yes or no behind its name would not be clear."""
    return item.label.split(maxsplit=1)[0].casefold() in ("no", "nothing", "not", "none")


def _yes_or_no(typed: str, item: Item) -> bool:
    if typed.casefold() in YES:
        return True
    if typed.casefold() in NO:
        return False
    raise BadInput(f"{item.label}: “{typed}” is neither yes nor no.", "Expected is y or n.")


def _choice(typed: str, item: Item) -> str:
    if _is_whole(typed) and 1 <= int(typed) <= len(item.choices):
        return item.choices[int(typed) - 1]
    found = _begun_with(typed.casefold(), item.choices) if typed else []
    if len(found) == 1:
        return found[0]
    raise BadInput(f"{item.label}: “{typed}” is not one of its answers.", f"Expected is {answers_of(item)}.")


def _begun_with(typed: str, choices: Sequence[str]) -> list[str]:
    """The choice that was typed in full, else all that begin so."""
    begun = [choice for choice in choices if choice.casefold().startswith(typed)]
    return [choice for choice in begun if choice.casefold() == typed][:1] or begun


def _is_whole(typed: str) -> bool:
    return typed.isdecimal() and typed.isascii()


def _count(typed: str, item: Item) -> int:
    value = parse_number(typed)
    if value != int(value) or not 0 <= value <= 1_000_000:
        raise BadInput(f"{item.label}: {typed} is not a count.", "Expected is a whole number, 0 or more.")
    return int(value)
