"""The drawing on paper as plain shapes in paper millimetres, for SVG and PDF alike."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from rounds.markout.plan import ChannelPlan

SCALES = (1, 2, 5, 10, 20, 25, 50, 100, 200, 250, 500)
WIDTH_MM, HEIGHT_MM = 297.0, 210.0
_LEFT, _USABLE = 14.0, 265.0
_TEXT = 2.6


@dataclass(frozen=True, slots=True, kw_only=True)
class Stroke:
    """A straight line."""

    x1: float
    y1: float
    x2: float
    y2: float
    dashed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Circle:
    """A hole, by its middle."""

    x: float
    y: float
    diameter: float
    dashed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """A text by its foot; turned ones read from below."""

    x: float
    y: float
    text: str
    size: float = _TEXT
    anchor: Literal["start", "middle", "end"] = "start"
    turned: bool = False


Shape = Stroke | Circle | Label


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """One page with its shapes, and the scale they are drawn at."""

    scale: int
    shapes: tuple[Shape, ...]
    width_mm: float = WIDTH_MM
    height_mm: float = HEIGHT_MM


def sheet(plan: ChannelPlan) -> Sheet:
    """Draw elevation and plan on a lying A4 page at the largest usual scale that fits.

    Examples
    --------
    >>> from rounds.markout.plan import plan
    >>> from rounds.markout.typed import read
    >>> typed = {"length": "4.2m", "section": "120x60mm", "slope": "1:40", "spacing": "250", "hole": "50", "flow": "1"}
    >>> sheet(plan(read(typed))).scale
    20
    """
    scale = next((scale for scale in SCALES if plan.inputs.length_mm / scale <= _USABLE), SCALES[-1])
    levels = [s.ground_mm + s.packer_mm for s in plan.bearing.supports]
    lows = [s.ground_mm for s in plan.bearing.supports]
    tall = (max(levels) - min(lows) + plan.inputs.section.outer_height_mm) / scale
    base = min(40 + tall, 100.0)
    shapes = [*_title(plan, scale), *_elevation(plan, scale, base, min(lows)), *_from_above(plan, scale, base + 45)]
    return Sheet(scale=scale, shapes=tuple(shapes))


def _title(plan: ChannelPlan, scale: int) -> list[Shape]:
    inputs = plan.inputs
    bar = next(step for step in (2000, 1000, 500, 200, 100, 50, 20) if step / scale <= 60)
    return [
        Label(x=_LEFT, y=14, size=4.5, text=f"Channel {inputs.section} inside, {inputs.length_mm:g} mm, "
              f"1:{inputs.run_per_rise:.4g}, fall {plan.fall_mm:.0f} mm"),
        Label(x=_LEFT, y=21, text=f"Scale 1:{scale} on A4, all heights too. Print at 100 %. Running dimensions in mm "
              "from the inlet end."),
        *_stroke_box(_LEFT, 24, bar / scale, 1.5),
        Label(x=_LEFT + bar / scale + 2, y=26, text=f"{bar} mm: {bar / scale:g} mm on paper, measure it"),
    ]  # fmt: skip


def _elevation(plan: ChannelPlan, scale: int, base: float, lowest: float) -> list[Shape]:
    supports, inputs = plan.bearing.supports, plan.inputs

    def x(at_mm: float) -> float:
        return _LEFT + at_mm / scale

    def y(level_mm: float) -> float:
        return base - (level_mm - lowest) / scale

    first, run = supports[0], inputs.run_per_rise
    inlet = first.ground_mm + first.packer_mm + first.at_mm / run
    outlet, tall = inlet - plan.fall_mm, inputs.section.outer_height_mm
    shapes: list[Shape] = [
        Stroke(x1=x(0), y1=y(inlet + up), x2=x(inputs.length_mm), y2=y(outlet + up)) for up in (0.0, tall)
    ]
    shapes += [Stroke(x1=x(at), y1=y(level), x2=x(at), y2=y(level + tall)) for at, level in
               ((0.0, inlet), (inputs.length_mm, outlet))]  # fmt: skip
    for left, right in pairwise(supports):
        shapes.append(
            Stroke(x1=x(left.at_mm), y1=y(left.ground_mm), x2=x(right.at_mm), y2=y(right.ground_mm), dashed=True)
        )
    for s in supports:
        half = min(20 / scale, 2.0)
        shapes += _stroke_box(x(s.at_mm) - half, y(s.ground_mm + s.packer_mm), 2 * half, s.packer_mm / scale)
        shapes += [Label(x=x(s.at_mm), y=base + 5, text=f"{s.packer_mm}", anchor="middle"),
                   Label(x=x(s.at_mm), y=base + 9, text=f"at {s.at_mm}", anchor="middle", size=2.2)]  # fmt: skip
    shapes.append(Label(x=_LEFT, y=base + 14, text="Elevation: packers in mm over their place; dashed: the ground."))
    return shapes


def _from_above(plan: ChannelPlan, scale: int, middle: float) -> list[Shape]:
    inputs = plan.inputs
    wide = inputs.section.outer_width_mm / scale
    shapes: list[Shape] = _stroke_box(_LEFT, middle - wide / 2, inputs.length_mm / scale, wide)
    foot, free = middle + wide / 2, -9.0
    for hole in plan.sites.holes:
        x = _LEFT + hole.at_mm / scale
        shapes.append(Circle(x=x, y=middle, diameter=hole.diameter_mm / scale, dashed=hole.face == "floor"))
        if hole.what == "site, left empty":
            half = hole.diameter_mm / scale / 2
            shapes += [Stroke(x1=x - half, y1=middle - half, x2=x + half, y2=middle + half),
                       Stroke(x1=x - half, y1=middle + half, x2=x + half, y2=middle - half)]  # fmt: skip
        if x - free >= _TEXT:
            shapes += [
                Stroke(x1=x, y1=foot, x2=x, y2=foot + 2),
                Label(x=x + 0.8, y=foot + 10, text=str(hole.at_mm), turned=True),
            ]
            free = x
    for s in plan.bearing.supports:
        x = _LEFT + s.at_mm / scale
        shapes.append(Stroke(x1=x, y1=middle - wide / 2 - 3, x2=x, y2=middle + wide / 2, dashed=True))
    shapes.append(Label(x=_LEFT, y=foot + 16, text=f"Plan: holes {inputs.hole_mm:g} mm, crossed = left empty, "
                        "dashed = outlet in the floor and supports."))  # fmt: skip
    return shapes


def _stroke_box(x: float, y: float, width: float, height: float) -> list[Shape]:
    corners = [(x, y), (x + width, y), (x + width, y + height), (x, y + height)]
    return [Stroke(x1=a[0], y1=a[1], x2=b[0], y2=b[1]) for a, b in zip(corners, corners[1:] + corners[:1], strict=True)]
