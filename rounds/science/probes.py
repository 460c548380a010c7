"""Whether a pH probe can be believed: slope, offset and what a buffer shows at its temperature."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from rounds.errors import BadInput
from rounds.science.ranges import within

GAS_OVER_FARADAY_MV_K = 0.198416
"""ln(10) R / F. [mV/K]"""
GOOD_SLOPE_PERCENT, WORST_SLOPE_PERCENT = 95.0, 85.0
"""Makers' lower limits differ: 85, 90, 92, 95 % in four manuals."""
WORST_OFFSET_MV = 30.0
"""At pH 7: common practice."""

_TEMPERATURES_C = (5.0, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0)
BUFFERS: Mapping[str, tuple[float, ...]] = MappingProxyType({
    "4.01": (4.00, 4.00, 4.00, 4.00, 4.01, 4.01, 4.02, 4.03),
    "6.86": (6.95, 6.92, 6.90, 6.88, 6.86, 6.85, 6.84, 6.84),
    "7.00": (7.09, 7.06, 7.04, 7.02, 7.00, 6.99, 6.98, 6.97),
    "9.18": (9.39, 9.33, 9.28, 9.23, 9.18, 9.14, 9.10, 9.07),
    "10.01": (10.25, 10.18, 10.12, 10.06, 10.01, 9.97, 9.93, 9.89),
})  # fmt: skip
"""pH of technical buffers at 5, 10 ... 40 degC, as printed on bottles and in manuals (from memory; 7.00 and 10.01
at 10 degC read in a manual). Each maker's label goes first."""


def nernst_slope_mv_ph(temperature_c: float) -> float:
    """What an ideal probe gives per pH, 0-60 degC. [mV]

    Examples
    --------
    >>> round(nernst_slope_mv_ph(25.0), 2)
    59.16

    References
    ----------
    W. Nernst; constants CODATA 2018.
    """
    return GAS_OVER_FARADAY_MV_K * (within(temperature_c, 0.0, 60.0, "A buffer's temperature", "°C") + 273.15)


def buffer_ph(nominal: str, temperature_c: float) -> float:
    """pH that a buffer has at a temperature, 5-40 degC. [-]

    Parameters
    ----------
    nominal : str
        Name on the bottle, one of BUFFERS.
    temperature_c : float
        Temperature of the buffer. [degC]

    Examples
    --------
    >>> buffer_ph("7.00", 10.0)
    7.06
    """
    if nominal not in BUFFERS:
        raise BadInput(f"No table for a buffer '{nominal}'.", f"Expected one of {', '.join(BUFFERS)}.")
    within(temperature_c, _TEMPERATURES_C[0], _TEMPERATURES_C[-1], "A buffer's temperature", "°C")
    i = min(bisect_right(_TEMPERATURES_C, temperature_c), len(_TEMPERATURES_C) - 1)
    low, high = _TEMPERATURES_C[i - 1], _TEMPERATURES_C[i]
    one, other = BUFFERS[nominal][i - 1], BUFFERS[nominal][i]
    return one + (other - one) * (temperature_c - low) / (high - low)


@dataclass(frozen=True, slots=True, kw_only=True)
class ProbeVerdict:
    """What two buffer readings say about a probe."""

    slope_mv_ph: float
    slope_percent: float
    """Of the ideal slope at that temperature. [%]"""
    offset_mv: float
    """What it would give at pH 7.00. [mV]"""
    verdict: str
    """`good`, `watch` or `bad`."""
    says: str


def judge_probe(
    first_mv: float, first_ph: float, second_mv: float, second_ph: float, temperature_c: float
) -> ProbeVerdict:
    """Slope and offset from two buffers.

    Parameters
    ----------
    first_mv, second_mv : float
        Readings, -600 to 600. [mV]
    first_ph, second_ph : float
        pH of the two buffers at that temperature, at least 1 apart, 1-13. [-]
    temperature_c : float
        Temperature of both, 0-60. [degC]

    Raises
    ------
    OutOfRange
        Where one of them is outside its range.
    BadInput
        Where the buffers are too near each other.

    Examples
    --------
    >>> judge_probe(-15.0, 7.01, 160.0, 4.01, 25.0).verdict
    'good'
    >>> judge_probe(15.0, 7.01, 160.0, 4.01, 25.0).verdict
    'bad'
    """
    for mv in (first_mv, second_mv):
        within(mv, -600.0, 600.0, "A reading", "mV")
    for ph in (first_ph, second_ph):
        within(ph, 1.0, 13.0, "A buffer", "pH")
    if not abs(first_ph - second_ph) >= 1.0:
        raise BadInput("The two buffers are too near each other to tell a slope.", "Expected at least 1 pH apart.")
    slope = (second_mv - first_mv) / (first_ph - second_ph)
    percent = 100.0 * slope / nernst_slope_mv_ph(temperature_c)
    offset = first_mv + slope * (first_ph - 7.0)
    verdict, says = _verdict(percent, offset)
    return ProbeVerdict(slope_mv_ph=slope, slope_percent=percent, offset_mv=offset, verdict=verdict, says=says)


def dip_error(reading: float, nominal: str, temperature_c: float) -> float:
    """How far a reading in a buffer is off, what the buffer has at that temperature taken away. [-]

    Examples
    --------
    >>> round(dip_error(7.10, "7.00", 10.0), 2)
    0.04
    """
    return within(reading, 0.0, 14.0, "A pH", "") - buffer_ph(nominal, temperature_c)


def _verdict(percent: float, offset_mv: float) -> tuple[str, str]:
    if not WORST_SLOPE_PERCENT <= percent <= 105.0 or not abs(offset_mv) <= WORST_OFFSET_MV:
        return "bad", "Clean it, use fresh buffer and calibrate again; if it stays so, the probe is worn out."
    if percent < GOOD_SLOPE_PERCENT:
        return "watch", "It answers weakly: clean it, and have a new one at hand."
    return "good", "It answers as it should."
