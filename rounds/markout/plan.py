"""The plan of a channel: everything worked out from the inputs in one go, quickly enough for every key typed."""

from __future__ import annotations

from dataclasses import dataclass

from rounds.markout.checks import check
from rounds.markout.crops import needs_of
from rounds.markout.flow import Drainage, RunBack, Stream, drainage, run_back, stream
from rounds.markout.inputs import Inputs
from rounds.markout.material import Material, material
from rounds.markout.room import Across, across
from rounds.markout.sites import Sites, lay_out_sites
from rounds.markout.supply import WaterSupply, supply
from rounds.markout.supports import Bearing, bear


@dataclass(frozen=True, slots=True, kw_only=True)
class ChannelPlan:
    """Everything that follows from the inputs."""

    inputs: Inputs
    fall_mm: float
    sites: Sites
    bearing: Bearing
    stream: Stream
    drainage: Drainage
    run_back: RunBack
    supply: WaterSupply
    across: Across
    reservoir_wanted_l: float
    """For the plants of all channels, and room for what runs back. [L]"""
    material: Material

    @property
    def outlet_at_mm(self) -> float:
        """Middle of the outlet from the inlet end. [mm]"""
        return self.inputs.outlet_at_mm


def plan(inputs: Inputs) -> ChannelPlan:
    """Lay out a channel.

    Parameters
    ----------
    inputs : Inputs
        What is asked for; checked here once more.

    Returns
    -------
    Plan
        Warnings are worked out from it by `rounds.markout.cautions.warnings_of`.

    Raises
    ------
    SeveralMistakes
        Where the inputs cannot be built.

    Examples
    --------
    >>> from rounds.markout.typed import read
    >>> typed = {"length": "3m", "section": "100x50mm", "slope": "1:40", "spacing": "200", "hole": "45", "flow": "1"}
    >>> plan(read(typed)).fall_mm
    75.0
    """
    check(inputs)
    sites, bearing, water, room = lay_out_sites(inputs), bear(inputs), stream(inputs), across(inputs)
    back = run_back(inputs, water.volume_l, room.pitch_mm)
    each = inputs.per_plant_l if inputs.per_plant_l is not None else needs_of(inputs.crop).per_plant_l
    return ChannelPlan(
        inputs=inputs, fall_mm=inputs.length_mm / inputs.run_per_rise, sites=sites, bearing=bearing, stream=water,
        drainage=drainage(inputs), run_back=back, supply=supply(inputs, room.pitch_mm), across=room,
        reservoir_wanted_l=sites.planted * inputs.channels * each + back.total_l,
        material=material(inputs, sites, bearing, room.pitch_mm),
    )  # fmt: skip
