"""What is typed into one field, by its kind: a length, a section, a slope, a pump's curve, a pipe, a word."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any, get_args

from rounds.errors import BadInput
from rounds.markout.crops import CROPS
from rounds.markout.fields import Field
from rounds.markout.inputs import Material, Pipe
from rounds.markout.lengths import length_mm, lengths_mm, parts_of
from rounds.markout.size_checks import RANGES_MM, size_mistake
from rounds.text import clean_line
from rounds.units import parse_number, parse_quantity, split_quantity

SLOPE = re.compile(r"1\s*(?::|in)\s*([0-9.,]+)\Z", re.IGNORECASE)
LONGEST = 200


def read_field(field: Field, text: str) -> Any:
    """Read a text that is not empty.

    Raises
    ------
    BadInput
        Where it cannot be read; the sentence does not name the field.
    """
    if len(text) > LONGEST:
        raise BadInput("The text is too long.")
    return _READERS[field.kind](field, text)


def safe(text: str) -> str:
    """A typed text that may be shown."""
    return clean_line(text, 60)


def _length(field: Field, text: str) -> float | str:
    if field.name == "outlet" and text.lower() in ("open", "open end", "none"):
        return "open"
    value = length_mm(text, field.usual)
    for mistake in size_mistake(field.name, value) if field.name in RANGES_MM else ():
        low, high, _ = RANGES_MM[field.name]
        bare = not split_quantity(text)[1] and field.usual == "m"
        if bare and low <= value / 1000 <= high:
            raise BadInput(f"{text} without a unit is read as metres.", f"Did you mean {text} mm?")
        raise BadInput(mistake.sentence, mistake.hint)
    return value


def _quantity(field: Field, text: str) -> float:
    return parse_quantity(text, usual=field.usual)


def _count(field: Field, text: str) -> int:
    value = parse_number(text)
    if value != int(value):
        raise BadInput(f"{text} is not a whole number.", f"Such as {field.example}.")
    return int(value)


def _section(field: Field, text: str) -> tuple[float, float | None]:
    plain = re.sub(r"\A\s*(round|dia(meter)?|d|ø)\s*|\s*round\s*\Z", "", text, flags=re.IGNORECASE)
    parts = [part.strip() for part in re.split(r"[x×*]", plain, flags=re.IGNORECASE)]
    if len(parts) > 2:
        raise BadInput("The section has more than two sizes.", "Width x height, or one diameter: 120x60mm or 100mm.")
    unit = split_quantity(parts[-1])[1] or "mm"
    sizes = [length_mm(part, unit) if split_quantity(part)[1] else length_mm(f"{part}{unit}") for part in parts]
    if not all(size > 0 for size in sizes):
        raise BadInput("A size of the section is not above 0.", "Such as 120x60mm or 100mm.")
    return sizes[0], sizes[1] if len(sizes) == 2 else None


def _slope(field: Field, text: str) -> tuple[str, float]:
    match = SLOPE.match(text)
    if match:
        return "run", _above_zero(parse_number(match.group(1)))
    if text.endswith("%"):
        return "run", 100 / _above_zero(parse_number(text[:-1]))
    if field.usual and text[:1].isdigit() and split_quantity(text)[1]:
        return "fall", _above_zero(length_mm(text))
    also = " or 105mm over the length" if field.usual else ""
    raise BadInput(f"“{safe(text)}” is not a slope.", f"1:40, 2.5%{also} is expected.")


def _places(field: Field, text: str) -> int | tuple[float, ...]:
    if field.name == "supports" and re.fullmatch(r"[+-]?[0-9]+", text):
        return int(text)
    return lengths_mm(text, field.usual)


def _levels(field: Field, text: str) -> tuple[float, ...]:
    return lengths_mm(text, field.usual)


def _curve(field: Field, text: str) -> tuple[tuple[float, float], ...]:
    points = []
    for part in parts_of(text):
        flow, mark, head = part.partition(":")
        if not mark:
            raise BadInput(f"“{safe(part)}” is not a point of a pump curve.", f"Flow:head, such as {field.example}.")
        points.append((parse_quantity(flow, usual="L/min"), parse_quantity(head, usual="m")))
    return tuple(points)


def _pipe(field: Field, text: str) -> Pipe:
    diameter, mark, length = text.partition(":")
    if not mark:
        raise BadInput(f"“{safe(text)}” is not a pipe.", f"Inner diameter:length, such as {field.example}.")
    pipe = Pipe(diameter_mm=length_mm(diameter, "mm"), length_mm=length_mm(length, "m"))
    if not (pipe.diameter_mm > 0 and pipe.length_mm >= 0):
        raise BadInput("A pipe's diameter is above 0 and its length not below 0.", f"Such as {field.example}.")
    return pipe


def _words(field: Field, text: str) -> str:
    known = {"crop": tuple(CROPS), "material": get_args(Material)}.get(field.name)
    if known is not None and text.lower() not in known:
        raise BadInput(f"“{safe(text)}” is not known.", f"One of {', '.join(known)} is expected.")
    return text.lower() if known else safe(text)


def _yes(field: Field, text: str) -> bool:
    if text.lower() not in ("yes", "y", "no", "n"):
        raise BadInput(f"“{safe(text)}” is neither yes nor no.", "yes or no is expected.")
    return text.lower().startswith("y")


_READERS: dict[str, Callable[[Field, str], Any]] = {
    "length": _length, "quantity": _quantity, "count": _count, "section": _section, "slope": _slope, "places": _places,
    "levels": _levels, "curve": _curve, "pipe": _pipe, "words": _words, "yes": _yes,
}  # fmt: skip


def _above_zero(value: float) -> float:
    if not value > 0:
        raise BadInput(f"A slope with {value:g} is none.", "1:40 or 2.5% is expected.")
    return value
