"""Doing a correction: each step written down with what was really added, put off, or the probe dipped first."""

from __future__ import annotations

from dataclasses import replace

from rounds.errors import BadInput
from rounds.history.record import Draft, Record
from rounds.units import parse_number
from rounds.walk.correcting import OpenCorrection, PlannedStep
from rounds.walk.helper import beyond_limit
from rounds.walk.session import Session

BY_THEMSELVES = ("circulate", "recheck")
"""Steps that begin by themselves when the one before is done: the pump runs anyway."""


def record_step(
    session: Session, correction: OpenCorrection, step: PlannedStep, amount: float | None, round_id: str | None
) -> OpenCorrection:
    """Write down that a step was done, and with how much.

    Raises
    ------
    BadInput
        For an amount that is negative or absurd.
    """
    if amount is not None and not 0 <= amount <= 1_000_000:
        raise BadInput(f"{amount:g} {step.unit} cannot have been added.", "An amount of 0 or more is expected.")
    data = {
        "action": step.action,
        "correction": correction.id,
        "step": step.number,
        "advised": step.amount if step.is_measured else None,
    }
    draft = Draft(
        kind="dose" if step.is_measured else "step",
        measured_at=session.now(),
        station=correction.station_id,
        item=(step.product or "") if step.is_measured else step.action,
        person=session.person_name(),
        value=(step.amount if amount is None else amount) if step.is_measured else None,
        unit=step.unit or None,
        round_id=round_id,
        data=data,
        marks=(*_marks(step, amount), *_helper_marks(session, step, amount)),
    )
    (record,) = session.save(draft)
    after = replace(correction, done={**correction.done, step.number: record})
    following = after.next_step
    if step.action != "circulate" and following is not None and following.action in BY_THEMSELVES:
        return record_step(session, after, following, None, round_id)
    return after


def dip_in_buffer(session: Session, correction: OpenCorrection, text: str, round_id: str | None) -> Record:
    """Write down what the pH meter shows in the buffer of 7; the correction is worked out again with it.

    Raises
    ------
    BadInput
        For a pH that cannot be.
    """
    shown = parse_number(text)
    if not 0 <= shown <= 14:
        raise BadInput(f"The meter cannot show a pH of {shown:g}.", "Expected is about 7.")
    meter = session.farm.meter_for("ph")
    read = session.history.latest(correction.station_id, "t", kind="reading")
    draft = Draft(
        kind="reading",
        measured_at=session.now(),
        station=correction.station_id,
        item="buffer",
        person=session.person_name(),
        value=shown,
        typed=text,
        meter=meter.id if meter else None,
        round_id=round_id,
        data={"buffer": 7.0} | ({"temperature_c": read.value} if read is not None else {}),
    )
    return session.save(draft)[0]


def put_off(session: Session, correction: OpenCorrection, reason: str, round_id: str | None) -> Record:
    """Leave a correction for later, with the reason; it is carried over."""
    draft = Draft(
        kind="put-off",
        measured_at=session.now(),
        station=correction.station_id,
        person=session.person_name(),
        note=reason,
        round_id=round_id,
        data={"correction": correction.id},
    )
    return session.save(draft)[0]


def _helper_marks(session: Session, step: PlannedStep, amount: float | None) -> tuple[str, ...]:
    beyond = beyond_limit(session, step.product or "", step.amount if amount is None else amount, step.unit)
    return (f"beyond the helper's limit, warned: {beyond}",) if beyond else ()


def _marks(step: PlannedStep, amount: float | None) -> tuple[str, ...]:
    if amount is None or not step.is_measured or amount <= step.amount * 1.05:
        return ()
    return (f"more than advised: {amount:g} of {step.amount:g} {step.unit}",)
