"""Sizes that no channel, pipe or stock length has, and the unit that may have been meant."""

from __future__ import annotations

from collections.abc import Iterator

from rounds.markout.inputs import Inputs
from rounds.markout.mistakes import InputMistake

RANGES_MM: dict[str, tuple[float, float, str]] = {
    "length": (200, 60_000, "length of the channel"),
    "spacing": (10, 3_000, "spacing of the sites"),
    "hole": (5, 500, "hole"),
    "pot": (10, 500, "pot"),
    "first_site": (1, 60_000, "first site"),
    "outlet_clearance": (0, 3_000, "clearance at the outlet"),
    "inspection": (1, 60_000, "inspection opening"),
    "inspection_clearance": (0, 1_000, "clearance of the inspection opening"),
    "inspection_hole": (5, 500, "size of the inspection opening"),
    "outlet": (5, 300, "outlet"),
    "outlet_from_end": (0, 3_000, "place of the outlet"),
    "lowest_packer": (0, 3_000, "lowest packer"),
    "room": (500, 200_000, "width of the room"),
    "aisle": (200, 5_000, "aisle"),
    "reach": (200, 2_000, "reach of an arm"),
    "row_spacing": (20, 5_000, "distance of the channels"),
    "lift": (0, 20_000, "lift"),
    "header": (3, 300, "header pipe"),
    "wall": (0.3, 30, "wall"),
    "kerf": (0, 20, "saw cut"),
}
"""Lowest and highest believable length of each field, and its name in a sentence. [mm]"""


def size_mistakes(inputs: Inputs) -> Iterator[InputMistake]:
    """Yield every size that is not believable, in the order of the form."""
    values = {
        "length": inputs.length_mm, "spacing": inputs.spacing_mm, "hole": inputs.hole_mm, "pot": inputs.pot_mm,
        "first_site": inputs.first_site_mm, "outlet_clearance": inputs.outlet_clearance_mm,
        "inspection": inputs.inspection_mm, "inspection_clearance": inputs.inspection_clearance_mm,
        "inspection_hole": inputs.inspection_hole_mm, "outlet": inputs.outlet_mm,
        "outlet_from_end": inputs.outlet_from_end_mm, "lowest_packer": inputs.lowest_packer_mm, "room": inputs.room_mm,
        "aisle": inputs.aisle_mm, "reach": inputs.reach_mm, "row_spacing": inputs.row_spacing_mm,
        "lift": inputs.lift_mm, "header": inputs.header_mm, "wall": inputs.section.wall_mm, "kerf": inputs.kerf_mm,
    }  # fmt: skip
    for field, value in values.items():
        if value is not None:
            yield from size_mistake(field, value)
    yield from _section_and_pipes(inputs)
    yield from _stocks(inputs)


def _section_and_pipes(inputs: Inputs) -> Iterator[InputMistake]:
    for value in (inputs.section.width_mm, inputs.section.height_mm):
        if not 15 <= value <= 1000:
            yield InputMistake(
                field="section",
                sentence=f"A section of {value:g} mm cannot be a channel.",
                hint=f"15 to 1000 mm inside is expected.{_meant(value, 15, 1000)}",
            )
    for field, pipe in (
        ("supply_pipe", inputs.supply_pipe),
        ("inlet_tube", inputs.inlet_tube),
        ("return_pipe", inputs.return_pipe),
    ):
        if pipe is not None and not (1 <= pipe.diameter_mm <= 300 and 0 <= pipe.length_mm <= 200_000):
            yield InputMistake(
                field=field,
                sentence=f"A pipe of {pipe.diameter_mm:g} mm and {pipe.length_mm:g} mm length cannot be used here.",
                hint="1 to 300 mm inside and up to 200 m are expected.",
            )


def _stocks(inputs: Inputs) -> Iterator[InputMistake]:
    for field, lengths in (
        ("stock", inputs.stock_mm),
        ("pipe_stock", inputs.pipe_stock_mm),
        ("packer_stock", inputs.packer_stock_mm),
    ):
        if not lengths or not all(100 <= length <= 20_000 for length in lengths):
            yield InputMistake(
                field=field, sentence="The stock lengths cannot be used.", hint="0.1 to 20 m are expected."
            )


def size_mistake(field: str, value_mm: float) -> Iterator[InputMistake]:
    """Yield what is wrong with one length, and the unit that may have been meant."""
    low, high, name = RANGES_MM[field]
    if low <= value_mm <= high:
        return
    if not value_mm > 0 and low > 0:
        yield InputMistake(
            field=field, sentence=f"The {name} of {value_mm:g} mm is not a size.", hint="More than 0 is expected."
        )
        return
    yield InputMistake(
        field=field,
        sentence=f"The {name} of {_shown(value_mm)} is not believable.",
        hint=f"{_shown(low)} to {_shown(high)} is expected.{_meant(value_mm, low, high)}",
    )


def _meant(value_mm: float, low: float, high: float) -> str:
    if low <= value_mm / 1000 <= high and value_mm > high:
        return f" Did you mean {value_mm / 1000:g} mm?"
    if low <= value_mm * 1000 <= high and value_mm < low:
        return f" Did you mean {value_mm:g} m?"
    return ""


def _shown(value_mm: float) -> str:
    return f"{value_mm / 1000:g} m" if value_mm >= 1000 else f"{value_mm:g} mm"
