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

_WARMTH_KG_L = 0.003
"""What ten degrees more or less, and traces, do to a density. [kg/L]"""
_PRINTS_DIFFER = 0.03
"""Labels and tables differ by so much of what a density has above water's. [-]"""
_MOST_ROUNDING = 0.1
"""No percent is taken as rounded by more than this share of itself. [-]"""
_MOST_SPARE_KG_L = 0.008
"""However roughly a density is given, it is held to two decimals and the warmth. [kg/L]"""
_SLIP = 10.0
"""A decimal point that slipped by one place. [-]"""


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
    """Refuse a label whose percent and density differ by more than their rounding and the warmth of a bottle explain.

    Parameters
    ----------
    kind : str
        A name from TABLES.
    percent_w_w : float
        Strength as printed; a whole number is taken as rounded to it. [% by mass]
    density_kg_l : float
        Density as printed or weighed. [kg/L]

    Raises
    ------
    BadInput
        Where they do not belong together, with the strength that each of them says; or where the density is given so
        roughly that a slipped decimal of the percent would go unseen.
    OutOfRange
        Where the strength is beyond the table.

    Examples
    --------
    >>> check_label("nitric", 8.0, 1.043)
    >>> check_label("nitric", 0.8, 1.043)  # doctest: +ELLIPSIS
    Traceback (most recent call last):
        ...
    rounds.errors.BadInput: 0.8 % nitric does not weigh 1.043 kg/L: ... 1.043 kg/L is that of 8.0 %. ...
    """
    expected = table_density_kg_l(kind, percent_w_w)
    rounding = min(_half_digit(percent_w_w), _MOST_ROUNDING * percent_w_w)
    strongest = _table(kind)[-1][0]
    light = table_density_kg_l(kind, percent_w_w - rounding)
    heavy = table_density_kg_l(kind, min(percent_w_w + rounding, strongest))
    spare = _half_digit(density_kg_l) + _WARMTH_KG_L + _PRINTS_DIFFER * abs(expected - 1.0)
    off = min(spare, _MOST_SPARE_KG_L + _PRINTS_DIFFER * abs(expected - 1.0))
    if not light - off <= density_kg_l <= heavy + off:
        raise BadInput(
            f"{percent_w_w:g} % {kind} does not weigh {density_kg_l:g} kg/L: the handbook has {expected:.3f}, and "
            f"{density_kg_l:g} kg/L is {_said_by(kind, density_kg_l)}.",
            "Find out which of the two is right: percent by mass (look for a slipped decimal), density in kg/L at "
            "20 °C, and whether it is this acid or base.",
        )
    slipped = _SLIP * percent_w_w
    if slipped <= strongest and abs(table_density_kg_l(kind, slipped) - density_kg_l) <= spare:
        raise BadInput(
            f"A density of {density_kg_l:g} kg/L is too rough to tell {percent_w_w:g} % {kind} from {slipped:g} %.",
            "Give it with three decimals: weigh 100 mL on a scale that shows a tenth of a gram.",
        )


def _half_digit(number: float) -> float:
    """Half a unit of the last digit that is printed: 0.5 of 68, 0.05 of 0.8."""
    decimals = len(f"{number:.6f}".rstrip("0").partition(".")[2])
    return 0.5 * 10.0**-decimals


def _said_by(kind: str, density_kg_l: float) -> str:
    try:
        return f"that of {percent_of_density(kind, density_kg_l):.1f} %"
    except OutOfRange:
        return "none that this acid or base ever has"


def _table(kind: str) -> _Rows:
    if kind not in TABLES:
        raise BadInput(f"No density table for '{kind}'.", f"Expected one of {', '.join(TABLES)}.")
    return TABLES[kind]
