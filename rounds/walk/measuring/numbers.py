"""Numbers as they are typed on the pages of a measurement."""

from __future__ import annotations

from rounds.errors import OutOfRange
from rounds.units import parse_number, parse_quantity
from rounds.walk.measuring.error_texts import in_words


def number_within(text: str, low: float, high: float, what: str, unit: str, *, usual: str = "") -> float:
    """A number from `low` to `high`, with or without its unit.

    Raises
    ------
    BadInput
        For what is no number, or none that can be.

    Examples
    --------
    >>> number_within("1,5 L", 0.1, 20.0, "A sample", "L", usual="L")
    1.5
    """
    value = parse_quantity(text, usual=usual)
    if not low <= value <= high:
        raise in_words(OutOfRange, "measure-range", what=what, value=value, unit=unit, low=low, high=high)
    return value


def numbers_of(text: str) -> list[float]:
    """The numbers of a line, parted by spaces.

    Examples
    --------
    >>> numbers_of("2,5 5.8")
    [2.5, 5.8]
    """
    return [parse_number(word) for word in text.split()]
