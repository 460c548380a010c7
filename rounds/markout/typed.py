"""From typed texts to inputs, with every mistake reported at once."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from rounds.errors import BadInput
from rounds.markout.checks import mistakes_in
from rounds.markout.crops import POT_RIM_MM, needs_of
from rounds.markout.fields import BY_NAME, FIELDS, Field
from rounds.markout.inputs import Inputs, InputSection
from rounds.markout.lengths import flows_l_min, length_mm, lengths_mm
from rounds.markout.mistakes import InputMistake, raise_if_any
from rounds.markout.mixed_units import mixed_units
from rounds.markout.reading_fields import read_field, safe

__all__ = ["flows_l_min", "length_mm", "lengths_mm", "read"]


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
    mistakes: list[InputMistake] = list(_unknown(texts)) + list(mixed_units(texts))
    values = {field.name: _value(field, texts, mistakes) for field in FIELDS}
    _need(values, texts, mistakes)
    inputs = _inputs(_STAND_INS | {name: value for name, value in values.items() if value is not None})
    raise_if_any([*mistakes, *mistakes_in(inputs)])
    return inputs


def _value(field: Field, texts: Mapping[str, str], mistakes: list[InputMistake]) -> Any:
    text = (texts.get(field.name) or "").strip() or field.start
    if not text:
        return None
    try:
        return read_field(field, text)
    except BadInput as error:
        mistakes.append(
            InputMistake(
                field=field.name,
                sentence=f"{field.label}: {error.sentence}",
                hint=error.hint or f"Such as {field.example}.",
            )
        )
        return None


_STAND_INS: dict[str, Any] = dict.fromkeys(BY_NAME) | {
    "length": 60_000.0, "section": (1000.0, 1000.0), "slope": ("run", 40.0), "flow": 1.0, "wall": 2.0, "channels": 1,
    "first_site": 500.0, "outlet_clearance": 0.0, "inspection_hole": 5.0, "inspection_clearance": 0.0,
    "outlet": "open", "lowest_packer": 0.0,
    "aisle": 600.0, "reach": 600.0, "kerf": 0.0, "temperature": 20.0, "fittings": 0.0, "return_slope": ("run", 50.0),
    "stock": (6000.0,), "pipe_stock": (3000.0,), "packer_stock": (2400.0,), "material": "pvc", "plant_last_site": False,
}  # fmt: skip
"""Values that no other field can be at odds with, so that the rest is still checked where one cannot be read."""


def _need(values: dict[str, Any], texts: Mapping[str, str], mistakes: list[InputMistake]) -> None:
    wrong = {mistake.field for mistake in mistakes}
    for name in ("length", "section", "slope", "flow"):
        if values[name] is None and name not in wrong:
            field = BY_NAME[name]
            sentence = f"{field.label} is missing."
            mistakes.append(
                InputMistake(field=name, sentence=sentence, hint=f"Such as {field.example}.", is_missing=True)
            )
    for either, other, such_as in (("spacing", "crop", "250mm, or lettuce"), ("hole", "pot", "45mm")):
        if values[either] is None and values[other] is None and not wrong & {either, other}:
            sentence = f"Neither {either} nor {other} is given."
            mistakes.append(InputMistake(field=either, sentence=sentence, hint=f"Such as {such_as}.", is_missing=True))


def _inputs(values: dict[str, Any]) -> Inputs:
    kind, slope = values["slope"]
    supports = values["supports"]
    return Inputs(
        length_mm=values["length"],
        section=_section(*values["section"], wall_mm=values["wall"]),
        run_per_rise=slope if kind == "run" else values["length"] / slope,
        spacing_mm=_spacing_mm(values["spacing"], values["crop"]),
        hole_mm=_hole_mm(values["hole"], values["pot"]), flow_l_min=values["flow"],
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


def _section(width_mm: float, height_mm: float | None, *, wall_mm: float) -> InputSection:
    if height_mm is None:
        return InputSection(form="round", width_mm=width_mm, height_mm=width_mm, wall_mm=wall_mm)
    return InputSection(form="rectangular", width_mm=width_mm, height_mm=height_mm, wall_mm=wall_mm)


def _spacing_mm(typed: float | None, crop: str | None) -> float:
    if typed is not None:
        return typed
    return needs_of(crop).spacing_mm if crop else 3000.0


def _hole_mm(typed: float | None, pot_mm: float | None) -> float:
    if typed is not None:
        return typed
    return pot_mm - POT_RIM_MM if pot_mm is not None else 5.0


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


def _unknown(texts: Mapping[str, str]) -> list[InputMistake]:
    unknown = [name for name in texts if name not in BY_NAME]
    return [InputMistake(field=name, sentence=f"There is no field “{safe(name)}”.") for name in unknown]
