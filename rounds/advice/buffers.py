"""A dip of the pH probe in a buffer, and whether it passes."""

from __future__ import annotations

from itertools import pairwise

from rounds.book.message import say
from rounds.book.offer import Finding, stop
from rounds.errors import OutOfRange

_BUFFER_BY_TEMPERATURE = {
    4.0: ((5.0, 4.00), (10.0, 4.00), (15.0, 4.00), (20.0, 4.00), (25.0, 4.01), (30.0, 4.01)),
    7.0: ((5.0, 7.09), (10.0, 7.06), (15.0, 7.04), (20.0, 7.02), (25.0, 7.00), (30.0, 6.99)),
    10.0: ((5.0, 10.25), (10.0, 10.18), (15.0, 10.12), (20.0, 10.06), (25.0, 10.01), (30.0, 9.97)),
}
"""Technical buffers by their pH at 25 °C: rows at 10 °C as in an instrument manual, the others from memory."""


_AS_NAMED = 0.3
"""So far from its usual pH a bottle may be labelled. [-]"""


def buffer_dip_verdict(
    shown_ph: float, buffer_ph: float, temperature_c: float = 25.0, tolerance: float = 0.1
) -> Finding | None:
    """Judge a dip of the pH probe in a buffer.

    Parameters
    ----------
    shown_ph : float
        What the meter shows. [-]
    buffer_ph : float
        What the bottle says: the pH at 25 degC, near 4, 7 or 10. [-]
    temperature_c : float
        Of the buffer, 0-45. [degC]
    tolerance : float
        How far off still passes, above 0 and up to 0.5. [-]

    Returns
    -------
    Finding or None
        None where the probe passes.

    Raises
    ------
    OutOfRange
        Where the buffer is none of the usual ones or a value cannot be.

    Examples
    --------
    >>> buffer_dip_verdict(7.05, 7.0, 10.0) is None
    True
    """
    if not 0.0 <= shown_ph <= 14.0 or not 0.0 < tolerance <= 0.5 or not 0.0 <= temperature_c <= 45.0:
        raise OutOfRange("This buffer dip cannot be judged.", "Expected a pH of 0-14, 0-45 °C, a tolerance up to 0.5.")
    due = buffer_at(buffer_ph, temperature_c)
    off = shown_ph - due
    if abs(off) <= tolerance + 1e-9:
        return None
    return stop(
        "buffer-off", shown=shown_ph, buffer=buffer_ph, due=due, temperature_c=temperature_c, off=abs(off),
        side=say("high") if off > 0 else say("low"),
    )  # fmt: skip


def is_usual(buffer_ph: float) -> bool:
    """Whether there is a technical buffer of that pH."""
    return any(abs(known - buffer_ph) <= _AS_NAMED for known in _BUFFER_BY_TEMPERATURE)


def buffer_at(buffer_ph: float, temperature_c: float) -> float:
    """The pH a technical buffer really has at a temperature. [-]"""
    name = min(_BUFFER_BY_TEMPERATURE, key=lambda known: abs(known - buffer_ph))
    if not is_usual(buffer_ph):
        raise OutOfRange(f"A buffer of pH {buffer_ph:g} is not a usual one.", "Expected about 4, 7 or 10.")
    rows = _BUFFER_BY_TEMPERATURE[name]
    at_25 = dict(rows)[25.0]
    return _between(rows, temperature_c) + (buffer_ph - at_25)


def _between(rows: tuple[tuple[float, float], ...], x: float) -> float:
    if x <= rows[0][0]:
        return rows[0][1]
    for (x0, y0), (x1, y1) in pairwise(rows):
        if x <= x1:
            return y0 + (y1 - y0) * (x - x0) / (x1 - x0)
    return rows[-1][1]
