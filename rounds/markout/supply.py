"""From the pump to the inlets: what is asked of the pump, where it settles, and how evenly the channels share."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from rounds.markout.inputs import Inputs
from rounds.science.pipes import pipe_loss_m
from rounds.science.pump_curve import head_at, working_point

INLET_K = 1.5
"""Into the tube 0.5 and out of its end 1.0 (Crane TP-410; memory)."""
TEE_K = 0.3
"""Straight through a tee of the header (between 0.2 and 0.4 in handbooks; memory)."""
_L_MIN = 1 / 60000


@dataclass(frozen=True, slots=True, kw_only=True)
class WaterSupply:
    """Heads and flows on the way to the channels."""

    wanted_l_min: float
    """All channels together. [L/min]"""
    wanted_head_m: float | None
    """Head the pump must give at that flow; None where the lift is not given. [m]"""
    lift_m: float | None
    friction_m: float
    minor_m: float
    pump_head_m: float | None
    """Head the pump has at the wanted flow. [m]"""
    working_l_min: float | None
    """Flow at the working point with all taps open. [L/min]"""
    working_head_m: float | None
    channel_flows_l_min: tuple[float, ...]
    """Flow into each channel from the first to the last with taps open; empty without pump curve and lift. [L/min]"""
    spread_percent: float | None
    """Most less least over the mean; None without a header and inlet tubes. [%]"""


def supply(inputs: Inputs, pitch_mm: float) -> WaterSupply:
    """Work out what is asked of the pump, and the working point where its curve is known.

    Parameters
    ----------
    inputs : Inputs
        Checked inputs.
    pitch_mm : float
        Distance of neighbouring inlets along the header. [mm]

    Returns
    -------
    Supply
        Whatever the given inputs allow; the rest is None.
    """
    network = _Network(inputs, pitch_mm)
    wanted = inputs.flow_l_min * inputs.channels
    friction, minor = network.wanted_losses()
    lift = None if inputs.lift_mm is None else inputs.lift_mm / 1000
    curve = inputs.pump_curve
    flows, head = network.settle(curve, lift) if curve is not None and lift is not None else ((), None)
    shared = inputs.inlet_tube is not None and bool(flows) and inputs.channels > 1
    return WaterSupply(
        wanted_l_min=wanted, wanted_head_m=None if lift is None else lift + friction + minor, lift_m=lift,
        friction_m=friction, minor_m=minor, pump_head_m=None if curve is None else head_at(curve, wanted),
        working_l_min=sum(flows) if flows else None, working_head_m=head, channel_flows_l_min=flows,
        spread_percent=spread_percent(flows) if shared else None,
    )  # fmt: skip


def spread_percent(flows: Sequence[float]) -> float:
    """Most less least, over the mean.

    Examples
    --------
    >>> spread_percent([1.1, 1.0, 0.9])
    20.0
    """
    mean = sum(flows) / len(flows)
    return round((max(flows) - min(flows)) / mean * 100, 9) if mean > 0 else 0.0


class _Network:
    """Supply pipe, header and inlet tubes as losses of head; flows in m3/s."""

    def __init__(self, inputs: Inputs, pitch_mm: float) -> None:
        self._inputs = inputs
        self._pitch_m = pitch_mm / 1000
        self._temperature = inputs.temperature_c

    def wanted_losses(self) -> tuple[float, float]:
        """Friction and minor losses where every channel gets just what is wanted. [m]"""
        inputs, count, each = self._inputs, self._inputs.channels, self._inputs.flow_l_min * _L_MIN
        runs = []
        if inputs.supply_pipe:
            runs.append((inputs.supply_pipe.diameter_mm, inputs.supply_pipe.length_mm, inputs.fittings_k, each * count))
        if inputs.header_mm is not None:
            runs += [(inputs.header_mm, self._pitch_m * 1000, TEE_K, each * n) for n in range(1, count)]
        if inputs.inlet_tube:
            runs.append((inputs.inlet_tube.diameter_mm, inputs.inlet_tube.length_mm, INLET_K, each))
        friction = sum(self._loss(d, length, 0, flow) for d, length, _, flow in runs)
        return friction, sum(self._loss(d, 0, k, flow) for d, _, k, flow in runs)

    def settle(self, curve: Sequence[tuple[float, float]], lift_m: float) -> tuple[tuple[float, ...], float]:
        """Flow of each channel [L/min] and head of the pump [m] at the working point."""
        count = self._inputs.channels
        if self._inputs.inlet_tube is None:
            flow, head = working_point(curve, lambda q: lift_m + self._supply(q * _L_MIN))
            return (flow / count,) * count, head
        most = curve[-1][0] * _L_MIN / count

        def spare(last: float) -> float:
            flows, head = self._shares(last)
            total = sum(flows)
            return head_at(curve, total / _L_MIN) - lift_m - self._supply(total) - head

        if spare(0.0) <= 0:
            return (0.0,) * count, head_at(curve, 0)
        flows, _ = self._shares(_falling_root(spare, 0.0, most))
        return tuple(q / _L_MIN for q in flows), head_at(curve, sum(flows) / _L_MIN)

    def _shares(self, last: float) -> tuple[tuple[float, ...], float]:
        """Flows from first to last and the head at the first inlet, found backwards from the last channel."""
        if last <= 0:
            return (0.0,) * self._inputs.channels, 0.0
        head = last_head = self._inlet(last)
        flows, total = [last], last
        for _ in range(self._inputs.channels - 1):
            head += self._header(total)
            flows.append(self._inlet_flow(head, last, last * head / last_head))
            total += flows[-1]
        return tuple(reversed(flows)), head

    def _inlet_flow(self, head: float, low: float, high: float) -> float:
        if high - low < 1e-4 * low:
            return high
        return _falling_root(lambda q: head - self._inlet(q), low, high)

    def _supply(self, flow: float) -> float:
        pipe = self._inputs.supply_pipe
        return self._loss(pipe.diameter_mm, pipe.length_mm, self._inputs.fittings_k, flow) if pipe else 0.0

    def _header(self, flow: float) -> float:
        width = self._inputs.header_mm
        return 0.0 if width is None else self._loss(width, self._pitch_m * 1000, TEE_K, flow)

    def _inlet(self, flow: float) -> float:
        tube = self._inputs.inlet_tube
        assert tube is not None
        return self._loss(tube.diameter_mm, tube.length_mm, INLET_K, flow)

    def _loss(self, diameter_mm: float, length_mm: float, fittings_k: float, flow: float) -> float:
        return pipe_loss_m(flow, diameter_mm / 1000, length_mm / 1000, fittings_k, self._temperature)


def _falling_root(function: Callable[[float], float], low: float, high: float) -> float:
    """Where a falling function crosses zero; false position that halves when one end sticks."""
    at_low, at_high = function(low), function(high)
    if at_high >= 0:
        return high
    for turn in range(40):
        share = at_low / (at_low - at_high) if turn % 3 else 0.5
        middle = low + (high - low) * min(max(share, 0.01), 0.99)
        value = function(middle)
        if value >= 0:
            low, at_low = middle, value
        else:
            high, at_high = middle, value
        if high - low <= 1e-5 * high:
            break
    return (low + high) / 2
