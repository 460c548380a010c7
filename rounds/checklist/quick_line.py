"""The quick line: all readings of one station on one line, by name in any order or as bare numbers in a set order."""

from __future__ import annotations

import re
from collections.abc import Sequence

from rounds.checklist.line_reader import LineReader, Problem, TypedValue
from rounds.checklist.model import Item
from rounds.errors import BadInput
from rounds.units import Gallon

LONGEST_LINE = 200
_SPACE = re.compile("[ \t\r\n\u00a0\u2009\u202f]+")


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
    tuple of TypedValue
        In the order they were typed.

    Raises
    ------
    BadLine
        With all problems of the line, and the entries that are good in spite of them.
    """
    first, *others = _ordered(items, orders)
    _refuse_empty_or_long(text, first)
    tokens = [token.rstrip(",;") or token for token in _SPACE.split(text) if token]
    reader = LineReader(items, first, gallon, refuse_impossible, checks)
    reader.read(tokens)
    exact = next((order for order in others if len(order) == reader.bare > len(first)), None)
    if exact is not None:
        reader = LineReader(items, exact, gallon, refuse_impossible, checks)
        reader.read(tokens)
    if reader.problems:
        raise BadLine(reader.problems, reader.entries)
    return tuple(reader.entries)


def _refuse_empty_or_long(text: str, order: Sequence[Item]) -> None:
    if not text.strip():
        raise BadLine([Problem(item_id=None, sentence="Nothing was typed.", hint=_expected_line(order))], [])
    if len(text) > LONGEST_LINE:
        sentence = f"The line is {len(text)} characters long."
        raise BadLine([Problem(item_id=None, sentence=sentence, hint=f"At most {LONGEST_LINE} are read.")], [])


def _ordered(items: Sequence[Item], orders: Sequence[Sequence[str]] | None) -> list[list[Item]]:
    by_id = {item.id: item for item in items}
    quick = [[item.id for item in items if item.quick]]
    return [[by_id[each] for each in order if each in by_id] for order in orders or quick]


def _expected_line(items: Sequence[Item]) -> str:
    words = [item.names[0] for item in items if item.names]
    return f"Type the numbers in this order: {' '.join(words)}." if words else "There is nothing to read here."
