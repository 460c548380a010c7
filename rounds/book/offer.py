"""What a correction is: its steps in order, what each will bring, and what is said or refused beside them."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Literal

from rounds.book.actions import Action

FORMAT = 1
"""Version of the JSON form. Keys may be added without raising it."""

Severity = Literal["note", "act", "stop"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Interval:
    """A value with the range that holds it nine times in ten."""

    value: float
    low: float
    high: float

    def __post_init__(self) -> None:
        if not self.low <= self.value <= self.high or not math.isfinite(self.low + self.high):
            raise ValueError(f"not a finite interval around its value: {self.low} {self.value} {self.high}")

    def to_json(self, decimals: int = 3) -> dict[str, float]:
        """The interval as plain numbers."""
        return {name: round(getattr(self, name), decimals) for name in ("value", "low", "high")}


@dataclass(frozen=True, slots=True, kw_only=True)
class After:
    """What the reservoir will be once a step has mixed in."""

    volume_l: Interval
    """Circulating volume."""
    ph: Interval
    ec_ms_cm: Interval

    def to_json(self) -> dict[str, dict[str, float]]:
        """The three intervals by name."""
        return {
            "volume_l": self.volume_l.to_json(1),
            "ph": self.ph.to_json(2),
            "ec_ms_cm": self.ec_ms_cm.to_json(3),
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One thing to do, in the order of the correction."""

    action: Action
    product: str | None = None
    """Id of a product on the shelf, or of a water."""
    amount: float = 0.0
    unit: str = ""
    wait_min: float = 0.0
    """How long to wait afterwards. [min]"""
    cautions: tuple[str, ...] = ()
    text: str
    """The sentence the grower reads."""
    why: str = ""
    after: After
    explain: tuple[str, ...] = ()

    def to_json(self) -> dict[str, Any]:
        """The step in the versioned form."""
        return {
            "action": self.action,
            "product": self.product,
            "amount": self.amount,
            "unit": self.unit,
            "wait_min": round(self.wait_min, 1),
            "cautions": list(self.cautions),
            "after": self.after.to_json(),
            "explain": list(self.explain),
            "text": self.text,
            "why": self.why,
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """What the readings mean."""

    code: str
    text: str
    severity: Severity = "note"

    def to_json(self) -> dict[str, str]:
        """The finding in the versioned form."""
        return {"code": self.code, "text": self.text, "severity": self.severity}


@dataclass(frozen=True, slots=True, kw_only=True)
class Refusal:
    """A step that is not offered: why not, and what to do instead."""

    code: str
    text: str
    instead: str
    moves_ph: bool = False
    """Whether it is of a bottle that would have moved the pH, not of the feed."""

    def to_json(self) -> dict[str, str]:
        """The refusal in the versioned form."""
        return {"code": self.code, "text": self.text, "instead": self.instead}


@dataclass(frozen=True, slots=True, kw_only=True)
class Assumed:
    """What the correction was worked out from; None where nothing is known."""

    volume_l: float | None
    """Circulating volume, the reservoir and what stands outside it."""
    ph: float | None
    ec_ms_cm: float | None
    temperature_c: float | None
    alkalinity_meq_l: float | None
    """Alkalinity of the usual water here, to the end point where only CO2 is left."""

    def to_json(self) -> dict[str, float | None]:
        """The assumptions by name."""
        return {
            "volume_l": _rounded(self.volume_l, 1),
            "ph": _rounded(self.ph, 3),
            "ec_ms_cm": _rounded(self.ec_ms_cm, 3),
            "temperature_c": _rounded(self.temperature_c, 1),
            "alkalinity_meq_l": _rounded(self.alkalinity_meq_l, 3),
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Correction:
    """The ordered steps that put a reservoir right, and everything that must be said beside them."""

    reservoir_id: str
    assumed: Assumed
    steps: tuple[Step, ...] = ()
    findings: tuple[Finding, ...] = ()
    refusals: tuple[Refusal, ...] = ()
    explain: tuple[str, ...] = ()
    prediction: dict[str, Any] = field(default_factory=dict)
    """What the recheck will test: it is kept with the record of this correction."""

    def to_json(self) -> dict[str, Any]:
        """The correction in its versioned form."""
        return {
            "format": FORMAT,
            "reservoir": self.reservoir_id,
            "assumed": self.assumed.to_json(),
            "steps": [step.to_json() for step in self.steps],
            "findings": [finding.to_json() for finding in self.findings],
            "refusals": [refusal.to_json() for refusal in self.refusals],
            "explain": list(self.explain),
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Readings:
    """What was read at a reservoir just now; None for what was not."""

    at: datetime
    ph: float | None = None
    ec_ms_cm: float | None = None
    """Conductivity at 25 °C."""
    temperature_c: float | None = None
    dip_cm: float | None = None
    volume_l: float | None = None
    """Litres in the reservoir itself, where they were read rather than dipped."""
    ph_meter: str | None = None
    ec_meter: str | None = None
    second_meter_ph: float | None = None
    """What a second pH meter showed."""


def _rounded(value: float | None, decimals: int) -> float | None:
    return None if value is None else round(value, decimals)
