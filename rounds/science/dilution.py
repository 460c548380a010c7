"""The sums of the dilution sheet: stock and water, or solid and water, for a working bottle.

What to wear, the order of pouring and the label belong to the sheet itself, which puts cautions first.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from rounds.errors import OutOfRange
from rounds.science.acids_bases import Agent, agent_by_percent
from rounds.science.activity import water_density_kg_l
from rounds.science.densities import table_density_kg_l

STRONGEST_WORKING_PERCENT = 20.0
"""No stronger: a working bottle is what doses are poured from. Common practice is 5-10 %."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkingBottle:
    """What goes into one bottle, and how strong it is then."""

    water_ml: float
    stock_ml: float
    """0 where a solid is weighed in."""
    stock_g: float
    """Mass of the stock or of the solid. [g]"""
    whole_g: float
    agent: Agent
    """The finished bottle, to dose from."""


def working_bottle(
    kind: str, *, volume_l: float, working_percent: float, stock_percent: float, stock_density_kg_l: float | None
) -> WorkingBottle:
    """Stock and water for a working bottle, by mass; volumes at 20 degC.

    Parameters
    ----------
    kind : str
        A name from `acids_bases.KINDS`.
    volume_l : float
        Finished volume, above 0 and up to 50. [L]
    working_percent : float
        Wanted strength, above 0 and up to 20. [% by mass]
    stock_percent : float
        Strength of the stock, above the wanted one. [% by mass]
    stock_density_kg_l : float
        Density of the stock from its label. [kg/L]

    Raises
    ------
    BadInput
        Where the density is missing or does not belong to the strength.
    OutOfRange
        Where a volume or strength is outside its range.

    Examples
    --------
    >>> bottle = working_bottle(
    ...     "nitric", volume_l=1.0, working_percent=10.0, stock_percent=68.0, stock_density_kg_l=1.4048)
    >>> round(bottle.stock_ml), round(bottle.water_ml), round(bottle.agent.mol_per_l, 2)
    (110, 901, 1.67)
    """
    agent_by_percent(kind, stock_percent, stock_density_kg_l)
    assert stock_density_kg_l is not None
    _check(volume_l, working_percent, stock_percent)
    return _bottle(kind, volume_l, working_percent, stock_percent, stock_density_kg_l)


def working_bottle_of_solid(
    kind: str, *, volume_l: float, working_percent: float, purity_percent: float = 100.0
) -> WorkingBottle:
    """Solid (potassium hydroxide, carbonate, hydrogen carbonate, citric acid) and water for a working bottle.

    Parameters
    ----------
    kind : str
        A name from `acids_bases.KINDS`.
    volume_l : float
        Finished volume, above 0 and up to 50. [L]
    working_percent : float
        Wanted strength as pure substance, above 0 and up to 20. [% by mass]
    purity_percent : float
        Purity of the solid, 50-100; potassium hydroxide pellets hold 10-15 % water. [% by mass]

    Examples
    --------
    >>> bottle = working_bottle_of_solid("potassium_carbonate", volume_l=1.0, working_percent=10.0)
    >>> round(bottle.stock_g), round(bottle.water_ml)
    (109, 983)
    """
    if not 50.0 <= purity_percent <= 100.0:
        raise OutOfRange(f"A purity of {purity_percent} % is not believable.", "Expected 50 to 100 %.")
    _check(volume_l, working_percent, purity_percent)
    return _bottle(kind, volume_l, working_percent, purity_percent, math.inf)


def _bottle(kind: str, volume_l: float, working: float, stock: float, stock_density_kg_l: float) -> WorkingBottle:
    density = table_density_kg_l(kind, working)
    whole_g = volume_l * density * 1000.0
    stock_g = whole_g * working / stock
    return WorkingBottle(
        water_ml=(whole_g - stock_g) / water_density_kg_l(20.0),
        stock_ml=stock_g / stock_density_kg_l,
        stock_g=stock_g,
        whole_g=whole_g,
        agent=agent_by_percent(kind, working, density),
    )


def _check(volume_l: float, working_percent: float, stock_percent: float) -> None:
    if not 0.0 < volume_l <= 50.0:
        raise OutOfRange(
            f"A working bottle of {volume_l} L is not one to pour from.", "Expected above 0 and up to 50 L."
        )
    if not 0.0 < working_percent <= STRONGEST_WORKING_PERCENT:
        raise OutOfRange(
            f"A working strength of {working_percent} % is not one to pour doses from.",
            f"Expected above 0 and up to {STRONGEST_WORKING_PERCENT:g} %; 5 to 10 % is usual.",
        )
    if not working_percent < stock_percent <= 100.0:
        raise OutOfRange(
            f"A stock of {stock_percent} % does not make {working_percent} %.", "The stock must be the stronger one."
        )
