"""A correction in words: its title lines and the details of a step."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta
from textwrap import wrap
from typing import Any

from rounds.book.actions import MEASURED
from rounds.book.entries import Done, Dose
from rounds.book.offered import PlannedStep
from rounds.units import show
from rounds.walk.open_corrections import OpenCorrection
from rounds.walk.step_line import to_confirm

_DOES = {"buffer_dip": "what it shows", "read_again": "read"} | dict.fromkeys(MEASURED, "done as advised")


def assumed_text(correction: OpenCorrection) -> str:
    """What the correction was worked out from, and how this reservoir has answered so far."""
    assumed = correction.assumed
    parts = [
        _part("pH", assumed.get("ph"), "", 2),
        _part("EC", assumed.get("ec_ms_cm"), "mS/cm", 2),
        _part("", assumed.get("temperature_c"), "°C", 1),
        _part("", assumed.get("volume_l"), "L turn round", 0),
        _part("water's alkalinity", assumed.get("alkalinity_meq_l"), "meq/L", 1),
    ]
    lines = ["Worked out from: " + " · ".join(part for part in parts if part), correction.answer]
    return "\n".join(line for line in lines if line)


def step_title(step: PlannedStep, done: Dose | Done | None, now: datetime, *, following: bool, width: int) -> str:
    """One step, with a sign: done, running, next, or to come."""
    sign = "▶" if following else " "
    if done is not None:
        runs = step.action == "recheck" or now < done.measured_at + timedelta(minutes=step.wait_min)
        sign = "⧗" if runs and not step.is_measured else "✓"
    really = ""
    if done is not None and isinstance(done.value, int | float) and done.value != step.amount:
        really = f" (really {done.value:g} {step.unit})"
    text = f"{sign} {step.number}  {step.text}{really}"
    return "\n".join(wrap(text, max(40, width - 2), subsequent_indent="     "))


def step_details(step: PlannedStep) -> str:
    """What to beware of first, then what a step brings and why it is done."""
    lines = [f"! {caution}" for caution in step.cautions]
    after = _after_text(step.after)
    if after and step.is_measured:
        lines.append(f"After this step: {after}")
    if step.wait_min > 0:
        lines.append(f"Wait {step.wait_min:.0f} min until it has mixed.")
    if step.why:
        lines.append(f"Why: {step.why}")
    return "\n".join(lines)


def said_text(correction: OpenCorrection) -> str:
    """What was refused and what was found."""
    lines = [f"! {text}" for text in correction.refusals] + [f"· {text}" for text in correction.findings]
    return "\n".join(lines)


def commands_of(step: PlannedStep | None, *, given_up: str = "") -> list[tuple[str, str]]:
    """What Enter alone does at a step, and the letters that are commands with Enter behind them.

    Parameters
    ----------
    step : PlannedStep or None
        The step that is next; None where the correction is at its end.
    given_up : str
        The half of a pair that may be given up; empty where there is none.
    """
    found = []
    if step is not None:
        found.append(
            (f"{step.unit} Enter", "poured") if to_confirm(step) else ("Enter", _DOES.get(step.action, "done"))
        )
    if step is not None and step.is_measured:
        found += [("e Enter", "other amount")]
    found += [("p Enter", "put off"), ("w Enter", "working")]
    return [*found, *([("g Enter", f"give up {given_up}")] if given_up else [])]


def line_text(step: PlannedStep | None) -> str:
    """What stands on the empty line: what it takes at a step."""
    if step is None:
        return "Enter walks on"
    if to_confirm(step):
        return to_confirm(step)
    if step.action == "buffer_dip":
        return "What the meter shows, then Enter"
    if step.action == "read_again":
        return "Enter opens the reading line"
    return f"Enter: done as advised. Or the {step.unit} really added" if step.is_measured else "Enter: done"


def _after_text(after: Mapping[str, Any]) -> str:
    parts = []
    for key, label, unit, decimals in (("ph", "pH", "", 2), ("ec_ms_cm", "EC", "mS/cm", 2), ("volume_l", "", "L", 0)):
        interval = after.get(key)
        if isinstance(interval, Mapping):
            value, low, high = (show(float(interval[name]), "", decimals) for name in ("value", "low", "high"))
            parts.append(f"{label} {value} ({low} to {high}) {unit}".strip())
    return " · ".join(parts)


def _part(label: str, value: object, unit: str, decimals: int) -> str:
    if not isinstance(value, int | float):
        return ""
    return f"{label} {show(float(value), unit, decimals)}".strip()
