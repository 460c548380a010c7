"""From typed texts to inputs, with every mistake reported at once."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any, get_args

from rounds.errors import BadInput
from rounds.markout.as_built import jug_flow_l_min
from rounds.markout.checks import RANGES_MM, mistakes_in, size_mistake
from rounds.markout.crops import CROPS, POT_RIM_MM, needs_of
from rounds.markout.fields import BY_NAME, FIELDS, Field
from rounds.markout.inputs import Inputs, Material, Pipe, Section
from rounds.markout.mistakes import Mistake, raise_if_any
from rounds.text import clean_line
from rounds.units import parse_number, parse_quantity, split_quantity

_INCHES = re.compile(r"(?<=[0-9\s])(in|inch|inches|ft|foot|feet|\"|')(?![a-zA-Z])", re.IGNORECASE)
_METRIC = re.compile(r"(?<=[0-9\s])(mm|cm|dm|m)(?![a-zA-Z])")
_TAPE = (
    "length",
    "section",
    "slope",
    "wall",
    "spacing",
    "pot",
    "hole",
    "first_site",
    "outlet_clearance",
    "inspection",
    "supports",
    "ground",
    "string",
    "lowest_packer",
)
_METRIC_MM = {"mm": 1.0, "cm": 10.0, "dm": 100.0, "m": 1000.0}
_LISTED = re.compile(r"(.*?[0-9])\s*([a-zA-Z\"']+)?\s*\Z", re.DOTALL)
_SLOPE = re.compile(r"1\s*(?::|in)\s*([0-9.,]+)\Z", re.IGNORECASE)
_LONGEST = 200


def read(texts: Mapping[str, str]) -> Inputs:
    """Read the texts of the form into checked inputs.

    Parameters
    ----------
    texts : mapping of field name to text
        What was typed, by the names in `rounds.markout.fields.FIELDS`; empty or missing fields take their usual value.

    Returns
    -------
    Inputs
        Lengths in mm, flow in L/min.

    Raises
    ------
    SeveralMistakes
        Every text that cannot be read, and every value that cannot be built.

    Examples
    --------
    >>> typed = {"length": "4.2m", "section": "120x60mm", "slope": "1:40", "spacing": "250", "hole": "50", "flow": "1"}
    >>> read(typed).length_mm
    4200.0
    """
    mistakes: list[Mistake] = list(_unknown(texts)) + list(_mixed_units(texts))
    values = {field.name: _value(field, texts, mistakes) for field in FIELDS}
    _need(values, texts, mistakes)
    inputs = _inputs(_STAND_INS | {name: value for name, value in values.items() if value is not None})
    raise_if_any([*mistakes, *mistakes_in(inputs)])
    return inputs


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
    parts = _parts(text, decimal_commas=usual == "m")
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
    parts = _parts(text)
    match = re.match(r"[0-9.]+\s*([a-zA-Z].*)\Z", parts[-1])
    unit = match.group(1) if match else "L/min"
    return tuple(_jug(part) if re.search(r"[0-9]\s*(s|sec|min)?\Z", part.partition("/")[2]) else
                 parse_quantity(part if split_quantity(part)[1] else f"{part} {unit}", usual="L/min")
                 for part in parts)  # fmt: skip


def _jug(text: str) -> float:
    volume, _, seconds = text.partition("/")
    return jug_flow_l_min(parse_quantity(volume, usual="L"), parse_quantity(seconds, usual="s"))


def _value(field: Field, texts: Mapping[str, str], mistakes: list[Mistake]) -> Any:
    text = (texts.get(field.name) or "").strip() or field.start
    if not text:
        return None
    try:
        return _READERS[field.kind](field, _not_too_long(text))
    except BadInput as error:
        mistakes.append(
            Mistake(
                field=field.name,
                sentence=f"{field.label}: {error.sentence}",
                hint=error.hint or f"Such as {field.example}.",
            )
        )
        return None


def _not_too_long(text: str) -> str:
    if len(text) > _LONGEST:
        raise BadInput("The text is too long.")
    return text


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
    match = _SLOPE.match(text)
    if match:
        return "run", _above_zero(parse_number(match.group(1)))
    if text.endswith("%"):
        return "run", 100 / _above_zero(parse_number(text[:-1]))
    if field.usual and text[:1].isdigit() and split_quantity(text)[1]:
        return "fall", _above_zero(length_mm(text))
    also = " or 105mm over the length" if field.usual else ""
    raise BadInput(f"“{_safe(text)}” is not a slope.", f"1:40, 2.5%{also} is expected.")


def _places(field: Field, text: str) -> int | tuple[float, ...]:
    if field.name == "supports" and re.fullmatch(r"[+-]?[0-9]+", text):
        return int(text)
    return lengths_mm(text, field.usual)


def _levels(field: Field, text: str) -> tuple[float, ...]:
    return lengths_mm(text, field.usual)


def _curve(field: Field, text: str) -> tuple[tuple[float, float], ...]:
    points = []
    for part in _parts(text):
        flow, mark, head = part.partition(":")
        if not mark:
            raise BadInput(f"“{_safe(part)}” is not a point of a pump curve.", f"Flow:head, such as {field.example}.")
        points.append((parse_quantity(flow, usual="L/min"), parse_quantity(head, usual="m")))
    return tuple(points)


def _pipe(field: Field, text: str) -> Pipe:
    diameter, mark, length = text.partition(":")
    if not mark:
        raise BadInput(f"“{_safe(text)}” is not a pipe.", f"Inner diameter:length, such as {field.example}.")
    pipe = Pipe(diameter_mm=length_mm(diameter, "mm"), length_mm=length_mm(length, "m"))
    if not (pipe.diameter_mm > 0 and pipe.length_mm >= 0):
        raise BadInput("A pipe's diameter is above 0 and its length not below 0.", f"Such as {field.example}.")
    return pipe


def _words(field: Field, text: str) -> str:
    known = {"crop": tuple(CROPS), "material": get_args(Material)}.get(field.name)
    if known is not None and text.lower() not in known:
        raise BadInput(f"“{_safe(text)}” is not known.", f"One of {', '.join(known)} is expected.")
    return text.lower() if known else _safe(text)


def _yes(field: Field, text: str) -> bool:
    if text.lower() not in ("yes", "y", "no", "n"):
        raise BadInput(f"“{_safe(text)}” is neither yes nor no.", "yes or no is expected.")
    return text.lower().startswith("y")


_READERS: dict[str, Callable[[Field, str], Any]] = {
    "length": _length, "quantity": _quantity, "count": _count, "section": _section, "slope": _slope, "places": _places,
    "levels": _levels, "curve": _curve, "pipe": _pipe, "words": _words, "yes": _yes,
}  # fmt: skip


_STAND_INS: dict[str, Any] = dict.fromkeys(BY_NAME) | {
    "length": 60_000.0, "section": (1000.0, 1000.0), "slope": ("run", 40.0), "flow": 1.0, "wall": 2.0, "channels": 1,
    "first_site": 500.0, "outlet_clearance": 0.0, "inspection_hole": 5.0, "inspection_clearance": 0.0,
    "outlet": "open", "lowest_packer": 0.0,
    "aisle": 600.0, "reach": 600.0, "kerf": 0.0, "temperature": 20.0, "fittings": 0.0, "return_slope": ("run", 50.0),
    "stock": (6000.0,), "pipe_stock": (3000.0,), "packer_stock": (2400.0,), "material": "pvc", "plant_last_site": False,
}  # fmt: skip
"""Values that no other field can be at odds with, so that the rest is still checked where one cannot be read."""


def _need(values: dict[str, Any], texts: Mapping[str, str], mistakes: list[Mistake]) -> None:
    wrong = {mistake.field for mistake in mistakes}
    for name in ("length", "section", "slope", "flow"):
        if values[name] is None and name not in wrong:
            field = BY_NAME[name]
            mistakes.append(
                Mistake(field=name, sentence=f"{field.label} is missing.", hint=f"Such as {field.example}.")
            )
    if values["spacing"] is None and values["crop"] is None and not wrong & {"spacing", "crop"}:
        mistakes.append(
            Mistake(field="spacing", sentence="Neither spacing nor crop is given.", hint="Such as 250mm, or lettuce.")
        )
    if values["hole"] is None and values["pot"] is None and not wrong & {"hole", "pot"}:
        mistakes.append(Mistake(field="hole", sentence="Neither hole nor pot is given.", hint="Such as 45mm."))


def _inputs(values: dict[str, Any]) -> Inputs:
    width, height = values["section"]
    kind, slope = values["slope"]
    supports = values["supports"]
    spacing, hole, pot = values["spacing"], values["hole"], values["pot"]
    if spacing is None:
        spacing = needs_of(values["crop"]).spacing_mm if values["crop"] else 3000.0
    if hole is None:
        hole = pot - POT_RIM_MM if pot is not None else 5.0
    return Inputs(
        length_mm=values["length"],
        section=Section(form="round" if height is None else "rectangular", width_mm=width,
                        height_mm=width if height is None else height, wall_mm=values["wall"]),
        run_per_rise=slope if kind == "run" else values["length"] / slope,
        spacing_mm=spacing, hole_mm=hole, flow_l_min=values["flow"],
        support_count=supports if isinstance(supports, int) else None,
        supports_mm=None if isinstance(supports, int) else supports,
        outlet_mm=None if values["outlet"] == "open" else values["outlet"],
        parts=values["parts"] or "", pump_curve=values["pump"], header_mm=values["header"],
        return_run_per_rise=values["return_slope"][1], fittings_k=values["fittings"],
        **{f"{name}_mm": values[name] for name in _SAME_LENGTHS},
        reservoir_l=values["reservoir_full"],
        working_l=values["reservoir_working"],
        per_plant_l=values["per_plant"],
        **{name: values[name] for name in _SAME},
        temperature_c=values["temperature"],
    )  # fmt: skip


_SAME_LENGTHS = (
    "pot",
    "first_site",
    "outlet_clearance",
    "inspection",
    "inspection_hole",
    "inspection_clearance",
    "outlet_from_end",
    "ground",
    "string",
    "lowest_packer",
    "room",
    "aisle",
    "reach",
    "row_spacing",
    "lift",
    "stock",
    "pipe_stock",
    "packer_stock",
    "kerf",
)
_SAME = ("crop", "material", "plant_last_site", "channels", "supply_pipe", "inlet_tube", "return_pipe")


def _mixed_units(texts: Mapping[str, str]) -> list[Mistake]:
    inch = [name for name in _TAPE if _INCHES.search(texts.get(name) or "") and not _SLOPE.match(texts[name].strip())]
    metric = [name for name in _TAPE if _METRIC.search(texts.get(name) or "")]
    bare = [name for name in _TAPE if _is_bare(name, (texts.get(name) or "").strip())]
    if not inch or not metric + bare:
        return []
    others = [f"{_labels(metric)} in metric units"] if metric else []
    others += [f"{_labels(bare)} without a unit (read as metric)"] if bare else []
    return [Mistake(
        field=inch[0],
        sentence=f"Inches and millimetres are mixed: {_labels(inch)} in inches or feet, {', '.join(others)}.",
        hint="One tape for all of it is expected.",
    )]  # fmt: skip


def _is_bare(name: str, text: str) -> bool:
    counts = name == "supports" and re.fullmatch(r"[0-9]+", text)
    ratio = name == "slope" or not re.search(r"[1-9]", text)
    return bool(text) and not counts and not ratio and not re.search(r"[a-wyzA-WYZ\"']", text)


def _unknown(texts: Mapping[str, str]) -> list[Mistake]:
    unknown = [name for name in texts if name not in BY_NAME]
    return [Mistake(field=name, sentence=f"There is no field “{_safe(name)}”.") for name in unknown]


def _labels(names: list[str]) -> str:
    return ", ".join(BY_NAME[name].label.lower() for name in names)


def _parts(text: str, decimal_commas: bool = False) -> list[str]:
    spaces_only = decimal_commas or ";" in text or "," not in text
    marks = r"[;\s]+|(?<=[a-zA-Z]),\s*|,\s+" if spaces_only else r"\s*,\s*"
    joined = re.sub(r"(?<=[0-9])\s+(?=[a-zA-Z\"'])", "", text.strip())
    return [part for part in re.split(marks, joined) if part] or [""]


def _above_zero(value: float) -> float:
    if not value > 0:
        raise BadInput(f"A slope with {value:g} is none.", "1:40 or 2.5% is expected.")
    return value


def _safe(text: str) -> str:
    return clean_line(text, 60)
