"""A plan in the farm's own words: what marking out decides about a channel, and what to look at when it stands."""

from __future__ import annotations

from typing import Any

from rounds.markout.plan import ChannelPlan


def channel_entry(plan: ChannelPlan) -> dict[str, Any]:
    """What a plan says about a channel in the farm's own words: sites, flow, length, volume and the build.

    Returns
    -------
    dict
        Keys of a channel station that marking out decides; `build` carries the plan for whoever checks the channel.
    """
    inputs, film = plan.inputs, plan.stream.film
    build: dict[str, Any] = {
        "section": str(inputs.section),
        "slope_run_per_rise": _tidy(inputs.run_per_rise),
        "fall_mm": _tidy(plan.fall_mm),
        "hole_mm": _tidy(inputs.hole_mm),
        "spacing_mm": _tidy(inputs.spacing_mm),
        "sites_mm": list(plan.sites.sites_mm),
        "empty_sites_mm": list(plan.sites.empty_mm),
        "supports_mm": [s.at_mm for s in plan.bearing.supports],
        "packers_mm": [s.packer_mm for s in plan.bearing.supports],
        "run_back_l": _tidy(plan.stream.volume_l),
    }
    if inputs.outlet_mm is not None:
        build["outlet_mm"] = _tidy(inputs.outlet_mm)
    if film is not None and plan.stream.transit_s is not None:
        build |= {"film_mm": _tidy(film.depth_m * 1000), "transit_s": _tidy(plan.stream.transit_s)}
    build["checks"] = _checks(plan)
    return {
        "sites": len(plan.sites.sites_mm),
        "flow_l_min": _tidy(inputs.flow_l_min),
        "length_m": _tidy(inputs.length_mm / 1000),
        "holds_l": _tidy(plan.stream.volume_l),
        "build": build,
    }  # fmt: skip


def _checks(plan: ChannelPlan) -> list[str]:
    """What to look at on this channel, in words; the general list comes with its kind of station."""
    packers = ", ".join(f"{s.packer_mm} at {s.at_mm}" for s in plan.bearing.supports)
    checks = [f"jug at the inlet: {plan.inputs.flow_l_min:g} L/min", f"packers seated (mm): {packers}"]
    checks += [f"site at {at} mm empty and covered" for at in plan.sites.empty_mm]
    if plan.stream.transit_s is not None:
        checks.append(f"water at the outlet about {plan.stream.transit_s:.0f} s after the pump starts")
    return checks


def _tidy(value: float) -> float:
    return round(float(value), 3)
