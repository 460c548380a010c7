"""The drawing as SVG, in true millimetres of paper."""

from __future__ import annotations

from xml.etree.ElementTree import Element, SubElement, tostring

from rounds.markout.plan import ChannelPlan
from rounds.markout.sheet import Circle, Label, Shape, Stroke, sheet


def as_svg(plan: ChannelPlan) -> str:
    """Draw the plan as an SVG picture whose size is that of the paper, at the scale it states.

    Examples
    --------
    >>> from rounds.markout.plan import plan
    >>> from rounds.markout.typed import read
    >>> typed = {"length": "3m", "section": "100x50mm", "slope": "1:40", "spacing": "500", "hole": "45", "flow": "1"}
    >>> as_svg(plan(read(typed))).count("<circle")
    7
    """
    page = sheet(plan)
    root = Element("svg", {
        "xmlns": "http://www.w3.org/2000/svg", "width": f"{page.width_mm:g}mm", "height": f"{page.height_mm:g}mm",
        "viewBox": f"0 0 {page.width_mm:g} {page.height_mm:g}", "font-family": "sans-serif",
        "stroke": "black", "stroke-width": "0.25", "fill": "none",
    })  # fmt: skip
    SubElement(root, "title").text = f"Channel marked out, scale 1:{page.scale}"
    for shape in page.shapes:
        _add(root, shape)
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + tostring(root, encoding="unicode") + "\n"


def _add(root: Element, shape: Shape) -> None:
    dashes = {"stroke-dasharray": "1.5 1"} if not isinstance(shape, Label) and shape.dashed else {}
    if isinstance(shape, Stroke):
        SubElement(root, "line", _texts(x1=shape.x1, y1=shape.y1, x2=shape.x2, y2=shape.y2) | dashes)
    elif isinstance(shape, Circle):
        SubElement(root, "circle", _texts(cx=shape.x, cy=shape.y, r=shape.diameter / 2) | dashes)
    else:
        attributes = _texts(x=shape.x, y=shape.y) | {
            "font-size": f"{shape.size:g}", "text-anchor": shape.anchor, "stroke": "none", "fill": "black",
        }  # fmt: skip
        if shape.turned:
            attributes["transform"] = f"rotate(-90 {shape.x:g} {shape.y:g})"
        SubElement(root, "text", attributes).text = shape.text


def _texts(**numbers: float) -> dict[str, str]:
    return {name: f"{value:.4f}".rstrip("0").rstrip(".") for name, value in numbers.items()}
