"""What is unwise about the water in a plan. Limits are common practice unless a text is named."""

from __future__ import annotations

from collections.abc import Iterator

from rounds.markout.plan import ChannelPlan
from rounds.markout.plan_warning import PlanWarning, warn

LEAST_FLOW, MOST_FLOW = 0.5, 2.0
"""1 L/min for each channel, half of that at planting, 2 at most (NFT texts)."""
DEEP_FILM_MM = 5.0
MOST_SPREAD_PERCENT = 15.0


def water_warnings(plan: ChannelPlan) -> Iterator[PlanWarning]:
    """Film and flow, drains, the run-back, the pump: in the order of the form."""
    for part in (_film, _drains, _running_back, _pump):
        yield from part(plan)


def _film(plan: ChannelPlan) -> Iterator[PlanWarning]:
    water, inputs = plan.stream, plan.inputs
    if water.film is None:
        yield warn("runs_full", "The channel runs over at this flow.", water.too_full)
    elif water.film.depth_m * 1000 > min(DEEP_FILM_MM, inputs.section.height_mm / 4):
        yield warn(
            "film_deep",
            f"The film is {water.film.depth_m * 1000:.1f} mm deep in the bare channel.",
            "Above about 5 mm, or a quarter of the height, roots stand in water, and they make "
            "it several times deeper yet.",
        )
    if inputs.flow_l_min > MOST_FLOW:
        yield warn(
            "flow_high", f"{inputs.flow_l_min:g} L/min is much for one channel.", "1 is usual, 2 at most (NFT texts)."
        )
    if inputs.flow_l_min < LEAST_FLOW:
        yield warn(
            "flow_low",
            f"{inputs.flow_l_min:g} L/min is little for one channel.",
            "0.5 at planting and 1 later are usual: the last plants go short.",
        )


def _drains(plan: ChannelPlan) -> Iterator[PlanWarning]:
    inputs, drain = plan.inputs, plan.drainage
    rooted = drain.outlet_rooted_l_min
    if rooted is not None and rooted < inputs.flow_l_min:
        yield warn(
            "drain_small",
            f"With roots the outlet takes {rooted:.1f} L/min of {inputs.flow_l_min:g}.",
            "Half of a drain is soon grown over: a wider one, or an open end.",
        )
    total, back = inputs.flow_l_min * inputs.channels, drain.return_rooted_l_min
    if back is not None and back < total:
        yield warn(
            "return_small",
            f"With roots the return takes {back:.1f} L/min of {total:g}.",
            "A return should run half full at most: a wider pipe or more slope.",
        )


def _running_back(plan: ChannelPlan) -> Iterator[PlanWarning]:
    back, inputs = plan.run_back, plan.inputs
    if back.room_l is not None and back.total_l > back.room_l:
        yield warn(
            "run_back",
            f"{back.total_l:.1f} L run back when the pump stops, and the reservoir has room for {back.room_l:.1f} L.",
            "It runs over at the first power cut: a lower working level or a larger reservoir.",
        )
    held = inputs.working_l if inputs.working_l is not None else inputs.reservoir_l
    if held is not None and held < plan.reservoir_wanted_l - back.total_l:
        yield warn(
            "reservoir_small",
            f"{held:g} L are little for {plan.sites.planted * inputs.channels} plants.",
            f"{plan.reservoir_wanted_l:.0f} L with room for the run-back keep pH and EC steady on a hot day.",
        )


def _pump(plan: ChannelPlan) -> Iterator[PlanWarning]:
    found, inputs = plan.supply, plan.inputs
    if found.pump_head_m is not None and found.wanted_head_m is not None and found.pump_head_m < found.wanted_head_m:
        yield warn(
            "pump_weak",
            f"At {found.wanted_l_min:g} L/min the pump has {found.pump_head_m:.2f} m and "
            f"{found.wanted_head_m:.2f} m are asked.",
            "The channels get less than wanted, the last one least.",
        )
    elif found.channel_flows_l_min and min(found.channel_flows_l_min) < inputs.flow_l_min:
        yield warn(
            "pump_weak",
            f"The weakest channel gets {min(found.channel_flows_l_min):.2f} of {inputs.flow_l_min:g} L/min.",
            "A stronger pump, a wider header or wider inlet tubes.",
        )
    if found.spread_percent is not None and found.spread_percent > MOST_SPREAD_PERCENT:
        yield warn(
            "spread",
            f"The channels differ by {found.spread_percent:.0f} % in flow.",
            "More than 15 %: a wider header, or narrower inlet tubes.",
        )
