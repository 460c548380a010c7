"""What a channel is laid out from: plain numbers whose names carry the unit."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

Form = Literal["rectangular", "round"]
Material = Literal["pvc", "abs", "pp", "pe", "aluminium", "stainless", "galvanised", "copper"]


@dataclass(frozen=True, slots=True, kw_only=True)
class InputSection:
    """Inner size of a trough or pipe, and its wall."""

    form: Form
    width_mm: float
    """Inner width, or inner diameter of a round one. [mm]"""
    height_mm: float
    """Inner height; the diameter again for a round one. [mm]"""
    wall_mm: float = 2.0

    @property
    def outer_width_mm(self) -> float:
        """Width over the walls. [mm]"""
        return self.width_mm + 2 * self.wall_mm

    @property
    def outer_height_mm(self) -> float:
        """Height over the walls. [mm]"""
        return self.height_mm + 2 * self.wall_mm

    def __str__(self) -> str:
        if self.form == "round":
            return f"round {self.width_mm:g} mm"
        return f"{self.width_mm:g} x {self.height_mm:g} mm"


@dataclass(frozen=True, slots=True, kw_only=True)
class Pipe:
    """A run of round pipe: inner diameter and length."""

    diameter_mm: float
    length_mm: float

    @property
    def volume_l(self) -> float:
        """What it holds when full. [L]"""
        return math.pi / 4 * self.diameter_mm**2 * self.length_mm / 1e6


@dataclass(frozen=True, slots=True, kw_only=True)
class Inputs:
    """Everything asked for; what has no value yet is None and is left out of the plan."""

    length_mm: float
    section: InputSection
    run_per_rise: float
    """Slope as the 40 of "1 in 40". [-]"""
    spacing_mm: float
    hole_mm: float
    flow_l_min: float
    """Flow into each channel. [L/min]"""

    crop: str | None = None
    pot_mm: float | None = None
    first_site_mm: float = 130.0
    """Middle of the first site from the inlet end. [mm]"""
    outlet_clearance_mm: float = 65.0
    """No hole for a plant reaches nearer to the outlet end than this. [mm]"""
    inspection_mm: float | None = None
    """Middle of the inspection opening from the outlet end. [mm]"""
    inspection_hole_mm: float = 50.0
    inspection_clearance_mm: float = 20.0
    """What stays between a site's hole and the inspection opening. [mm]"""
    plant_last_site: bool = False

    outlet_mm: float | None = 40.0
    """Inner diameter of the floor drain; None for an open end. [mm]"""
    outlet_from_end_mm: float | None = None
    """Middle of the floor drain from the outlet end; half the clearance where not given, but whole. [mm]"""

    support_count: int | None = None
    supports_mm: tuple[float, ...] | None = None
    """Positions from the inlet end. [mm]"""
    ground_mm: tuple[float, ...] | None = None
    """Height of the ground at each support over any one level, up is positive. [mm]"""
    string_mm: tuple[float, ...] | None = None
    """From a level string down to the ground at each support. [mm]"""
    lowest_packer_mm: float = 0.0
    material: Material = "pvc"
    parts: str = ""
    """What else touches the feed: clamps, taps, screws, as words."""

    channels: int = 1
    room_mm: float | None = None
    aisle_mm: float = 600.0
    reach_mm: float = 600.0
    row_spacing_mm: float | None = None
    """Middle to middle of neighbouring channels; the crop's spacing or the channel itself where not given. [mm]"""

    reservoir_l: float | None = None
    working_l: float | None = None
    per_plant_l: float | None = None

    lift_mm: float | None = None
    """From the reservoir's working level up to the channel's inlet. [mm]"""
    pump_curve: tuple[tuple[float, float], ...] | None = None
    """Points of flow and head. [L/min, m]"""
    supply_pipe: Pipe | None = None
    header_mm: float | None = None
    """Inner diameter of the pipe that runs past the channels' inlets. [mm]"""
    inlet_tube: Pipe | None = None
    fittings_k: float = 4.0
    """Loss coefficients of bends, tees and valves on the supply, summed. [-]"""
    return_pipe: Pipe | None = None
    return_run_per_rise: float = 50.0

    stock_mm: tuple[float, ...] = (6000.0, 3000.0)
    pipe_stock_mm: tuple[float, ...] = (3000.0,)
    packer_stock_mm: tuple[float, ...] = (2400.0,)
    kerf_mm: float = 3.0
    temperature_c: float = 20.0

    @property
    def slope(self) -> float:
        """Fall per length. [-]"""
        return 1 / self.run_per_rise

    @property
    def outlet_at_mm(self) -> float:
        """Middle of the outlet from the inlet end. [mm]"""
        if self.outlet_mm is None:
            return self.length_mm
        usual = max(self.outlet_clearance_mm / 2, self.outlet_mm / 2 + 5)
        return self.length_mm - (usual if self.outlet_from_end_mm is None else self.outlet_from_end_mm)

    @property
    def inspection_at_mm(self) -> float | None:
        """Middle of the inspection opening from the inlet end. [mm]"""
        return None if self.inspection_mm is None else self.length_mm - self.inspection_mm
