"""The one way to refuse a value outside the range in which a formula can be believed."""

from __future__ import annotations

from rounds.errors import OutOfRange


def within(value: float, low: float, high: float, what: str, unit: str) -> float:
    """The value itself, where it lies inside `low` to `high`; NaN and infinity never do.

    Raises
    ------
    OutOfRange
        With a sentence that names the value, and a hint that names the range.

    Examples
    --------
    >>> within(21.0, 0.0, 50.0, "An air temperature", "°C")
    21.0
    """
    if not low <= value <= high:
        raise OutOfRange(f"{what} of {value:g} {unit}".strip() + " is not believable.", _expected(low, high, unit))
    return value


def _expected(low: float, high: float, unit: str) -> str:
    return f"Expected {low:g} to {high:g} {unit}".strip() + "."
