"""What cannot be built, found in one pass over the inputs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from rounds.markout.inputs import Inputs
from rounds.markout.mistakes import InputMistake, raise_if_any
from rounds.markout.water_checks import water_mistakes

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


def check(inputs: Inputs) -> None:
    """Refuse inputs that cannot be a channel.

    Raises
    ------
    SeveralMistakes
        With every mistake that was found.
    """
    raise_if_any(mistakes_in(inputs))


def mistakes_in(inputs: Inputs) -> Iterator[InputMistake]:
    """Yield every mistake, in the order of the form."""
    yield from _sizes(inputs)
    yield from _counts(inputs)
    yield from _holes(inputs)
    yield from _supports(inputs)
    yield from _ground(inputs)
    yield from water_mistakes(inputs)


def _sizes(inputs: Inputs) -> Iterator[InputMistake]:
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


def _counts(inputs: Inputs) -> Iterator[InputMistake]:
    if not 2 <= inputs.run_per_rise <= 2000:
        yield InputMistake(
            field="slope",
            sentence=f"A slope of 1 in {inputs.run_per_rise:g} cannot be a channel's.",
            hint="1:2 to 1:2000 can be worked out; 1:40 is usual.",
        )
    if not 1 <= inputs.channels <= 200:
        yield InputMistake(
            field="channels", sentence=f"{inputs.channels} channels cannot be laid out.", hint="1 to 200 are expected."
        )
    if inputs.support_count is not None and not 2 <= inputs.support_count <= 100:
        yield InputMistake(
            field="supports",
            sentence=f"{inputs.support_count} supports cannot carry a channel.",
            hint="2 to 100 are expected.",
        )


def _holes(inputs: Inputs) -> Iterator[InputMistake]:
    section = inputs.section
    widest = section.width_mm if section.form == "rectangular" else 0.9 * section.width_mm
    name = "inner width" if section.form == "rectangular" else "nine tenths of the diameter"
    for field, size in (("hole", inputs.hole_mm), ("inspection_hole", inputs.inspection_hole_mm)):
        if not size < widest and (field == "hole" or inputs.inspection_mm is not None):
            yield InputMistake(
                field=field,
                sentence=f"A hole of {size:g} mm is wider than the channel allows.",
                hint=f"Less than {widest:g} mm ({name}) is expected.",
            )
    if inputs.outlet_mm is not None and not inputs.outlet_mm < section.width_mm:
        yield InputMistake(
            field="outlet",
            sentence=f"An outlet of {inputs.outlet_mm:g} mm does not fit into the channel.",
            hint=f"Less than {section.width_mm:g} mm is expected.",
        )
    yield from _first_site(inputs)
    yield from _at_the_end(inputs)


def _first_site(inputs: Inputs) -> Iterator[InputMistake]:
    if not inputs.spacing_mm > inputs.hole_mm:
        yield InputMistake(
            field="spacing",
            sentence=f"At a spacing of {inputs.spacing_mm:g} mm the holes of "
            f"{inputs.hole_mm:g} mm run into each other.",
            hint="A spacing above the hole is expected.",
        )
    if not inputs.first_site_mm >= inputs.hole_mm / 2:
        yield InputMistake(
            field="first_site",
            sentence="The first hole would be cut by the inlet end.",
            hint=f"{inputs.hole_mm / 2:g} mm or more is expected.",
        )
    room = inputs.length_mm - inputs.outlet_clearance_mm - inputs.hole_mm / 2
    if not inputs.first_site_mm <= room:
        yield InputMistake(
            field="first_site",
            sentence=f"The first site at {inputs.first_site_mm:g} mm does not fit.",
            hint=f"At most {room:g} mm is possible with this length and clearance.",
        )


def _at_the_end(inputs: Inputs) -> Iterator[InputMistake]:
    """The outlet and the inspection opening lie wholly within the channel."""
    openings = (
        ("inspection", "inspection opening", inputs.inspection_mm, inputs.inspection_hole_mm),
        ("outlet_from_end", "outlet", inputs.outlet_from_end_mm, inputs.outlet_mm),
    )
    for field, name, back, size in openings:
        if back is not None and size is not None and not size / 2 <= back <= inputs.length_mm - size / 2:
            yield InputMistake(
                field=field,
                sentence=f"An {name} {back:g} mm from the outlet end would be cut by an end.",
                hint=f"{size / 2:g} to {inputs.length_mm - size / 2:g} mm is expected.",
            )


def _supports(inputs: Inputs) -> Iterator[InputMistake]:
    places = inputs.supports_mm
    if places is None:
        return
    if len(places) < 2:
        yield InputMistake(
            field="supports", sentence="One support cannot carry a channel.", hint="Two or more are expected."
        )
    if not all(a < b for a, b in pairwise(places)):
        yield InputMistake(
            field="supports",
            sentence="The supports are out of order.",
            hint="Write their distances from the inlet end, rising.",
        )
    if not all(0 <= place <= inputs.length_mm for place in places):
        yield InputMistake(
            field="supports",
            sentence="A support stands beyond the channel.",
            hint=f"0 to {inputs.length_mm:g} mm from the inlet end is expected.",
        )


def _ground(inputs: Inputs) -> Iterator[InputMistake]:
    if inputs.ground_mm is not None and inputs.string_mm is not None:
        yield InputMistake(
            field="ground",
            sentence="The ground is given twice, as heights and from a string.",
            hint="Keep one of the two.",
        )
    count = len(inputs.supports_mm) if inputs.supports_mm is not None else inputs.support_count
    for field, levels in (("ground", inputs.ground_mm), ("string", inputs.string_mm)):
        if levels is not None:
            yield from _levels(field, levels, count)


def _levels(field: str, levels: Sequence[float], count: int | None) -> Iterator[InputMistake]:
    if count is None or len(levels) != count:
        yield InputMistake(
            field=field,
            sentence=f"{len(levels)} levels are given for {count or 'no stated'} supports.",
            hint="One level for each support is expected.",
        )
    if not all(-3000 <= level <= 3000 for level in levels):
        yield InputMistake(
            field=field, sentence="A level of the ground is not believable.", hint="-3000 to 3000 mm is expected."
        )
