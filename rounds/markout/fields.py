"""The fields of the form and the options of the command line: one table for both."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

Kind = Literal["length", "quantity", "count", "section", "slope", "places", "levels", "curve", "pipe", "words", "yes"]
_QUESTIONS: Mapping[Kind, bool] = {"yes": True}


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One thing that can be typed: its name, the unit a bare number has, an example, and what it is."""

    name: str
    label: str
    kind: Kind
    example: str
    help: str
    usual: str = ""
    start: str = ""
    group: str = "Channel"

    @property
    def is_yes_or_no(self) -> bool:
        """Whether it is a question, not a measure."""
        return _QUESTIONS.get(self.kind, False)

    @property
    def option(self) -> str:
        """Its spelling on the command line."""
        return "--" + self.name.replace("_", "-")


# fmt: off
FIELDS: tuple[Field, ...] = (
    Field(name="length", label="Length", kind="length", usual="m", example="4.2m", help="length of the channel"),
    Field(name="section", label="Section inside", kind="section", usual="mm", example="120x60mm",
          help="inner width x height of a trough, or the inner diameter of a pipe (100mm)"),
    Field(name="slope", label="Slope", kind="slope", usual="mm", example="1:40",
          help="1:40, 2.5% or the fall over the whole length (105mm)"),
    Field(name="wall", label="Wall", kind="length", usual="mm", example="2mm", start="2mm",
          help="thickness of the wall"),
    Field(name="material", label="Made of", kind="words", example="pvc", start="pvc",
          help="pvc, abs, pp, pe, aluminium, stainless, galvanised or copper"),
    Field(name="parts", label="Other parts", kind="words", example="brass tap",
          help="what else touches the feed: clamps, screws, taps, as words"),
    Field(name="crop", label="Crop", kind="words", example="lettuce", group="Sites",
          help="lettuce, basil, herbs, spinach, pak choi, strawberry, bean, pepper, tomato or cucumber"),
    Field(name="spacing", label="Spacing", kind="length", usual="mm", example="250mm", group="Sites",
          help="middle to middle of the sites; the crop's own where left out"),
    Field(name="pot", label="Pot", kind="length", usual="mm", example="50mm", group="Sites",
          help="pot over its rim; the hole is 5 mm narrower"),
    Field(name="hole", label="Hole", kind="length", usual="mm", example="45mm", group="Sites",
          help="hole for a plant"),
    Field(name="first_site", label="First site", kind="length", usual="mm", example="150mm", start="130mm",
          group="Sites", help="middle of the first site from the inlet end"),
    Field(name="outlet_clearance", label="Outlet clear", kind="length", usual="mm", example="80mm", start="65mm",
          group="Sites", help="no hole for a plant reaches nearer to the outlet end"),
    Field(name="inspection", label="Inspection", kind="length", usual="mm", example="65mm", group="Sites",
          help="middle of the inspection opening from the outlet end; none where left out"),
    Field(name="inspection_hole", label="Inspection hole", kind="length", usual="mm", example="50mm", start="50mm",
          group="Sites", help="size of the inspection opening"),
    Field(name="inspection_clearance", label="Its clearance", kind="length", usual="mm", example="20mm", start="20mm",
          group="Sites", help="what stays between a site's hole and the inspection opening"),
    Field(name="plant_last_site", label="Plant last site", kind="yes", example="no", start="no", group="Sites",
          help="plant the site before the outlet too (usually left empty: roots block the drain)"),
    Field(name="flow", label="Flow", kind="quantity", usual="L/min", example="1.2L/min", group="Water",
          help="flow into each channel"),
    Field(name="temperature", label="Water", kind="quantity", usual="degC", example="20C", start="20", group="Water",
          help="temperature of the water"),
    Field(name="outlet", label="Outlet", kind="length", usual="mm", example="40mm", start="40mm", group="Water",
          help="inner diameter of the floor drain, or open for an open end"),
    Field(name="outlet_from_end", label="Outlet at", kind="length", usual="mm", example="40mm", group="Water",
          help="middle of the drain from the outlet end; half the clearance where left out"),
    Field(name="supports", label="Supports", kind="places", usual="mm", example="4", group="Supports",
          help="how many, or their places from the inlet end (100,1450,2800,4100mm)"),
    Field(name="ground", label="Ground", kind="levels", usual="mm", example="0,12,-5,8mm", group="Supports",
          help="height of the ground at each support over any one level"),
    Field(name="string", label="String", kind="levels", usual="mm", example="300,312,295", group="Supports",
          help="instead: from a level string (or the line of a level) down to the ground at each support"),
    Field(name="lowest_packer", label="Lowest packer", kind="length", usual="mm", example="20mm", start="0mm",
          group="Supports", help="height of the lowest packer"),
    Field(name="channels", label="Channels", kind="count", example="6", start="1", group="Room",
          help="channels side by side"),
    Field(name="room", label="Room width", kind="length", usual="m", example="6m", group="Room",
          help="width of the room across the channels"),
    Field(name="aisle", label="Aisle", kind="length", usual="mm", example="600mm", start="600mm", group="Room",
          help="width of a working aisle"),
    Field(name="reach", label="Reach", kind="length", usual="mm", example="600mm", start="600mm", group="Room",
          help="how far an arm reaches over the channels"),
    Field(name="row_spacing", label="Row spacing", kind="length", usual="mm", example="200mm", group="Room",
          help="middle to middle of neighbouring channels"),
    Field(name="reservoir_full", label="Full volume", kind="quantity", usual="L", example="200L",
          group="Reservoir and pump", help="what the reservoir holds to the brim"),
    Field(name="reservoir_working", label="Working volume", kind="quantity", usual="L", example="150L",
          group="Reservoir and pump", help="what stands in it while the pump runs"),
    Field(name="per_plant", label="Per plant", kind="quantity", usual="L", example="2L", group="Reservoir and pump",
          help="reservoir wanted for each plant"),
    Field(name="lift", label="Lift", kind="length", usual="m", example="1.1m", group="Reservoir and pump",
          help="from the reservoir's working level up to the inlets"),
    Field(name="pump", label="Pump curve", kind="curve", example="0:3,9:2,30:0",
          group="Reservoir and pump", help="points of flow in L/min and head in m"),
    Field(name="supply_pipe", label="Supply pipe", kind="pipe", example="20mm:6m", group="Reservoir and pump",
          help="inner diameter and length from the pump to the first channel"),
    Field(name="header", label="Header pipe", kind="length", usual="mm", example="20mm", group="Reservoir and pump",
          help="inner diameter of the pipe along the inlets"),
    Field(name="inlet_tube", label="Inlet tube", kind="pipe", example="4mm:0.5m", group="Reservoir and pump",
          help="inner diameter and length of the tube into each channel"),
    Field(name="fittings", label="Fittings K", kind="quantity", example="4", start="4", group="Reservoir and pump",
          help="sum of loss coefficients on the supply"),
    Field(name="return_pipe", label="Return pipe", kind="pipe", example="50mm:4m", group="Reservoir and pump",
          help="inner diameter and length of the common return"),
    Field(name="return_slope", label="Return slope", kind="slope", example="1:50", start="1:50",
          group="Reservoir and pump", help="slope of the return"),
    Field(name="stock", label="Stock, channel", kind="places", usual="m", example="6m 3m", start="6m 3m",
          group="Material", help="lengths that the channel is sold in"),
    Field(name="pipe_stock", label="Stock, pipes", kind="places", usual="m", example="3m", start="3m",
          group="Material", help="lengths that the pipes are sold in"),
    Field(name="packer_stock", label="Stock, packers", kind="places", usual="m", example="2.4m", start="2.4m",
          group="Material", help="lengths that the timber for packers is sold in"),
    Field(name="kerf", label="Saw cut", kind="length", usual="mm", example="3mm", start="3mm", group="Material",
          help="what the saw takes at each cut"),
)
# fmt: on
BY_NAME: dict[str, Field] = {field.name: field for field in FIELDS}
