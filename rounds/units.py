"""The one door to pint: read what growers type, show what they expect.

Inside the project every number is a plain float in the unit its name says. A bare number, or one with the usual unit
behind it, never loads pint: its registry costs a quarter of a second once, so `warm_up` is called off the event loop.
"""

from __future__ import annotations

import math
import re
from functools import lru_cache
from typing import TYPE_CHECKING, Literal

from rounds.errors import BadInput

if TYPE_CHECKING:
    from pint import UnitRegistry

Gallon = Literal["us", "imperial"]

_PLAIN = re.compile(r"[+-]?[0-9]+([.,][0-9]+)?\Z")
_LEADING = re.compile(r"([+-]?[0-9]+(?:[.,][0-9]+)*)\s*(.*)\Z", re.DOTALL)
_SAFE_UNIT = re.compile(r"[a-zA-Z0-9_°µμ%³²\"' ]{1,24}([/*][a-zA-Z0-9_ *³²]{1,24})?\Z")
_LONGEST = 40

_SPELLINGS = {
    "°c": "degC",
    "c": "degC",
    "celsius": "degC",
    "°f": "degF",
    "f": "degF",
    "fahrenheit": "degF",
    "%": "percent",
    "l": "L",
    "ml": "mL",
    "cl": "cL",
    "dl": "dL",
    "litre": "L",
    "litres": "L",
    "liter": "L",
    "l/min": "L/min",
    "l/h": "L/hour",
    "ml/min": "mL/min",
    "g/l": "g/L",
    "mg/l": "mg/L",
    "ml/l": "mL/L",
    "ms/cm": "mS/cm",
    "us/cm": "uS/cm",
    "µs/cm": "uS/cm",
    "μs/cm": "uS/cm",
    "ds/m": "dS/m",
    "ms": "mS/cm",
    "us": "uS/cm",
    "µs": "uS/cm",
    "μs": "uS/cm",
    "ec": "mS/cm",
    "cf": "conductivity_factor",
    "ppm500": "ppm_500_scale",
    "ppm700": "ppm_700_scale",
    "meq/l": "mmol/L",
    "me/l": "mmol/L",
    '"': "inch",
    "in": "inch",
    "'": "foot",
    "m³": "m**3",
    "h": "hour",
}
_ASK_WHICH = {
    "ppm": ("ppm of conductivity can mean two scales.", "Write ppm500 or ppm700, or mS/cm."),
    "tds": ("TDS can mean two scales.", "Write ppm500 or ppm700, or mS/cm."),
}
_GALLONS = {"gal", "gallon", "gallons", "gal/min", "gpm", "gal/h", "gph"}


def parse_number(text: str) -> float:
    """Read one plain decimal number with a point or a comma.

    Raises
    ------
    BadInput
        For nothing, two marks (`6,4,2`, `1,234.5`), exponents, `nan`, other scripts' digits, over 40 characters.

    Examples
    --------
    >>> parse_number("6,15")
    6.15
    """
    stripped = text.strip()
    if not stripped:
        raise BadInput("There is no number here.", "A number such as 6.4 or 6,4 is expected.")
    if len(stripped) > _LONGEST or not _PLAIN.match(stripped):
        raise BadInput(f"{_shown(stripped)} is not a number.", "Write digits with one point or comma: 6.4 or 6,4.")
    return float(stripped.replace(",", "."))


def parse_quantity(text: str, *, usual: str, gallon: Gallon | None = None) -> float:
    """Read a number with or without a unit, as a value in the usual unit.

    Parameters
    ----------
    text : str
        As typed: `31`, `31cm`, `70 F`, `1900 uS/cm`.
    usual : str
        The unit that a bare number has, and in which the value is returned; "" for a number without unit.
    gallon : "us", "imperial" or None
        What the farm means by a gallon; None where it has not said.

    Raises
    ------
    BadInput
        For no number, an unknown unit, a unit of another kind, or a gallon before the farm has said which.

    Examples
    --------
    >>> parse_quantity("31cm", usual="cm")
    31.0
    """
    number, unit = split_quantity(text)
    value = parse_number(number)
    if not unit or unit == usual or _spelled(unit) == _spelled(usual):
        return value
    return convert(value, _which_gallon(unit, gallon), usual)


def split_quantity(text: str) -> tuple[str, str]:
    """Part a typed quantity into its number and its unit, both as typed.

    Raises
    ------
    BadInput
        Where it does not begin with digits.
    """
    match = _LEADING.match(text.strip()[: 2 * _LONGEST])
    if match is None:
        parse_number(text)
        raise BadInput(f"{_shown(text)} does not begin with a number.", "Write the number first, such as 31 cm.")
    return match.group(1), match.group(2).strip()


def convert(value: float, unit: str, to: str) -> float:
    """Turn a value from one unit into another of the same kind.

    Raises
    ------
    BadInput
        For a unit nobody knows or one of another kind.
    """
    import pint

    registry = _registry()
    lowered = unit.strip().lower()
    if lowered in _ASK_WHICH:
        raise BadInput(*_ASK_WHICH[lowered])
    if not _is_safe(unit) or "**" in unit:
        raise BadInput(f"The unit {_shown(unit)} is not known.", _expected(to))
    try:
        converted = registry.Quantity(value, _spelled(unit)).to(_spelled(to)).magnitude
    except pint.UndefinedUnitError as error:
        raise BadInput(f"The unit {_shown(unit)} is not known.", _expected(to)) from error
    except (pint.PintError, AttributeError, TypeError, ValueError, AssertionError) as error:
        raise BadInput(f"{_shown(unit)} is not a unit of the kind wanted here.", _expected(to)) from error
    if not math.isfinite(converted):
        raise BadInput(f"{value:g} {_shown(unit)} is too large a number.", _expected(to))
    return float(converted)


def show(value: float, unit: str = "", decimals: int | None = None) -> str:
    """Write a value as people read it.

    Examples
    --------
    >>> show(1.9, "mS/cm", 2)
    '1.90 mS/cm'
    """
    number = f"{value:.{decimals}f}" if decimals is not None else f"{value:.4g}"
    if float(number) == 0:
        number = number.lstrip("-")
    return f"{number} {unit}".rstrip()


def warm_up() -> None:
    """Build the registry, so that the first typed unit does not have to wait for it."""
    convert(1.0, "cm", "m")


@lru_cache(maxsize=1)
def _registry() -> UnitRegistry[float]:
    import pint

    registry: UnitRegistry[float] = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)
    registry.define("conductivity_factor = 0.1 * mS / cm")
    registry.define("ppm_500_scale = 0.002 * mS / cm")
    registry.define("ppm_700_scale = mS / cm / 700")
    return registry


def _spelled(unit: str) -> str:
    stripped = unit.strip()
    return _SPELLINGS.get(stripped.lower(), stripped)


def _which_gallon(unit: str, gallon: Gallon | None) -> str:
    if unit.strip().lower() not in _GALLONS:
        return unit
    if gallon is None:
        raise BadInput(
            "A gallon can be the US or the imperial one, and this farm has not said which.",
            'Write litres, or put gallon = "us" or gallon = "imperial" under [place] in farm.toml.',
        )
    size = "gallon" if gallon == "us" else "imperial_gallon"
    per = {"gal/min": "/min", "gpm": "/min", "gal/h": "/hour", "gph": "/hour"}.get(unit.strip().lower(), "")
    return size + per


def _expected(usual: str) -> str:
    return f"A number in {usual} is expected." if usual else "A plain number is expected."


def _is_safe(unit: str) -> bool:
    """Say whether a unit may go to pint, whose parser works out powers of any size."""
    return _SAFE_UNIT.match(unit) is not None


def _shown(text: str) -> str:
    safe = "".join(c if c.isprintable() else "\ufffd" for c in text[:_LONGEST])
    return f"“{safe}”" + ("…" if len(text) > _LONGEST else "")
