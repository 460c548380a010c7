"""What to buy and how to cut it."""

from __future__ import annotations

from dataclasses import dataclass

from rounds.markout.cutting import CutList, cut
from rounds.markout.inputs import Inputs
from rounds.markout.sites import Sites
from rounds.markout.supports import Bearing


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialLine:
    """One line of the shopping list."""

    what: str
    count: int
    each_mm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Cuts:
    """How one material is cut from stock."""

    what: str
    cuts: CutList
    joints: int
    """Joints in pieces that are longer than the stock."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """The shopping list and the cut lists."""

    lines: tuple[MaterialLine, ...]
    cuts: tuple[Cuts, ...]


def material(inputs: Inputs, sites: Sites, bearing: Bearing, pitch_mm: float) -> Material:
    """List everything for all channels, with the cuts of least waste."""
    pieces = _pieces(inputs, bearing, pitch_mm)
    lines = [
        MaterialLine(what=what, count=lengths.count(length), each_mm=length)
        for what, lengths, _ in pieces for length in sorted(set(lengths), reverse=True)
    ]  # fmt: skip
    cuts = tuple(
        Cuts(what=what, cuts=cut(lengths, stock, inputs.kerf_mm), joints=_joints(lengths, max(stock)))
        for what, lengths, stock in pieces
    )
    return Material(lines=(*lines, *_counted(inputs, sites, bearing)), cuts=cuts)


def _pieces(inputs: Inputs, bearing: Bearing, pitch_mm: float) -> list[tuple[str, list[float], tuple[float, ...]]]:
    pipes = _pipes(inputs, pitch_mm)
    found = [(f"channel {inputs.section}, {inputs.material}", [inputs.length_mm] * inputs.channels, inputs.stock_mm)]
    found += [
        (f"pipe {diameter:g} mm inside", lengths, inputs.pipe_stock_mm) for diameter, lengths in sorted(pipes.items())
    ]
    packers = [float(s.packer_mm) for s in bearing.supports if s.packer_mm > 0] * inputs.channels
    if packers:
        found.append(("packer", packers, inputs.packer_stock_mm))
    return found


def _pipes(inputs: Inputs, pitch_mm: float) -> dict[float, list[float]]:
    """The lengths of pipe by inner diameter. [mm]"""
    pipes: dict[float, list[float]] = {}
    runs = [(pipe.diameter_mm, pipe.length_mm) for pipe in (inputs.supply_pipe, inputs.return_pipe) if pipe]
    if inputs.header_mm is not None and inputs.channels > 1:
        runs.append((inputs.header_mm, pitch_mm * (inputs.channels - 1)))
    for diameter, length in runs:
        if length > 0:
            pipes.setdefault(diameter, []).append(length)
    return pipes


def _counted(inputs: Inputs, sites: Sites, bearing: Bearing) -> list[MaterialLine]:
    n = inputs.channels
    caps = 1 if inputs.outlet_mm is None else 2
    lines = [
        MaterialLine(what="end cap", count=caps * n),
        MaterialLine(what="support", count=len(bearing.supports) * n),
        MaterialLine(what="plant", count=sites.planted * n),
    ]
    if inputs.pot_mm is not None:
        lines.append(MaterialLine(what=f"pot {inputs.pot_mm:g} mm", count=sites.planted * n))
    if sites.empty_mm:
        lines.append(MaterialLine(what="cover for an empty site", count=len(sites.empty_mm) * n))
    if inputs.outlet_mm is not None:
        lines.append(MaterialLine(what=f"outlet fitting {inputs.outlet_mm:g} mm inside", count=n))
    if inputs.inlet_tube is not None:
        lines.append(
            MaterialLine(
                what=f"inlet tube {inputs.inlet_tube.diameter_mm:g} mm inside",
                count=n,
                each_mm=inputs.inlet_tube.length_mm,
            )
        )
    return lines


def _joints(lengths: list[float], longest: float) -> int:
    return sum(max(0, int(-(-length // longest)) - 1) for length in lengths)
