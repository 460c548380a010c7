"""What a level becomes by what was poured and drained since: the one place that says so."""

from __future__ import annotations

from rounds.book.measures import ML_PER_UNIT, number
from rounds.book.offer import RecordLike

WATER = frozenset({"top_up", "change_out", "drain_off"})
"""Actions whose amount is in litres where no unit stands beside it; all others are in millilitres."""
_LEAST_INSIDE = 0.5
"""Of a fill, so much at least stands in the reservoir itself. [-]"""


def litres_of_dose(dose: RecordLike) -> float:
    """How much liquid a dose was. [L]

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> litres_of_dose(SimpleNamespace(value=250.0, unit=None, data={"action": "acid"}))
    0.25
    """
    usual = "L" if dose.data.get("action") in WATER else "mL"
    return (number(dose.value) or 0.0) * ML_PER_UNIT.get(dose.unit or usual, 0.0) / 1000.0


def inside_after(inside_l: float, dose: RecordLike, outside_l: float) -> float:
    """What stands in a reservoir after a dose, or after some was drained off or all was renewed. [L]

    Parameters
    ----------
    inside_l : float
        What stood there before. [L]
    outside_l : float
        What channels, roots and pipes hold: a change-out names all that was filled in, these with it. [L]
    """
    litres = litres_of_dose(dose)
    match dose.data.get("action"):
        case "change_out":
            return max(litres - outside_l, _LEAST_INSIDE * litres)
        case "drain_off":
            return max(0.0, inside_l - litres)
        case _:
            return inside_l + litres
