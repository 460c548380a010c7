"""Density of acids and bases by strength at 20 degC: for making working bottles, and to catch a label read wrongly."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Mapping
from itertools import pairwise
from types import MappingProxyType

from rounds.errors import BadInput, OutOfRange

_Rows = tuple[tuple[float, float], ...]

TABLES: Mapping[str, _Rows] = MappingProxyType({
    "nitric": ((0, 0.9982), (5, 1.0256), (10, 1.0543), (20, 1.1150), (30, 1.1800), (40, 1.2463), (50, 1.3100),
               (60, 1.3667), (65, 1.3913), (68, 1.4048), (70, 1.4134)),
    "phosphoric": ((0, 0.9982), (5, 1.0254), (10, 1.0532), (20, 1.1134), (30, 1.1805), (40, 1.2540), (50, 1.3350),
                   (60, 1.4260), (70, 1.5260), (75, 1.5790), (80, 1.6330), (85, 1.6890)),
    "sulfuric": ((0, 0.9982), (5, 1.0317), (10, 1.0661), (20, 1.1394), (30, 1.2185), (35, 1.2599), (40, 1.3028),
                 (50, 1.3951), (60, 1.4983), (70, 1.6105), (80, 1.7272), (90, 1.8144), (93, 1.8279), (96, 1.8355),
                 (98, 1.8361)),
    "hydrochloric": ((0, 0.9982), (5, 1.0230), (10, 1.0474), (20, 1.0980), (30, 1.1492), (36, 1.1789),
                     (38, 1.1885)),
    "citric": ((0, 0.9982), (5, 1.0186), (10, 1.0392), (20, 1.0805), (30, 1.1244), (40, 1.1709), (50, 1.2204)),
    "potassium_hydroxide": ((0, 0.9982), (5, 1.0440), (10, 1.0904), (20, 1.1864), (30, 1.2880), (40, 1.3960),
                            (45, 1.4520), (50, 1.5110)),
    "potassium_carbonate": ((0, 0.9982), (5, 1.0437), (10, 1.0904), (20, 1.1898), (30, 1.2979), (40, 1.4141),
                            (50, 1.5404)),
    "potassium_hydrogen_carbonate": ((0, 0.9982), (5, 1.0312), (10, 1.0650), (20, 1.1367)),
})  # fmt: skip
"""Percent by mass against density [kg/L] at 20 degC. Perry's Chemical Engineers' Handbook and CRC Handbook, from
memory; nitric 68 % and phosphoric 75 % stand in named texts that quote them."""

LABEL_TOLERANCE = 0.05


def table_density_kg_l(kind: str, percent_w_w: float) -> float:
    """Density at 20 degC of an acid or base of a strength, by the handbook.

    Parameters
    ----------
    kind : str
        A name from TABLES.
    percent_w_w : float
        Strength, 0 up to the end of its table. [% by mass]

    Raises
    ------
    OutOfRange
        Where the strength is beyond the table: stronger than the trade sells it, or than dissolves.

    Examples
    --------
    >>> round(table_density_kg_l("nitric", 38.0), 3)
    1.233
    """
    rows = _table(kind)
    if not 0.0 <= percent_w_w <= rows[-1][0]:
        raise OutOfRange(
            f"{kind} of {percent_w_w} % is not in the density table.", f"Expected 0 to {rows[-1][0]:g} % by mass."
        )
    i = max(1, bisect_left(rows, (percent_w_w, 0.0)))
    (weaker, light), (stronger, heavy) = rows[i - 1], rows[i]
    return light + (heavy - light) * (percent_w_w - weaker) / (stronger - weaker)


def percent_of_density(kind: str, density_kg_l: float) -> float:
    """Strength in percent by mass from a hydrometer or weighed density at 20 degC: the table read backwards.

    Examples
    --------
    >>> round(percent_of_density("phosphoric", 1.579), 1)
    75.0
    """
    rows = _table(kind)
    for (weaker, light), (stronger, heavy) in pairwise(rows):
        if light <= density_kg_l <= heavy:
            return weaker + (stronger - weaker) * (density_kg_l - light) / (heavy - light)
    raise OutOfRange(
        f"{kind} never has a density of {density_kg_l} kg/L.", f"Expected {rows[0][1]:g} to {rows[-1][1]:g} kg/L."
    )


def check_label(kind: str, percent_w_w: float, density_kg_l: float) -> None:
    """Refuse a label whose percent and density do not belong together.

    Raises
    ------
    BadInput
        Where the density is more than 5 % off the handbook's for that strength.
    """
    expected = table_density_kg_l(kind, percent_w_w)
    if not abs(density_kg_l - expected) <= LABEL_TOLERANCE * expected:
        raise BadInput(
            f"{percent_w_w:g} % {kind} does not weigh {density_kg_l:g} kg/L: the handbook has {expected:.3f}.",
            "Read the label again: percent by mass, density in kg/L at 20 °C, and whether it is this acid or base.",
        )


def _table(kind: str) -> _Rows:
    if kind not in TABLES:
        raise BadInput(f"No density table for '{kind}'.", f"Expected one of {', '.join(TABLES)}.")
    return TABLES[kind]
