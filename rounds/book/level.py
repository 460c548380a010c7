"""What a reading of the level tells, and what it becomes by what was poured and drained since."""

from __future__ import annotations

from rounds.book.entries import Dose, Reading
from rounds.errors import RoundsError
from rounds.farm.stations import Reservoir
from rounds.farm.volumes import dip_to_litres

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


def litres_of(reservoir: Reservoir, reading: Reading) -> float | None:
    """The volume in the reservoir that a reading of the level tells; None where it is none. [L]"""
    value = reading.number
    if value is None:
        return None
    if reading.item == "volume":
        return value if 0.0 < value <= reservoir.full_volume_l else None
    if reading.item != "dip":
        return None
    try:
        return dip_to_litres(reservoir, value)[0]
    except RoundsError:
        return None
