"""How far a day may still move the pH, where the grower set a limit of their own."""

from __future__ import annotations

from rounds.advice.bottle_effect import doses_of_this_feed
from rounds.advice.case import Case
from rounds.advice.earlier import ph_before
from rounds.advice.gates import Direction
from rounds.belief import state as b

_YOUNG = 0.5
LEAST_LEFT_PH = 0.12
"""Less than this left is not worth a dose. [-]"""
_ABOVE_LOWEST = 0.15


def left_today(case: Case, day_ph: float, direction: Direction) -> float:
    """How far the pH may still be moved today; nothing where that is too little to be worth a dose. [-]

    From below the lowest pH it may always be brought back to a little above it: roots do not live there till tomorrow.
    """
    moved = moved_today(case)
    left = day_ph * (_YOUNG if case.stage.young else 1.0) - moved
    if direction == "base" and case.state is not None:
        left = max(left, case.farm.limits.lowest_ph + _ABOVE_LOWEST - case.state.mean[b.PH])
    return left if left >= LEAST_LEFT_PH or not moved else 0.0


def moved_today(case: Case) -> float:
    """How far acid and base are believed to have moved the pH today already: from before the dose that shows most. [-]

    Where the pH drifted back between two doses, the first of them alone would hide what the second has moved.
    """
    if case.state is None:
        return 0.0
    before = [ph_before(case, dose.measured_at) for dose in doses_of_this_feed(case)]
    return max([0.0, *(abs(value - case.state.mean[b.PH]) for value in before if value is not None)])
