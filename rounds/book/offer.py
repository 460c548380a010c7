"""What a correction is: its steps in order, what each will bring, and what is said or refused beside them.

The same types are worked out, written down and read back. What they say is a code with values until the catalogue of
the advice gives it words; the record keeps both.
"""

from __future__ import annotations

import math
from datetime import datetime
from typing import Any, Literal

import msgspec

from rounds.book.actions import MEASURED
from rounds.book.message import Message, Value, say, sentences

FORMAT = 1
"""Version of the JSON form. Keys may be added without raising it."""

Severity = Literal["note", "act", "stop"]
_VALUE_DECIMALS = 4


class Interval(msgspec.Struct, frozen=True, kw_only=True):
    """A value with the range that holds it nine times in ten."""

    value: float
    low: float
    high: float

    def __post_init__(self) -> None:
        if not self.low <= self.value <= self.high or not math.isfinite(self.low + self.high):
            raise ValueError(f"not a finite interval around its value: {self.low} {self.value} {self.high}")

    def rounded(self, decimals: int) -> Interval:
        """The interval as it is written down."""
        value, low, high = (round(each, decimals) for each in (self.value, self.low, self.high))
        return Interval(value=value, low=low, high=high)


class After(msgspec.Struct, frozen=True, kw_only=True):
    """What the reservoir will be once a step has mixed in."""

    volume_l: Interval
    """Circulating volume."""
    ph: Interval
    ec_ms_cm: Interval

    def rounded(self, ph_decimals: int = 2) -> After:
        """The same as it is written down."""
        return After(
            volume_l=self.volume_l.rounded(1), ph=self.ph.rounded(ph_decimals), ec_ms_cm=self.ec_ms_cm.rounded(3)
        )


class Step(msgspec.Struct, frozen=True, kw_only=True):
    """One thing to do, in the order of the correction: as it is planned, and as it is read back from the record."""

    number: int = 0
    """Its place in the correction, from 1; 0 while the plan still grows."""
    action: str = "look"
    """One of `actions.Action`; from a newer version also another."""
    product: str | None = None
    """Id of a product on the shelf, or of a water."""
    amount: float = 0.0
    unit: str = ""
    wait_min: float = 0.0
    """How long to wait afterwards. [min]"""
    cautions: tuple[str, ...] = ()
    after: After | None = None
    """None where its record does not say all of it."""
    explain: tuple[str, ...] = ()
    of_water: str | None = None
    """Id of the water that a jar test is made with; None where it is the reservoir's own."""
    thinned: float = 1.0
    """So many times the bottle is thinned before it is poured, since its own amount is too small to measure. [-]"""
    text: str = ""
    """The sentence the grower reads."""
    why: str = ""
    says: Message | None = None
    """What `text` is made from."""
    because: Message | None = None
    """What `why` is made from."""

    @property
    def is_measured(self) -> bool:
        """Whether an amount belongs to it."""
        return self.action in MEASURED


class Finding(msgspec.Struct, frozen=True, kw_only=True):
    """What the readings mean."""

    code: str
    """What it is about: it is said once, and the rooms above ask for it."""
    text: str = ""
    severity: Severity = "note"
    says: Message | None = None
    """What `text` is made from."""


class Refusal(msgspec.Struct, frozen=True, kw_only=True):
    """A step that is not offered: why not, and what to do instead."""

    code: str
    text: str = ""
    instead: str = ""
    says: Message | None = None
    """What `text` is made from."""

    @property
    def hint(self) -> Message | None:
        """What `instead` is made from: its code is that of the text with "-instead" behind it."""
        return None if self.says is None else Message(f"{self.says.code}-instead", self.says.values)


class Inquiry(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True):
    """What is asked of the grower, whose answer may change the correction."""

    code: str
    """What is asked; the item under which the answer is entered."""
    text: str
    answers: tuple[str, ...]
    """What may be answered."""
    step: int = 0
    """The step that asks it; 0 where it stands beside the steps."""
    product: str | None = None
    """Id of what goes into a jar test."""
    ml_per_l: float | None = None
    """So much of it into each litre. [mL/L]"""
    of_water: str | None = None
    """Id of the water in the jar; None where it is the reservoir's own."""
    buffer: float | None = None
    """The buffer that the probe is dipped into. [-]"""


class Assumed(msgspec.Struct, frozen=True, kw_only=True):
    """What the correction was worked out from; None where nothing is known."""

    volume_l: float | None = None
    """Circulating volume, the reservoir and what stands outside it."""
    ph: float | None = None
    ec_ms_cm: float | None = None
    temperature_c: float | None = None
    alkalinity_meq_l: float | None = None
    """Alkalinity of the usual water here, to the end point where only CO2 is left."""


class Correction(msgspec.Struct, frozen=True, kw_only=True):
    """The ordered steps that put a reservoir right, and everything that must be said beside them."""

    format: int = FORMAT
    reservoir_id: str = msgspec.field(name="reservoir")
    assumed: Assumed
    steps: tuple[Step, ...] = ()
    findings: tuple[Finding, ...] = ()
    refusals: tuple[Refusal, ...] = ()
    questions: tuple[Inquiry, ...] = ()
    explain: tuple[str, ...] = ()
    prediction: dict[str, Any] = {}
    """What the recheck will test: it is kept with the record of this correction."""


class Readings(msgspec.Struct, frozen=True, kw_only=True):
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
    ph_at: datetime | None = None
    """When the pH was read, where that is on record: other readings may have come after it."""
    ec_at: datetime | None = None
    """When the EC was read, where that is on record."""


def note(code: str, /, about: str = "", **values: Value) -> Finding:
    """A finding that is only told; `about` where its message has a code of its own."""
    return Finding(code=about or code, says=say(code, **values))


def act(code: str, /, about: str = "", **values: Value) -> Finding:
    """A finding that wants something done."""
    return Finding(code=about or code, severity="act", says=say(code, **values))


def stop(code: str, /, about: str = "", **values: Value) -> Finding:
    """A finding that lets nothing be poured on it."""
    return Finding(code=about or code, severity="stop", says=say(code, **values))


def refused(code: str, /, about: str = "", **values: Value) -> Refusal:
    """A refusal; the same values fill what to do instead."""
    return Refusal(code=about or code, says=say(code, **values))


def in_full(refusal: Refusal, severity: Severity = "note") -> Finding:
    """A refusal as a finding, with what to do instead behind it."""
    told = [each for each in (refusal.says, refusal.hint) if each is not None]
    return Finding(code=refusal.code, severity=severity, says=sentences(*told))


def form_of(correction: Correction) -> dict[str, Any]:
    """The correction in its versioned form, rounded; what it foresaw is kept beside it."""
    replace = msgspec.structs.replace
    steps = tuple(
        replace(
            step,
            wait_min=round(step.wait_min, 1),
            after=step.after and step.after.rounded(),
            says=_short(step.says),
            because=_short(step.because),
        )
        for step in correction.steps
    )
    told = replace(
        correction, steps=steps, assumed=_rounded(correction.assumed), prediction={},
        findings=tuple(replace(each, says=_short(each.says)) for each in correction.findings),
        refusals=tuple(replace(each, says=_short(each.says)) for each in correction.refusals),
    )  # fmt: skip
    form: dict[str, Any] = msgspec.to_builtins(told)
    del form["prediction"]
    return form


def _rounded(assumed: Assumed) -> Assumed:
    decimals = {"volume_l": 1, "ph": 3, "ec_ms_cm": 3, "temperature_c": 1, "alkalinity_meq_l": 3}
    kept = {name: getattr(assumed, name) for name in decimals}
    return Assumed(**{name: value if value is None else round(value, decimals[name]) for name, value in kept.items()})


def _short(message: Message | None) -> Message | None:
    """A message with its figures rounded, also in those within it."""
    if message is None:
        return None
    return Message(message.code, {name: _short_value(value) for name, value in message.values.items()})


def _short_value(value: Value) -> Value:
    if isinstance(value, Message):
        return _short(value) or value
    if isinstance(value, tuple):
        return tuple(_short(each) or each if isinstance(each, Message) else each for each in value)
    return round(value, _VALUE_DECIMALS) if isinstance(value, float) else value
