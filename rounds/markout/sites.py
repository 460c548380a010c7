"""Where the holes go: running dimensions from the inlet end, each worked out afresh, so that no rounding adds up."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from rounds.markout.inputs import Inputs

Face = Literal["top", "floor"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Hole:
    """One hole to drill: where on the tape, how wide, in which face, and what for."""

    at_mm: int
    diameter_mm: float
    face: Face
    what: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Sites:
    """The sites of one channel and all its holes, from the inlet end."""

    sites_mm: tuple[int, ...]
    empty_mm: tuple[int, ...]
    left_out_mm: tuple[int, ...]
    """Sites left out because they would meet the inspection opening."""
    holes: tuple[Hole, ...]

    @property
    def planted(self) -> int:
        """Sites that get a plant."""
        return len(self.sites_mm) - len(self.empty_mm)


def whole_mm(value_mm: float) -> int:
    """Round to the millimetre, halves up.

    Examples
    --------
    >>> whole_mm(2.5)
    3
    """
    return math.floor(value_mm + 0.5)


def lay_out_sites(inputs: Inputs) -> Sites:
    """Place the sites between the first one and the outlet's clearance.

    Parameters
    ----------
    inputs : Inputs
        Checked inputs.

    Returns
    -------
    Sites
        Middles of the holes, in whole mm from the inlet end.

    Examples
    --------
    >>> from rounds.markout.typed import read
    >>> typed = {"length": "1m", "section": "100x50mm", "slope": "1:40", "spacing": "250", "hole": "50", "flow": "1"}
    >>> lay_out_sites(read(typed)).sites_mm
    (130, 380, 630, 880)
    """
    last = inputs.length_mm - inputs.outlet_clearance_mm - inputs.hole_mm / 2
    count = math.floor((last - inputs.first_site_mm) / inputs.spacing_mm + 1e-9) + 1
    wanted = [whole_mm(inputs.first_site_mm + i * inputs.spacing_mm) for i in range(count)]
    kept = tuple(at for at in wanted if not _meets_inspection(inputs, at))
    empty = kept[-1:] if not inputs.plant_last_site and len(kept) > 1 else ()
    left_out = tuple(at for at in wanted if at not in kept)
    return Sites(sites_mm=kept, empty_mm=empty, left_out_mm=left_out, holes=_holes(inputs, kept, empty))


def _meets_inspection(inputs: Inputs, at_mm: int) -> bool:
    middle = inputs.inspection_at_mm
    if middle is None:
        return False
    apart = (inputs.inspection_hole_mm + inputs.hole_mm) / 2 + inputs.inspection_clearance_mm
    return abs(at_mm - middle) < apart


def _holes(inputs: Inputs, sites: tuple[int, ...], empty: tuple[int, ...]) -> tuple[Hole, ...]:
    holes = [
        Hole(at_mm=at, diameter_mm=inputs.hole_mm, face="top", what="site, left empty" if at in empty else "site")
        for at in sites
    ]
    if inputs.inspection_at_mm is not None:
        holes.append(
            Hole(
                at_mm=whole_mm(inputs.inspection_at_mm),
                diameter_mm=inputs.inspection_hole_mm,
                face="top",
                what="inspection opening",
            )
        )
    if inputs.outlet_mm is not None:
        holes.append(
            Hole(
                at_mm=whole_mm(inputs.outlet_at_mm),
                diameter_mm=inputs.outlet_mm,
                face="floor",
                what="outlet (drill to the fitting's thread)",
            )
        )
    return tuple(sorted(holes, key=lambda hole: hole.at_mm))
