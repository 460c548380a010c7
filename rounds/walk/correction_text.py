"""A correction in words: its title lines and the details of a step."""

from __future__ import annotations

from datetime import datetime, timedelta
from textwrap import wrap

from rounds.advice.cautions import JAR_AWAY
from rounds.book.actions import ASKED, MEASURED
from rounds.book.entries import BUFFER_4, JAR, STRIP, Done, Dose
from rounds.book.offer import After, Interval, Step
from rounds.units import show
from rounds.walk.asked_first import ITEMS
from rounds.walk.open_corrections import OpenCorrection
from rounds.walk.step_line import to_confirm

_DOES = {"read_again": "read"} | dict.fromkeys(ITEMS, "what it shows") | dict.fromkeys(MEASURED, "done as advised")
_ASKED_BESIDE = {JAR: "jar test", STRIP: "strip", BUFFER_4: "buffer of 4.01 shows"}
_SHOWN = {
    "buffer_dip": "What the meter shows", "buffer_4": "What the meter shows", "jar_test": "The pH in the jar",
    "strip": "The pH by the strip",
}  # fmt: skip


def assumed_text(correction: OpenCorrection) -> str:
    """What the correction was worked out from, and how this reservoir has answered so far."""
    assumed = correction.assumed
    parts = [
        _part("pH", assumed.ph, "", 2),
        _part("EC", assumed.ec_ms_cm, "mS/cm", 2),
        _part("", assumed.temperature_c, "°C", 1),
        _part("", assumed.volume_l, "L turn round", 0),
        _part("water's alkalinity", assumed.alkalinity_meq_l, "meq/L", 1),
        *(_part(name, correction.asked.get(item), "", 2) for item, name in _ASKED_BESIDE.items()),
    ]
    lines = ["Worked out from: " + " · ".join(part for part in parts if part), correction.answer]
    return "\n".join(line for line in lines if line)


def step_title(step: Step, done: Dose | Done | None, now: datetime, *, following: bool, width: int) -> str:
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


def step_details(step: Step) -> str:
    """What to beware of first, then what a step brings and why it is done; of a question why it is asked, first."""
    lines = [f"! {caution}" for caution in step.cautions]
    if step.action in ASKED:
        return "\n".join([*([f"Why: {step.why}"] if step.why else []), *_jar_away_early(lines)])
    after = _after_text(step.after)
    if after and step.is_measured:
        lines.append(f"After this step: {after}")
    if step.wait_min > 0:
        lines.append(f"Wait {step.wait_min:.0f} min until it has mixed.")
    if step.why:
        lines.append(f"Why: {step.why}")
    return "\n".join(lines)


def _jar_away_early(cautions: list[str]) -> list[str]:
    """What becomes of the jar, behind the two cautions that are needed most: the rest has no room on a small screen."""
    away = f"! {JAR_AWAY}"
    if away not in cautions:
        return cautions
    others = [caution for caution in cautions if caution != away]
    return [*others[:2], away, *others[2:]]


def said_text(correction: OpenCorrection) -> str:
    """What was refused and what was found."""
    lines = [f"! {text}" for text in correction.refusals] + [f"· {text}" for text in correction.findings]
    return "\n".join(lines)


def working_text(correction: OpenCorrection) -> str:
    """The working of every number."""
    parts = ["\n".join(correction.explain)]
    parts += [f"Step {s.number}: {s.text}\n" + "\n".join(f"  {line}" for line in s.explain) for s in correction.steps]
    return "\n\n".join(part for part in parts if part.strip())


def commands_of(step: Step | None, *, given_up: str = "") -> list[tuple[str, str]]:
    """What Enter alone does at a step, and the letters that are commands with Enter behind them.

    Parameters
    ----------
    step : Step or None
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
    if step is not None and step.action in ASKED:
        found += [("s Enter", "skip")]
    found += [("p Enter", "put off"), ("w Enter", "working")]
    return [*found, *([("g Enter", f"give up {given_up}")] if given_up else [])]


def line_text(step: Step | None) -> str:
    """What stands on the empty line: what it takes at a step."""
    if step is None:
        return "Enter walks on"
    if to_confirm(step):
        return to_confirm(step)
    if step.action in _SHOWN:
        return f"{_SHOWN[step.action]}, then Enter" + (". s, then Enter: skip" if step.action in ASKED else "")
    if step.action == "read_again":
        return "Enter opens the reading line"
    return f"Enter: done as advised. Or the {step.unit} really added" if step.is_measured else "Enter: done"


def _after_text(after: After | None) -> str:
    if after is None:
        return ""
    foreseen = (("pH", after.ph, "", 2), ("EC", after.ec_ms_cm, "mS/cm", 2), ("", after.volume_l, "L", 0))
    return " · ".join(_interval_text(label, span, unit, decimals) for label, span, unit, decimals in foreseen)


def _interval_text(label: str, span: Interval, unit: str, decimals: int) -> str:
    value, low, high = (show(each, "", decimals) for each in (span.value, span.low, span.high))
    return f"{label} {value} ({low} to {high}) {unit}".strip()


def _part(label: str, value: object, unit: str, decimals: int) -> str:
    if not isinstance(value, int | float):
        return ""
    return f"{label} {show(float(value), unit, decimals)}".strip()
