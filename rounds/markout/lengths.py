"""Lengths and flows as they stand on a tape, a list or a jug: one or many, with or without a unit."""

from __future__ import annotations

import re

from rounds.markout.as_built import jug_flow_l_min
from rounds.units import parse_number, parse_quantity, split_quantity

_METRIC_MM = {"mm": 1.0, "cm": 10.0, "dm": 100.0, "m": 1000.0}
_LISTED = re.compile(r"(.*?[0-9])\s*([a-zA-Z\"']+)?\s*\Z", re.DOTALL)


def length_mm(text: str, usual: str = "mm") -> float:
    """Read one length in mm; a bare number is in the usual unit.

    Raises
    ------
    BadInput
        Where it is no length.
    """
    number, unit = split_quantity(text)
    factor = _METRIC_MM.get(unit or usual)
    value = parse_number(number) * factor if factor is not None else parse_quantity(text, usual="mm")
    return round(value, 6)


def lengths_mm(text: str, usual: str = "mm") -> tuple[float, ...]:
    """Read a list of lengths; a unit behind the last one holds for all.

    Lists in mm are parted by commas, with decimal points; or by spaces or semicolons, where a comma is a decimal mark.
    Lists in m are parted by spaces or semicolons, since 2,4 m is one length.

    Raises
    ------
    BadInput
        Where one of them is no length.

    Examples
    --------
    >>> lengths_mm("0, 12, -5mm")
    (0.0, 12.0, -5.0)
    """
    parts = parts_of(text, decimal_commas=usual == "m")
    match = _LISTED.match(parts[-1])
    unit = (match.group(2) if match else None) or usual
    return tuple(length_mm(part, unit) for part in parts)


def flows_l_min(text: str) -> tuple[float, ...]:
    """Read measured flows: timed jugs such as `1L/52s`, or flows; a unit behind the last flow holds for all.

    Raises
    ------
    BadInput
        Where one of them is no flow.

    Examples
    --------
    >>> flows_l_min("1L/50s, 1L/60s")
    (1.2, 1.0)
    """
    parts = parts_of(text)
    match = re.match(r"[0-9.]+\s*([a-zA-Z].*)\Z", parts[-1])
    unit = match.group(1) if match else "L/min"
    return tuple(_jug(part) if re.search(r"[0-9]\s*(s|sec|min)?\Z", part.partition("/")[2]) else
                 parse_quantity(part if split_quantity(part)[1] else f"{part} {unit}", usual="L/min")
                 for part in parts)  # fmt: skip


def _jug(text: str) -> float:
    volume, _, seconds = text.partition("/")
    return jug_flow_l_min(parse_quantity(volume, usual="L"), parse_quantity(seconds, usual="s"))


def parts_of(text: str, decimal_commas: bool = False) -> list[str]:
    """Part a typed list at its marks, units kept with their numbers."""
    spaces_only = decimal_commas or ";" in text or "," not in text
    marks = r"[;\s]+|(?<=[a-zA-Z]),\s*|,\s+" if spaces_only else r"\s*,\s*"
    joined = re.sub(r"(?<=[0-9])\s+(?=[a-zA-Z\"'])", "", text.strip())
    return [part for part in re.split(marks, joined) if part] or [""]
