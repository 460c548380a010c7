"""One number as it was typed for an item: its unit, its limits, and what is expected instead."""

from __future__ import annotations

from rounds.checklist.model import Item
from rounds.errors import BadInput, OutOfRange
from rounds.units import Gallon, parse_quantity, show

MOST = 1_000_000
"""No count is larger."""


def number_for(item: Item, quantity: str, *, gallon: Gallon | None, refuse_impossible: bool) -> float:
    """What was typed for an item, as a number in the item's usual unit.

    Parameters
    ----------
    quantity : str
        A number with or without a unit, such as `31cm`; empty where a name stands alone.
    refuse_impossible : bool
        Whether a value beyond the item's limits is refused.

    Raises
    ------
    BadInput
        With what is expected; its sentence goes on after the item's label.
    OutOfRange
        For a value that cannot be.
    """
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
