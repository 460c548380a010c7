"""Pre-filled numbered bottles: one pair of A and B instead of millilitres."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from rounds.book.composition import feed_known, mixed_feed, water_known
from rounds.book.measures import millilitres_down
from rounds.farm.farm import Farm
from rounds.farm.stations import Reservoir
from rounds.science.conductivity import ec25_ms_cm

RISE_MS_CM = 0.15
"""How much one pair of bottles should raise the conductivity: half a usual step. [mS/cm]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bottles:
    """Numbered pairs of bottles for one reservoir."""

    reservoir: Reservoir
    pairs: int
    a_ml: float
    b_ml: float
    rise_ms_cm: float
    """How much one pair raises the conductivity at the working level. [mS/cm]"""
    below_ms_cm: float
    """One pair is poured where the conductivity is below this after topping up. [mS/cm]"""

    @property
    def text(self) -> str:
        """What the helper reads."""
        return (
            f"{self.pairs} numbered pairs: A1 with B1, A2 with B2 ... ({self.a_ml:g} and {self.b_ml:g} mL). "
            f"One pair a day at most, where EC is below {self.below_ms_cm:.2f} at the mark: A, ten minutes, B. "
            f"It lifts EC by about {self.rise_ms_cm:.2f}. Cross the number out."
        )


def bottles_for(
    farm: Farm, reservoir_id: str, pairs: int, today: date, most_ml: float, day_ml: float
) -> Bottles | None:
    """Bottles for a reservoir; None where the limits leave too little to be worth a bottle.

    Parameters
    ----------
    most_ml : float
        Of one product in one step. [mL]
    day_ml : float
        Of all products in a day. [mL]
    """
    reservoir = farm.reservoir(reservoir_id)
    feed = feed_known(farm, farm.feeds[reservoir.feed])
    stage = farm.stage_of(reservoir)
    water = water_known(farm, reservoir.waters[0], today).solution
    volume = farm.circulating_volume_l(reservoir, reservoir.working_volume_l)
    slope = ec25_ms_cm(mixed_feed(water, feed, 0.6), 6.0) - ec25_ms_cm(mixed_feed(water, feed, 0.5), 6.0)
    per_l = feed.ml_per_l
    if len(per_l) != 2:
        return None
    wanted = 0.1 * RISE_MS_CM / slope
    share = min(wanted, *(most_ml / (ml * volume) for ml in per_l), day_ml / (sum(per_l) * volume))
    a, b = (millilitres_down(ml * share * volume).amount for ml in per_l)
    if a < 5.0 or b < 5.0:
        return None
    return Bottles(
        reservoir=reservoir, pairs=pairs, a_ml=a, b_ml=b, rise_ms_cm=slope / 0.1 * a / (per_l[0] * volume),
        below_ms_cm=stage.ec[0],
    )  # fmt: skip
