"""How many channels stand across a room, with aisles from which an arm reaches every plant."""

from __future__ import annotations

import math
from dataclasses import dataclass

from rounds.markout.crops import needs_of
from rounds.markout.inputs import Inputs


@dataclass(frozen=True, slots=True, kw_only=True)
class Across:
    """Channels that fit across the room."""

    pitch_mm: float
    """Middle to middle of neighbouring channels. [mm]"""
    fits: int | None
    """None where the room's width is not given."""
    aisles: int
    beside_each_aisle: str


def across(inputs: Inputs) -> Across:
    """Count the channels that fit across the room.

    Each aisle is worked to both sides as far as an arm reaches; one aisle along a wall serves one side. Every channel
    takes a full pitch, so that leaves have room at the walls too.

    Examples
    --------
    >>> from rounds.markout.typed import read
    >>> typed = {"length": "3m", "section": "100x50mm", "slope": "1:40", "spacing": "200", "hole": "45", "flow": "1",
    ...          "room": "1.8m"}
    >>> across(read(typed)).fits
    6
    """
    pitch = pitch_mm(inputs)
    if inputs.room_mm is None:
        return Across(pitch_mm=pitch, fits=None, aisles=0, beside_each_aisle="")
    best = max(_layouts(inputs, inputs.room_mm, pitch), key=lambda layout: (layout[0], -layout[1]))
    fits, aisles, sides, each = best
    side = "each side" if sides == 2 else "one side"
    words = f"{each} on {side} of {aisles} aisle{'s' if aisles > 1 else ''}"
    return Across(pitch_mm=pitch, fits=fits, aisles=aisles, beside_each_aisle=words if fits else "none")


def pitch_mm(inputs: Inputs) -> float:
    """Middle to middle of neighbouring channels: as given, else what crop, sites and the channel itself want."""
    if inputs.row_spacing_mm is not None:
        return inputs.row_spacing_mm
    wanted = needs_of(inputs.crop).spacing_mm if inputs.crop else inputs.spacing_mm
    return max(wanted, inputs.section.outer_width_mm)


def _layouts(inputs: Inputs, room_mm: float, pitch: float) -> list[tuple[int, int, int, int]]:
    found = [(0, 1, 2, 0)]
    for aisles in range(1, max(1, int(room_mm // inputs.aisle_mm)) + 1):
        for sides in (1, 2):
            strip = min(inputs.reach_mm, (room_mm - aisles * inputs.aisle_mm) / (aisles * sides))
            each = math.floor(strip / pitch + 1e-9) if strip > 0 else 0
            found.append((each * aisles * sides, aisles, sides, each))
    return found
