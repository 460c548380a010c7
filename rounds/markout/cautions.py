"""What is not wise about a plan, each with its reason. Limits are common practice unless a text is named."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from rounds.markout.crops import needs_of
from rounds.markout.plan import ChannelPlan

FLATTEST, STEEPEST = 100.0, 30.0
"""1:100 to 1:30 is in use (NFT texts); 1:40 is usual for short home-built runs (practice)."""
LONG_MM, TOO_LONG_MM = 10_000.0, 15_000.0
"""10 to 15 m on one inlet at most (NFT texts)."""
LEAST_FLOW, MOST_FLOW = 0.5, 2.0
"""1 L/min for each channel, half of that at planting, 2 at most (NFT texts)."""
DEEP_FILM_MM = 5.0
LONG_SPAN_MM = 1200.0
"""Supports at most 1.0 to 1.2 m apart under thin pipe (practice)."""
MOST_SAG_MM = 3.0
MOST_POND_MM = 3.0
SAFE_OUTLET_MM = 40.0
"""25 mm blocks in a long crop; an open end or 40 to 50 mm is safer (practice)."""
BRIDGE_MM = 20.0
MOST_SPREAD_PERCENT = 15.0

_METALS = re.compile(r"galvani|zinc|zinked|copper|brass|bronze", re.IGNORECASE)


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanWarning:
    """One thing to think over: a short code for programs, what is so, and why it matters."""

    code: str
    sentence: str
    reason: str


def warnings_of(plan: ChannelPlan) -> tuple[PlanWarning, ...]:
    """Everything about a plan that is not wise, in the order of the form."""
    parts = (_slope, _length, _sites, _roots, _bearing, _metals, _film, _drains, _running_back, _pump, _across)
    return tuple(warning for part in parts for warning in part(plan))


def _warn(code: str, sentence: str, reason: str) -> PlanWarning:
    return PlanWarning(code=code, sentence=sentence, reason=reason)


def _slope(plan: ChannelPlan) -> Iterator[PlanWarning]:
    run = plan.inputs.run_per_rise
    if run > FLATTEST:
        yield _warn(
            "too_flat",
            f"1:{run:.4g} is too flat.",
            "Flatter than 1:100, roots and small errors leave ponds without oxygen; 1:40 is usual.",
        )
    if run < STEEPEST:
        yield _warn(
            "too_steep",
            f"1:{run:.4g} is too steep.",
            "Steeper than 1:30, the water runs past young roots in a rivulet; 1:40 is usual.",
        )


def _length(plan: ChannelPlan) -> Iterator[PlanWarning]:
    length = plan.inputs.length_mm
    if length > LONG_MM:
        word = "too long" if length > TOO_LONG_MM else "long"
        yield _warn(
            "too_long",
            f"{length / 1000:g} m is {word} for one inlet.",
            "After 10 to 15 m the water has lost "
            "its oxygen and the last plants starve first: a second inlet halfway, or two channels.",
        )


def _sites(plan: ChannelPlan) -> Iterator[PlanWarning]:
    inputs, needs = plan.inputs, needs_of(plan.inputs.crop)
    if inputs.spacing_mm < needs.closest_mm:
        yield _warn(
            "sites_close",
            f"Sites at {inputs.spacing_mm:g} mm are too close for {inputs.crop}.",
            f"It wants {needs.closest_mm:g} mm or more: crowded leaves stay wet and shade each other.",
        )
    if inputs.spacing_mm - inputs.hole_mm < BRIDGE_MM:
        yield _warn(
            "bridge_thin",
            f"Only {inputs.spacing_mm - inputs.hole_mm:g} mm stay between two holes.",
            "Less than 20 mm cracks when drilled or lifted.",
        )
    if plan.sites.left_out_mm:
        places = ", ".join(str(at) for at in plan.sites.left_out_mm)
        yield _warn(
            "site_left_out",
            f"No site at {places} mm: it would meet the inspection opening.",
            "A hole beside a hole breaks out.",
        )
    if len(plan.sites.sites_mm) < 2:
        yield _warn("one_site", "Only one site fits.", "Length, first site and clearance leave no more room.")


def _roots(plan: ChannelPlan) -> Iterator[PlanWarning]:
    inputs, crop = plan.inputs, needs_of(plan.inputs.crop)
    if inputs.outlet_mm is not None and inputs.outlet_mm < SAFE_OUTLET_MM:
        for_long = " in a long crop like this one" if crop.long_crop else ""
        yield _warn(
            "roots_at_outlet",
            f"Roots can block an outlet of {inputs.outlet_mm:g} mm{for_long}.",
            "A blocked drain floods the run; an open end or 40 to 50 mm is safer.",
        )
    if inputs.plant_last_site:
        yield _warn(
            "last_site_planted",
            "The last site before the outlet is planted.",
            "Its roots grow into the drain first: leave it empty, or cut them back every week.",
        )


def _bearing(plan: ChannelPlan) -> Iterator[PlanWarning]:
    inputs, bearing = plan.inputs, plan.bearing
    wrong = [s for s in bearing.stretches if not s.least_fall_mm > 0]
    if wrong:
        first = min(wrong, key=lambda stretch: stretch.least_fall_mm)
        yield _warn(
            "fall_not_sure",
            f"From {first.from_mm} to {first.to_mm} mm it falls only {first.fall_mm:.0f} mm.",
            "A tape and string that are 3 mm wrong can make it rise: more slope, or supports farther apart.",
        )
    if bearing.worst_pond_mm > MOST_POND_MM:
        yield _warn(
            "pond",
            f"A pond of {bearing.worst_pond_mm:.0f} mm can stay ({bearing.pond_mm:.1f} mm as planned).",
            "Sag and 3 mm of error in tape and string together; standing water loses its oxygen.",
        )
    widest = max(bearing.stretches, key=lambda stretch: stretch.to_mm - stretch.from_mm)
    if widest.to_mm - widest.from_mm > LONG_SPAN_MM:
        yield _warn(
            "supports_far",
            f"{widest.to_mm - widest.from_mm} mm between two supports is far.",
            f"Thin pipe wants one every 1.0 to 1.2 m; here it sags {widest.sag_mm:.1f} mm in time.",
        )
    most = max(bearing.stretches, key=lambda stretch: stretch.sag_mm)
    if most.sag_mm > MOST_SAG_MM:
        yield _warn(
            "sag",
            f"The channel sags {most.sag_mm:.1f} mm between {most.from_mm} and {most.to_mm} mm.",
            "More than 3 mm: one more support, or a thicker wall.",
        )
    ends = max(bearing.supports[0].at_mm, inputs.length_mm - bearing.supports[-1].at_mm)
    if ends > LONG_SPAN_MM / 2:
        yield _warn(
            "overhang",
            f"An end hangs {ends:.0f} mm beyond its support.",
            "It bends down and rocks: a support at each end.",
        )
    if inputs.outlet_mm is not None:
        yield from _support_at_outlet(plan, inputs.outlet_mm)


def _support_at_outlet(plan: ChannelPlan, outlet_mm: float) -> Iterator[PlanWarning]:
    for support in plan.bearing.supports:
        if abs(support.at_mm - plan.outlet_at_mm) < outlet_mm / 2 + 5:
            yield _warn(
                "support_at_outlet",
                f"The support at {support.at_mm} mm stands under the outlet.",
                "The fitting needs room below: move one of the two.",
            )


def _metals(plan: ChannelPlan) -> Iterator[PlanWarning]:
    inputs = plan.inputs
    words: list[str] = [inputs.material] if inputs.material in ("galvanised", "copper") else []
    words += [inputs.parts] if _METALS.search(inputs.parts) else []
    for word in words:
        yield _warn(
            "metal_on_feed",
            f"{word} touches the feed.",
            "Zinc and copper dissolve in feed and poison the roots: plastic or stainless steel.",
        )


def _film(plan: ChannelPlan) -> Iterator[PlanWarning]:
    water, inputs = plan.stream, plan.inputs
    if water.film is None:
        yield _warn("runs_full", "The channel runs over at this flow.", water.too_full)
    elif water.film.depth_m * 1000 > min(DEEP_FILM_MM, inputs.section.height_mm / 4):
        yield _warn(
            "film_deep",
            f"The film is {water.film.depth_m * 1000:.1f} mm deep in the bare channel.",
            "Above about 5 mm, or a quarter of the height, roots stand in water, and they make "
            "it several times deeper yet.",
        )
    if inputs.flow_l_min > MOST_FLOW:
        yield _warn(
            "flow_high", f"{inputs.flow_l_min:g} L/min is much for one channel.", "1 is usual, 2 at most (NFT texts)."
        )
    if inputs.flow_l_min < LEAST_FLOW:
        yield _warn(
            "flow_low",
            f"{inputs.flow_l_min:g} L/min is little for one channel.",
            "0.5 at planting and 1 later are usual: the last plants go short.",
        )


def _drains(plan: ChannelPlan) -> Iterator[PlanWarning]:
    inputs, drain = plan.inputs, plan.drainage
    rooted = drain.outlet_rooted_l_min
    if rooted is not None and rooted < inputs.flow_l_min:
        yield _warn(
            "drain_small",
            f"With roots the outlet takes {rooted:.1f} L/min of {inputs.flow_l_min:g}.",
            "Half of a drain is soon grown over: a wider one, or an open end.",
        )
    total, back = inputs.flow_l_min * inputs.channels, drain.return_rooted_l_min
    if back is not None and back < total:
        yield _warn(
            "return_small",
            f"With roots the return takes {back:.1f} L/min of {total:g}.",
            "A return should run half full at most: a wider pipe or more slope.",
        )


def _running_back(plan: ChannelPlan) -> Iterator[PlanWarning]:
    back, inputs = plan.run_back, plan.inputs
    if back.room_l is not None and back.total_l > back.room_l:
        yield _warn(
            "run_back",
            f"{back.total_l:.1f} L run back when the pump stops, and the reservoir has room for {back.room_l:.1f} L.",
            "It runs over at the first power cut: a lower working level or a larger reservoir.",
        )
    held = inputs.working_l if inputs.working_l is not None else inputs.reservoir_l
    if held is not None and held < plan.reservoir_wanted_l - back.total_l:
        yield _warn(
            "reservoir_small",
            f"{held:g} L are little for {plan.sites.planted * inputs.channels} plants.",
            f"{plan.reservoir_wanted_l:.0f} L with room for the run-back keep pH and EC steady on a hot day.",
        )


def _pump(plan: ChannelPlan) -> Iterator[PlanWarning]:
    found, inputs = plan.supply, plan.inputs
    if found.pump_head_m is not None and found.wanted_head_m is not None and found.pump_head_m < found.wanted_head_m:
        yield _warn(
            "pump_weak",
            f"At {found.wanted_l_min:g} L/min the pump has {found.pump_head_m:.2f} m and "
            f"{found.wanted_head_m:.2f} m are asked.",
            "The channels get less than wanted, the last one least.",
        )
    elif found.channel_flows_l_min and min(found.channel_flows_l_min) < inputs.flow_l_min:
        yield _warn(
            "pump_weak",
            f"The weakest channel gets {min(found.channel_flows_l_min):.2f} of {inputs.flow_l_min:g} L/min.",
            "A stronger pump, a wider header or wider inlet tubes.",
        )
    if found.spread_percent is not None and found.spread_percent > MOST_SPREAD_PERCENT:
        yield _warn(
            "spread",
            f"The channels differ by {found.spread_percent:.0f} % in flow.",
            "More than 15 %: a wider header, or narrower inlet tubes.",
        )


def _across(plan: ChannelPlan) -> Iterator[PlanWarning]:
    across, inputs = plan.across, plan.inputs
    if across.fits is not None and inputs.channels > across.fits:
        yield _warn(
            "room_narrow",
            f"{across.fits} channels fit across the room, {inputs.channels} are wanted.",
            f"With an aisle of {inputs.aisle_mm:g} mm and {across.pitch_mm:g} mm from middle to middle.",
        )
    if across.pitch_mm < inputs.section.outer_width_mm:
        yield _warn(
            "rows_close",
            f"Channels {inputs.section.outer_width_mm:g} mm wide do not go side by side every {across.pitch_mm:g} mm.",
            "The distance is from middle to middle.",
        )
