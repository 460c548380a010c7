"""A plan as data for programs (format 1) and as lines for people."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from rounds.markout.as_built import Comparison
from rounds.markout.cautions import PlanWarning, warnings_of
from rounds.markout.plan import ChannelPlan

FORMAT = 1
HEADING_LINES = 3
CAUTIONS = (
    "Local codes come first. Clamp the pipe and wear goggles when drilling and sawing.",
    "Pump and sockets above a wet floor need a 30 mA residual-current device, fitted by a licensed electrician.",
)


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


def as_lines(plan: ChannelPlan) -> list[str]:
    """The plan as text: what to beware of and to think over, then results, drill list, supports, material."""
    return [*top_lines(plan), "", *list_lines(plan)]


def top_lines(plan: ChannelPlan) -> list[str]:
    """What comes before any drawing: the channel, the cautions, what to think over."""
    return [*_heading(plan), "", *caution_lines(), "", *warning_lines(warnings_of(plan))]


def list_lines(plan: ChannelPlan) -> list[str]:
    """Everything that is measured, poured or bought."""
    return [*bench_lines(plan), *summary_lines(plan)[HEADING_LINES + 1 :], *material_lines(plan)]


def caution_lines() -> list[str]:
    """What to beware of at the bench."""
    return [f"Caution: {caution}" for caution in CAUTIONS]


def summary_lines(plan: ChannelPlan) -> list[str]:
    """What matters at a glance: fall and sites, water, reservoir, pump. Parted by empty lines."""
    return _parted(plan, _heading, _water_lines, _supply_lines)


def bench_lines(plan: ChannelPlan) -> list[str]:
    """The lists to take to the bench: holes, then supports and packers."""
    return _parted(plan, _drill_lines, _support_lines)


def material_lines(plan: ChannelPlan) -> list[str]:
    """What to buy and how to cut it."""
    return _parted(plan, _material_lines)


def warning_lines(warnings: tuple[PlanWarning, ...]) -> list[str]:
    """One line for each warning, its reason behind it."""
    if not warnings:
        return ["Nothing to warn of."]
    return ["To think over:", *(f"  ! {w.sentence} {w.reason}" for w in warnings)]


def drill_rows(plan: ChannelPlan) -> list[tuple[str, str, str, str]]:
    """The drill list for the bench: number, place from the inlet end, diameter, face and purpose."""
    return [
        (str(i), f"{hole.at_mm}", f"{hole.diameter_mm:g}", f"{hole.face}: {hole.what}")
        for i, hole in enumerate(plan.sites.holes, 1)
    ]


def film_words(plan: ChannelPlan) -> str:
    """The film in one line, with the regime that holds."""
    film = plan.stream.film
    if film is None:
        return plan.stream.too_full
    return (
        f"film {film.depth_m * 1000:.2f} mm, {film.speed_m_s:.3f} m/s, {film.regime} (Re {film.reynolds:.0f}), "
        f"through in {plan.stream.transit_s:.0f} s"
    )


def _parted(plan: ChannelPlan, *parts: Callable[[ChannelPlan], Iterator[str]]) -> list[str]:
    return [line for part in parts for line in (*part(plan), "")]


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


def _heading(plan: ChannelPlan) -> Iterator[str]:
    inputs, sites = plan.inputs, plan.sites
    yield f"Channel {inputs.section} inside, {inputs.length_mm:g} mm long, 1:{inputs.run_per_rise:.4g}"
    yield f"Fall {plan.fall_mm:.1f} mm from inlet to outlet"
    yield f"{len(sites.sites_mm)} sites, {sites.planted} planted" + (
        f"; left empty: {', '.join(map(str, sites.empty_mm))} mm (its roots would block the outlet)"
        if sites.empty_mm
        else ""
    )


def _drill_lines(plan: ChannelPlan) -> Iterator[str]:
    yield "Drill list: hook the tape on the inlet end and leave it there"
    yield f"{'no.':>4} {'at mm':>7} {'hole mm':>8}  what"
    for number, at, diameter, what in drill_rows(plan):
        yield f"{number:>4} {at:>7} {diameter:>8}  {what}"


def _support_lines(plan: ChannelPlan) -> Iterator[str]:
    yield f"{'support':>8} {'at mm':>7} {'ground mm':>10} {'packer mm':>10}"
    for i, support in enumerate(plan.bearing.supports, 1):
        yield f"{i:>8} {support.at_mm:>7} {support.ground_mm:>10.0f} {support.packer_mm:>10}"
    most = max(stretch.sag_mm for stretch in plan.bearing.stretches)
    yield (
        f"Sag in time {most:.1f} mm at most; pond {plan.bearing.pond_mm:.1f} mm as planned, "
        f"{plan.bearing.worst_pond_mm:.1f} mm at worst (tape and string 3 mm wrong)"
    )


def _water_lines(plan: ChannelPlan) -> Iterator[str]:
    inputs, drain, back = plan.inputs, plan.drainage, plan.run_back
    yield f"At {inputs.flow_l_min:g} L/min and {inputs.temperature_c:g} °C: {film_words(plan)}"
    yield "  (bare channel, clean water; roots make the film several times deeper)"
    room = "" if back.room_l is None else f"; room for {back.room_l:.1f} L"
    yield f"In the channel {plan.stream.volume_l:.2f} L; runs back {back.total_l:.2f} L{room}"
    if drain.outlet_l_min is not None:
        yield f"Outlet takes {drain.outlet_l_min:.1f} L/min clean, {drain.outlet_rooted_l_min:.1f} with roots"
    if drain.return_l_min is not None:
        yield f"Return takes {drain.return_l_min:.1f} L/min half full, {drain.return_rooted_l_min:.1f} with roots"
    plants = plan.sites.planted * inputs.channels
    yield f"Reservoir wanted: {plan.reservoir_wanted_l:.0f} L for {plants} plants and run-back"
    if plan.across.fits is not None:
        yield f"Across the room: {plan.across.fits} channels, {plan.across.beside_each_aisle}"


def _supply_lines(plan: ChannelPlan) -> Iterator[str]:
    found = plan.supply
    if found.wanted_head_m is None:
        yield f"Pump wanted: {found.wanted_l_min:g} L/min (give the lift for the head)"
        return
    yield (
        f"Pump wanted: {found.wanted_l_min:g} L/min at {found.wanted_head_m:.2f} m "
        f"(lift {found.lift_m:.2f}, friction {found.friction_m:.2f}, fittings {found.minor_m:.2f})"
    )
    if found.working_l_min is not None:
        yield f"Taps open it settles at {found.working_l_min:.2f} L/min and {found.working_head_m:.2f} m"
    if found.spread_percent is not None:
        flows = found.channel_flows_l_min
        yield f"First channel {flows[0]:.2f}, last {flows[-1]:.2f} L/min: they differ by {found.spread_percent:.1f} %"


def _material_lines(plan: ChannelPlan) -> Iterator[str]:
    yield "Material"
    for line in plan.material.lines:
        each = "" if line.each_mm is None else f" of {line.each_mm:g} mm"
        yield f"  {line.count} x {line.what}{each}"
    for group in plan.material.cuts:
        least = "least waste" if group.cuts.proven else "the best found"
        joints = f", joints: {group.joints}" if group.joints else ""
        yield f"Cut {group.what}: {group.cuts.waste_mm:g} mm left over ({least}{joints})"
        yield from _bar_lines(group.cuts.bars)


def _counted(piece: float, count: int) -> str:
    return f"{piece:g}" if count == 1 else f"{count} x {piece:g}"


def _bar_lines(bars: tuple[Any, ...]) -> Iterator[str]:
    counted: dict[str, int] = {}
    for bar in bars:
        pieces = " + ".join(_counted(piece, bar.pieces_mm.count(piece)) for piece in dict.fromkeys(bar.pieces_mm))
        text = f"{bar.stock_mm:g}: {pieces}, offcut {bar.offcut_mm:g}"
        counted[text] = counted.get(text, 0) + 1
    for text, count in counted.items():
        yield f"  {count} x {text}"
