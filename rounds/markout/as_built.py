"""What was built, measured, and compared with the plan."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from rounds.markout.cautions import MOST_POND_MM, MOST_SPREAD_PERCENT
from rounds.markout.mistakes import InputMistake, raise_if_any
from rounds.markout.plan import ChannelPlan
from rounds.markout.supply import spread_percent
from rounds.markout.supports import ERROR_MM, deepest_pond_mm

FLOW_OFF = 0.15
"""A channel whose flow is farther from the plan than this share is named."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Built:
    """Measurements after building; each may be missing."""

    packers_mm: tuple[float, ...] = ()
    """Packers as they stand, in the order of the supports."""
    levels_mm: tuple[float, ...] = ()
    """Height of the channel's floor over each support, over any one level."""
    flows_l_min: tuple[float, ...] = ()
    """Flow of each channel from first to last, by timed jug."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BuiltStretch:
    """One stretch as measured, beside the plan."""

    from_mm: int
    to_mm: int
    planned_mm: float
    measured_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """What differs from the plan, in numbers and in sentences."""

    packers_off_mm: tuple[float, ...]
    """Measured less planned. [mm]"""
    stretches: tuple[BuiltStretch, ...]
    fall_mm: float | None
    """Measured fall between the first and the last support. [mm]"""
    pond_mm: float | None
    """Deepest pond between supports by the measured levels, sag left out. [mm]"""
    spread_percent: float | None
    findings: tuple[str, ...]

    @property
    def as_planned(self) -> bool:
        """Whether nothing was found."""
        return not self.findings


def jug_flow_l_min(volume_l: float, seconds: float) -> float:
    """Flow by a timed jug.

    Parameters
    ----------
    volume_l : float
        What was caught, above 0 to 100. [L]
    seconds : float
        Time it took, above 0 to 3600. [s]

    Returns
    -------
    float
        Flow. [L/min]

    Raises
    ------
    SeveralMistakes
        Outside these ranges.

    Examples
    --------
    >>> jug_flow_l_min(1, 50)
    1.2
    """
    if not (0 < volume_l <= 100 and 0 < seconds <= 3600):
        raise_if_any([InputMistake(field="jug", sentence=f"{volume_l:g} L in {seconds:g} s is not a flow.",
                              hint="Litres and seconds above 0 are expected, such as 1L/52s.")])  # fmt: skip
    return round(volume_l / seconds * 60, 9)


def compare(plan: ChannelPlan, built: Built) -> Comparison:
    """Compare measurements with the plan.

    Parameters
    ----------
    plan : Plan
        The plan it was built to.
    built : Built
        What was measured.

    Returns
    -------
    Comparison
        Differences and findings; empty findings mean as planned.

    Raises
    ------
    SeveralMistakes
        For counts that do not fit the plan or values that cannot be.
    """
    raise_if_any(_mistakes(plan, built))
    planned = [s.packer_mm for s in plan.bearing.supports]
    off = tuple(float(a - b) for a, b in zip(built.packers_mm, planned, strict=False))
    levels = built.levels_mm or _levels_from_packers(plan, built)
    stretches = _stretches(plan, levels)
    spread = spread_percent(built.flows_l_min) if built.flows_l_min else None
    return Comparison(
        packers_off_mm=off, stretches=stretches, fall_mm=levels[0] - levels[-1] if levels else None,
        pond_mm=deepest_pond_mm(levels) if levels else None, spread_percent=spread,
        findings=(
            *_packer_findings(plan, off),
            *_fall_findings(stretches, levels),
            *_flow_findings(plan, built, spread),
        ),
    )  # fmt: skip


def _levels_from_packers(plan: ChannelPlan, built: Built) -> tuple[float, ...]:
    return tuple(s.ground_mm + p for s, p in zip(plan.bearing.supports, built.packers_mm, strict=False))


def _mistakes(plan: ChannelPlan, built: Built) -> Iterator[InputMistake]:
    count = len(plan.bearing.supports)
    for field, values in (("packers", built.packers_mm), ("levels", built.levels_mm)):
        if values and len(values) != count:
            yield InputMistake(field=field, sentence=f"{len(values)} {field} were measured for {count} supports.",
                          hint="One for each support is expected.")  # fmt: skip
        if not all(-5000 <= value <= 5000 for value in values):
            yield InputMistake(field=field, sentence=f"One of the measured {field} is not believable.",
                          hint="-5000 to 5000 mm is expected.")  # fmt: skip
    yield from _flow_mistakes(plan, built.flows_l_min)


def _flow_mistakes(plan: ChannelPlan, flows: Sequence[float]) -> Iterator[InputMistake]:
    if flows and len(flows) != plan.inputs.channels:
        yield InputMistake(field="flows",
                      sentence=f"{len(flows)} flows were measured for {plan.inputs.channels} channels.",
                      hint="One for each channel is expected.")  # fmt: skip
    if not all(math.isfinite(flow) and 0 <= flow <= 1000 for flow in flows):
        yield InputMistake(
            field="flows", sentence="One of the measured flows is not believable.", hint="0 to 1000 L/min."
        )


def _stretches(plan: ChannelPlan, levels: Sequence[float]) -> tuple[BuiltStretch, ...]:
    return tuple(
        BuiltStretch(from_mm=s.from_mm, to_mm=s.to_mm, planned_mm=s.fall_mm, measured_mm=high - low)
        for s, (high, low) in zip(plan.bearing.stretches, pairwise(levels), strict=False)
    )


def _packer_findings(plan: ChannelPlan, off: Sequence[float]) -> Iterator[str]:
    for support, by in zip(plan.bearing.supports, off, strict=False):
        if abs(by) > ERROR_MM:
            word = "high" if by > 0 else "low"
            yield f"The packer at {support.at_mm} mm is {abs(by):g} mm too {word}: {support.packer_mm} mm was planned."


def _fall_findings(stretches: Sequence[BuiltStretch], levels: Sequence[float]) -> Iterator[str]:
    for stretch in stretches:
        if stretch.measured_mm <= 0:
            word = "rises by" if stretch.measured_mm < 0 else "is level, it falls by"
            yield (f"From {stretch.from_mm} to {stretch.to_mm} mm the channel {word} {abs(stretch.measured_mm):g} mm; "
                   f"it should fall {stretch.planned_mm:.0f} mm.")  # fmt: skip
    pond = deepest_pond_mm(levels) if levels else 0.0
    if pond > MOST_POND_MM:
        yield f"A pond of {pond:g} mm stays when the pump stops; 3 mm is the most."


def _flow_findings(plan: ChannelPlan, built: Built, spread: float | None) -> Iterator[str]:
    wanted = plan.inputs.flow_l_min
    for number, flow in enumerate(built.flows_l_min, 1):
        if abs(flow / wanted - 1) > FLOW_OFF:
            yield f"Channel {number} gets {flow:.2f} L/min; {wanted:g} was planned."
    if spread is not None and spread > MOST_SPREAD_PERCENT:
        yield f"The flows differ by {spread:.0f} % from the weakest to the strongest channel; 15 % is the most."
