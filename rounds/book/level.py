"""What a level becomes by what was poured and drained since: the one place that says so."""

from __future__ import annotations

from rounds.book.entries import Dose

_LEAST_INSIDE = 0.5
"""Of a fill, so much at least stands in the reservoir itself. [-]"""


def inside_after(inside_l: float, dose: Dose, outside_l: float) -> float:
    """What stands in a reservoir after a dose, or after some was drained off or all was renewed. [L]

    Parameters
    ----------
    inside_l : float
        What stood there before. [L]
    outside_l : float
        What channels, roots and pipes hold: a change-out names all that was filled in, these with it. [L]
    """
    if dose.renews:
        return max(dose.litres - outside_l, _LEAST_INSIDE * dose.litres)
    return max(0.0, inside_l - dose.litres) if dose.drains else inside_l + dose.litres
