"""The water in one channel: film, volume, time, what runs back, and what the outlet and the return take."""

from __future__ import annotations

import math
from dataclasses import dataclass

from rounds.errors import OutOfRange
from rounds.markout.inputs import Inputs
from rounds.science.channel_flow import Film, film_in_rectangle, film_in_round, manning_speed_m_s
from rounds.science.outlets import drain_flow_m3_s
from rounds.science.running_water import partly_full_round

ROOTS_LEAVE = 0.5
"""Share of an outlet or a return that roots leave free between two inspections (common practice)."""
STANDING_WATER_MM = 20.0
"""Water that may stand over the outlet, though not above a third of the height (common practice)."""
_L_MIN = 1 / 60000


@dataclass(frozen=True, slots=True, kw_only=True)
class Stream:
    """Film, volume and time of one channel; None where it would run full."""

    film: Film | None
    too_full: str
    """Why there is no film; empty where there is one."""
    volume_l: float
    transit_s: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Drainage:
    """What leaves: capacities clean and with roots. [L/min]"""

    outlet_l_min: float | None
    """None for an open end."""
    outlet_rooted_l_min: float | None
    return_l_min: float | None
    """The common return running half full; None where none is given."""
    return_rooted_l_min: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class RunBack:
    """What comes back when the pump stops, and the room for it. [L]"""

    channels_l: float
    pipes_l: float
    room_l: float | None

    @property
    def total_l(self) -> float:
        """Films and pipes together. [L]"""
        return self.channels_l + self.pipes_l


def stream(inputs: Inputs) -> Stream:
    """Film, volume and transit time of one channel."""
    section, flow = inputs.section, inputs.flow_l_min * _L_MIN
    try:
        if section.form == "round":
            film = film_in_round(flow, section.width_mm / 1000, inputs.slope, inputs.temperature_c)
        else:
            film = film_in_rectangle(
                flow, section.width_mm / 1000, section.height_mm / 1000, inputs.slope, inputs.temperature_c
            )
    except OutOfRange as error:
        return Stream(film=None, too_full=error.sentence, volume_l=_full_l(inputs), transit_s=None)
    volume = film.area_m2 * inputs.length_mm
    return Stream(film=film, too_full="", volume_l=volume, transit_s=inputs.length_mm / 1000 / film.speed_m_s)


def drainage(inputs: Inputs) -> Drainage:
    """What the outlet and the return take, clean and with roots."""
    outlet = None
    if inputs.outlet_mm is not None:
        head = min(STANDING_WATER_MM, inputs.section.height_mm / 3)
        outlet = drain_flow_m3_s(inputs.outlet_mm / 1000, head / 1000) / _L_MIN
    back = _half_full_l_min(inputs)
    return Drainage(
        outlet_l_min=outlet,
        outlet_rooted_l_min=None if outlet is None else outlet * ROOTS_LEAVE,
        return_l_min=back,
        return_rooted_l_min=None if back is None else back * ROOTS_LEAVE,
    )


def run_back(inputs: Inputs, volume_l: float, pitch_mm: float) -> RunBack:
    """What runs back from channels and pipes against the reservoir's room above its working level."""
    pipes = inputs.supply_pipe.volume_l if inputs.supply_pipe else 0.0
    pipes += inputs.inlet_tube.volume_l * inputs.channels if inputs.inlet_tube else 0.0
    if inputs.header_mm is not None:
        pipes += math.pi / 4 * inputs.header_mm**2 * pitch_mm * (inputs.channels - 1) / 1e6
    if inputs.return_pipe is not None:
        pipes += inputs.return_pipe.volume_l / 2
    room = None
    if inputs.reservoir_l is not None and inputs.working_l is not None:
        room = inputs.reservoir_l - inputs.working_l
    return RunBack(channels_l=volume_l * inputs.channels, pipes_l=pipes, room_l=room)


def _half_full_l_min(inputs: Inputs) -> float | None:
    pipe = inputs.return_pipe
    if pipe is None:
        return None
    half = partly_full_round(pipe.diameter_mm / 1000, pipe.diameter_mm / 2000)
    speed = manning_speed_m_s(half.hydraulic_radius_m, 1 / inputs.return_run_per_rise)
    return speed * half.area_m2 / _L_MIN


def _full_l(inputs: Inputs) -> float:
    section = inputs.section
    area = section.width_mm * section.height_mm
    return area * (math.pi / 4 if section.form == "round" else 1.0) * inputs.length_mm / 1e6
