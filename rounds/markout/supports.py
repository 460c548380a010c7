"""Packers that give the fall over uneven ground, and how the channel sags on them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from rounds.markout.crops import needs_of
from rounds.markout.inputs import Inputs
from rounds.markout.ponds import STEPS, ponds_mm
from rounds.markout.sites import whole_mm
from rounds.science.beams import Beam, beam_on_supports, ring_second_moment_m4, tube_second_moment_m4
from rounds.science.running_water import GRAVITY_M_S2

ERROR_MM = 3.0
"""The largest error of a tape or a string on a farm (common practice). [mm]"""

MATERIALS: dict[str, tuple[float, float]] = {
    "pvc": (1.5e9, 1400), "abs": (1.1e9, 1050), "pp": (0.4e9, 910), "pe": (0.25e9, 950),
    "aluminium": (69e9, 2700), "stainless": (200e9, 7900), "galvanised": (200e9, 7850), "copper": (115e9, 8900),
}  # fmt: skip
"""Modulus after years under load [Pa] and density [kg/m3]; plastics creep to about half. Handbooks, memory."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Support:
    """One support: where it stands, how high the ground is, and what packer or post it gets."""

    at_mm: int
    ground_mm: float
    packer_mm: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """The channel between two supports."""

    from_mm: int
    to_mm: int
    fall_mm: float
    least_fall_mm: float
    """The fall that is left if tape and string were 3 mm wrong at both ends, each in the worse direction."""
    sag_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Bearing:
    """All supports of one channel and how it lies on them."""

    supports: tuple[Support, ...]
    stretches: tuple[Stretch, ...]
    pond_mm: float
    """Deepest water that stays when the pump stops, as planned."""
    worst_pond_mm: float
    """The same if tape and string were 3 mm wrong, in the worst directions."""
    load_kg_m: float


def bear(inputs: Inputs) -> Bearing:
    """Work out packers, falls, sag and ponds.

    Parameters
    ----------
    inputs : Inputs
        Checked inputs.

    Returns
    -------
    Bearing
        Packers in whole mm, each from the exact line: what is rounded never adds up.

    Examples
    --------
    >>> from rounds.markout.typed import read
    >>> typed = {"length": "3m", "section": "100x50mm", "slope": "1:40", "spacing": "250", "hole": "45", "flow": "1",
    ...          "supports": "4"}
    >>> [support.packer_mm for support in bear(read(typed)).supports]
    [75, 50, 25, 0]
    """
    places = support_places_mm(inputs)
    ground = ground_mm(inputs, len(places))
    packers = packers_mm(places, ground, inputs.length_mm, inputs.run_per_rise, inputs.lowest_packer_mm)
    levels = [g + p for g, p in zip(ground, packers, strict=True)]
    beam = beam_of(inputs, places)
    error = error_at_support_mm(inputs)
    stretches = _stretches(places, levels, beam, error)
    supports = tuple(
        Support(at_mm=whole_mm(at), ground_mm=level, packer_mm=packer)
        for at, level, packer in zip(places, ground, packers, strict=True)
    )
    pond, worst_pond = ponds_mm(places, levels, inputs.length_mm, beam, error)
    return Bearing(supports=supports, stretches=stretches, pond_mm=pond, worst_pond_mm=worst_pond,
                   load_kg_m=beam.load_n_m / GRAVITY_M_S2)  # fmt: skip


def support_places_mm(inputs: Inputs) -> tuple[float, ...]:
    """Where the supports stand: as given, or evenly from end to end, a metre apart at most where nothing is said."""
    if inputs.supports_mm is not None:
        return inputs.supports_mm
    count = inputs.support_count or max(2, math.ceil(inputs.length_mm / 1000) + 1)
    return tuple(float(whole_mm(inputs.length_mm * i / (count - 1))) for i in range(count))


def ground_mm(inputs: Inputs, count: int) -> tuple[float, ...]:
    """Height of the ground at each support; level where nothing is said, and turned round where a string was read."""
    if inputs.string_mm is not None:
        lowest = max(inputs.string_mm)
        return tuple(lowest - drop for drop in inputs.string_mm)
    return inputs.ground_mm if inputs.ground_mm is not None else (0.0,) * count


def packers_mm(
    places_mm: Sequence[float],
    levels_mm: Sequence[float],
    length_mm: float,
    run_per_rise: float,
    lowest_mm: float = 0.0,
) -> tuple[int, ...]:
    """Packer under each support, so that the channel falls evenly and the lowest packer is `lowest_mm`.

    Parameters
    ----------
    places_mm : sequence of float
        Supports from the inlet end. [mm]
    levels_mm : sequence of float
        Height of the ground at each, over any one level. [mm]
    length_mm : float
        Length of the channel. [mm]
    run_per_rise : float
        Slope as the 40 of "1 in 40". [-]
    lowest_mm : float
        Height of the lowest packer. [mm]

    Returns
    -------
    tuple of int
        Packers. [mm]

    Examples
    --------
    >>> packers_mm([0, 1500, 3000], [0, 10, 0], 3000, 40)
    (75, 28, 0)
    """
    wanted = [(length_mm - at) / run_per_rise - level for at, level in zip(places_mm, levels_mm, strict=True)]
    lift = lowest_mm - min(wanted)
    return tuple(whole_mm(round(height + lift, 6)) for height in wanted)


def error_at_support_mm(inputs: Inputs) -> float:
    """How far a support's height may be off: string, tape times slope, and half a millimetre of rounding. [mm]"""
    return ERROR_MM + ERROR_MM / inputs.run_per_rise + 0.5


def beam_of(inputs: Inputs, places_mm: Sequence[float]) -> Beam:
    """The channel as a beam: drilled section, own weight, plants, and a quarter of it full of water and roots."""
    modulus, density = MATERIALS[inputs.material]
    section, wall = inputs.section, _believable_wall_mm(inputs)
    if section.form == "round":
        second = ring_second_moment_m4(section.outer_width_mm / 1000, wall / 1000, inputs.hole_mm / 1000)
        metal, hollow = math.pi * (section.width_mm + wall) * wall, math.pi / 4 * section.width_mm**2
    else:
        second = tube_second_moment_m4(
            section.outer_width_mm / 1000, section.outer_height_mm / 1000, wall / 1000, inputs.hole_mm / 1000
        )
        metal, hollow = (
            2 * wall * (section.width_mm + section.height_mm + 2 * wall),
            section.width_mm * section.height_mm,
        )
    kg_m = metal * density / 1e6 + hollow / 4 / 1000 + needs_of(inputs.crop).plant_kg * 1000 / inputs.spacing_mm
    metres = [at / 1000 for at in places_mm]
    return beam_on_supports(metres, inputs.length_mm / 1000, kg_m * GRAVITY_M_S2, modulus * second)


def _believable_wall_mm(inputs: Inputs) -> float:
    section = inputs.section
    return min(section.wall_mm, min(section.outer_width_mm, section.outer_height_mm) / 4)


def _stretches(places: Sequence[float], levels: Sequence[float], beam: Beam, error: float) -> tuple[Stretch, ...]:
    found = []
    for (start, high), (end, low) in pairwise(zip(places, levels, strict=True)):
        between = [start + (end - start) * i / STEPS for i in range(STEPS + 1)]
        sag = max(beam.sag_m(at / 1000) for at in between) * 1000
        found.append(
            Stretch(
                from_mm=whole_mm(start),
                to_mm=whole_mm(end),
                fall_mm=high - low,
                least_fall_mm=high - low - 2 * error,
                sag_mm=max(0.0, sag),
            )
        )
    return tuple(found)
