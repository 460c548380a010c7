"""A plan as data for programs (format 1)."""

from __future__ import annotations

from typing import Any

from rounds.markout.as_built import Comparison
from rounds.markout.cautions import warnings_of
from rounds.markout.plan import ChannelPlan
from rounds.markout.report import CAUTIONS

FORMAT = 1


def as_data(plan: ChannelPlan) -> dict[str, Any]:
    """The plan as plain data, whose keys end in their unit; `format` rises when a key changes its meaning.

    Examples
    --------
    >>> from rounds.markout.plan import plan
    >>> from rounds.markout.typed import read
    >>> typed = {"length": "3m", "section": "100x50mm", "slope": "1:40", "spacing": "200", "hole": "45", "flow": "1"}
    >>> as_data(plan(read(typed)))["fall_mm"]
    75.0
    """
    inputs, bearing, water = plan.inputs, plan.bearing, plan.stream
    return {
        "format": FORMAT,
        "length_mm": inputs.length_mm,
        "slope_run_per_rise": inputs.run_per_rise,
        "fall_mm": round(plan.fall_mm, 3),
        "sites_mm": list(plan.sites.sites_mm),
        "empty_sites_mm": list(plan.sites.empty_mm),
        "left_out_sites_mm": list(plan.sites.left_out_mm),
        "holes": [
            {"at_mm": hole.at_mm, "diameter_mm": hole.diameter_mm, "face": hole.face, "what": hole.what}
            for hole in plan.sites.holes
        ],
        "outlet_at_mm": round(plan.outlet_at_mm, 1),
        "supports": [
            {"at_mm": s.at_mm, "packer_mm": s.packer_mm, "ground_mm": round(s.ground_mm, 1)} for s in bearing.supports
        ],
        "stretches": [
            {
                "from_mm": s.from_mm,
                "to_mm": s.to_mm,
                "fall_mm": round(s.fall_mm, 1),
                "least_fall_mm": round(s.least_fall_mm, 1),
                "sag_mm": round(s.sag_mm, 2),
            }
            for s in bearing.stretches
        ],
        "pond_mm": round(bearing.pond_mm, 2),
        "worst_pond_mm": round(bearing.worst_pond_mm, 2),
        "film": _film(plan),
        "volume_l": round(water.volume_l, 3),
        "transit_s": None if water.transit_s is None else round(water.transit_s, 1),
        "run_back_l": round(plan.run_back.total_l, 3),
        "run_back_room_l": plan.run_back.room_l,
        "drainage": _rounded(plan.drainage, 2),
        "supply": _rounded(plan.supply, 3),
        "across": _rounded(plan.across, 1),
        "reservoir_wanted_l": round(plan.reservoir_wanted_l, 1),
        "material": [{"what": m.what, "count": m.count, "each_mm": m.each_mm} for m in plan.material.lines],
        "cuts": _cuts(plan),
        "cautions": list(CAUTIONS),
        "warnings": [{"code": w.code, "sentence": w.sentence, "reason": w.reason} for w in warnings_of(plan)],
    }


def comparison_data(comparison: Comparison) -> dict[str, Any]:
    """What was built, beside the plan, as plain data."""
    return {
        "as_planned": comparison.as_planned,
        "packers_off_mm": list(comparison.packers_off_mm),
        "stretches": [_rounded(stretch, 1) for stretch in comparison.stretches],
        "fall_mm": comparison.fall_mm,
        "pond_mm": comparison.pond_mm,
        "spread_percent": None if comparison.spread_percent is None else round(comparison.spread_percent, 2),
        "findings": list(comparison.findings),
    }


def _film(plan: ChannelPlan) -> dict[str, Any] | None:
    film = plan.stream.film
    if film is None:
        return None
    return {
        "depth_mm": round(film.depth_m * 1000, 4),
        "speed_m_s": round(film.speed_m_s, 5),
        "regime": film.regime,
        "reynolds": round(film.reynolds, 1),
    }


def _rounded(part: Any, digits: int) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for name in part.__slots__:
        value = getattr(part, name)
        if isinstance(value, tuple):
            value = [round(item, digits) for item in value]
        found[name] = round(value, digits) if isinstance(value, float) else value
    return found


def _cuts(plan: ChannelPlan) -> list[dict[str, Any]]:
    return [
        {
            "what": group.what,
            "waste_mm": round(group.cuts.waste_mm, 1),
            "proven_least": group.cuts.proven,
            "joints": group.joints,
            "bars": [
                {"stock_mm": bar.stock_mm, "pieces_mm": list(bar.pieces_mm), "offcut_mm": round(bar.offcut_mm, 1)}
                for bar in group.cuts.bars
            ],
        }
        for group in plan.material.cuts
    ]
