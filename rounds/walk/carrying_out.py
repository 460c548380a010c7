"""Doing a correction: each step written down with what was really added, put off, or the probe dipped first."""

from __future__ import annotations

from dataclasses import replace

import msgspec

from rounds.advice.buffers import buffer_dip_verdict
from rounds.advice.wording import words
from rounds.book.actions import FED
from rounds.book.entries import Done, Dose
from rounds.book.offer import Step
from rounds.errors import BadInput, Refused
from rounds.history.record import Draft, Record
from rounds.units import parse_number
from rounds.walk.error_texts import in_words
from rounds.walk.helper import beyond_limit
from rounds.walk.open_corrections import FAR_MORE, OpenCorrection, is_near, is_overtaken, open_correction_of
from rounds.walk.permission import BEYOND
from rounds.walk.session import Session

LOOKED = "looked"
WRITTEN_AS = {"look": LOOKED, "strip": "strip-asked"}
"""Items of steps whose action is an item of the checklist: `look` is what a reservoir's calls its surface."""
BY_THEMSELVES = ("circulate", "recheck")
"""Steps that begin by themselves when the one before is done: the pump runs anyway."""
EMERGENCY = {
    "acid": "TOO MUCH ACID: stop the pump, plants out of the stream; plain water in at once, drain off what does not "
    "fit; goggles on. Read pH when it has mixed. No base before a second meter agrees.",
    "base": "TOO MUCH BASE: stop the pump, plants out of the stream; plain water in at once, drain off what does not "
    "fit; goggles on. Read pH when it has mixed. No acid on top of it today without a reading.",
    **dict.fromkeys(
        sorted(FED), "TOO STRONG: plain water in at once, drain off what does not fit; keep the roots wet."
    ),
}
"""What comes first after an accident. Common practice, no source."""


def record_step(
    session: Session, correction: OpenCorrection, step: Step, amount: float | None, round_id: str | None, *,
    marks: tuple[str, ...] = (),
) -> OpenCorrection:  # fmt: skip
    """Write down that a step was done, and with how much.

    Parameters
    ----------
    marks : tuple of str
        Written beside what is marked anyway.

    Raises
    ------
    BadInput
        For an amount that is negative or absurd.
    Refused
        Where another window has written the step down already, the correction no longer holds, or a helper may not pour
        it and gives no amount that was.
    """
    _refuse_what_no_longer_holds(session, correction, step)
    _refuse_what_cannot_be(step, amount)
    draft = _step_draft(session, correction, step, amount, round_id)
    (record,) = session.save(msgspec.structs.replace(draft, marks=(*marks, *draft.marks)))
    done = Dose(record) if step.is_measured else Done(record)
    after = replace(correction, done={**correction.done, step.number: done})
    following = _begins_by_itself(step, after)
    return after if following is None else record_step(session, after, following, None, round_id)


def _refuse_what_cannot_be(step: Step, amount: float | None) -> None:
    if amount is not None and not 0 <= amount <= 1_000_000:
        raise in_words(BadInput, "step-amount", amount=amount, unit=step.unit)


def _step_draft(
    session: Session, correction: OpenCorrection, step: Step, amount: float | None, round_id: str | None
) -> Draft:
    """What is written down of a step: a dose with its product and amount, or that it was done."""
    data = {"action": step.action, "correction": correction.id, "step": step.number, "advised": None}
    draft = Draft(
        kind="step",
        measured_at=session.now(),
        station=correction.station_id,
        item=WRITTEN_AS.get(step.action, step.action),
        person=session.person_name(),
        unit=step.unit or None,
        round_id=round_id,
        data=data,
        marks=(*_marks(step, amount), *_helper_marks(session, step, amount)),
    )
    if not step.is_measured:
        return draft
    return msgspec.structs.replace(
        draft,
        kind="dose",
        item=step.product or "",
        value=step.amount if amount is None else amount,
        data={**data, "advised": step.amount},
    )


def _begins_by_itself(step: Step, after: OpenCorrection) -> Step | None:
    """The step that begins by itself when this one is done; none where the rest no longer holds."""
    following = after.next_step
    if step.action == "circulate" or following is None or following.action not in BY_THEMSELVES:
        return None
    return None if is_overtaken(after) else following


def far_more(step: Step, amount: float) -> str:
    """Why an amount cannot be what was meant, or is an accident; empty where it is near the advice."""
    if not step.is_measured or not step.amount > 0 or not amount > FAR_MORE * step.amount:
        return ""
    return f"{amount:g} {step.unit} is {amount / step.amount:.2g} times the advice of {step.amount:g} {step.unit}"


def after_the_wrong_amount(step: Step, amount: float) -> str:
    """What to do now where what was poured is far from the advice; empty where the rest of the correction holds."""
    if not step.is_measured or is_near(step, amount):
        return ""
    after = "The other steps no longer hold: when it has mixed, read it again and the rest is worked out anew."
    return f"{EMERGENCY[step.action]} {after}" if amount > step.amount and step.action in EMERGENCY else after


def _refuse_what_no_longer_holds(session: Session, correction: OpenCorrection, step: Step) -> None:
    session.gate.refresh()
    now = open_correction_of(session, correction.station_id)
    if now is None or now.id != correction.id:
        raise in_words(Refused, "correction-overtaken")
    if step.number in now.done:
        raise in_words(Refused, "step-done", step=step.number)


def dip_in_buffer(session: Session, correction: OpenCorrection, text: str, round_id: str | None) -> str:
    """Write down what the pH meter shows in the buffer of 7; the correction is worked out again with it.

    Returns
    -------
    str
        What is wrong with the probe; empty where it passes.

    Raises
    ------
    BadInput
        For a pH that cannot be.
    """
    shown = parse_number(text)
    if not 0 <= shown <= 14:
        raise in_words(BadInput, "buffer-ph", ph=shown)
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
    session.save(draft)
    warm = float(read.value) if read is not None and isinstance(read.value, int | float) else 20.0
    verdict = buffer_dip_verdict(shown, 7.0, min(max(warm, 0.0), 45.0), session.farm.limits.buffer_tolerance_ph)
    concern = words(verdict.says) if verdict is not None else ""
    if not concern:
        go_on_behind(session, correction, "buffer_dip", round_id)
    return concern


def go_on_behind(session: Session, correction: OpenCorrection, action: str, round_id: str | None) -> None:
    """Where something was poured since the readings nothing can be worked out anew: the steps go on as they stand."""
    step = correction.next_step
    if correction.is_begun and step is not None and step.action == action:
        record_step(session, correction, step, None, round_id)


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


def _helper_marks(session: Session, step: Step, amount: float | None) -> tuple[str, ...]:
    """The mark of what a helper says was poured beyond the limits; done as advised says no such thing."""
    beyond = beyond_limit(session, step.product or "", amount, step.unit) if amount is not None else ""
    return (f"{BEYOND}, warned: {beyond}",) if beyond else ()


def _marks(step: Step, amount: float | None) -> tuple[str, ...]:
    if amount is None or not step.is_measured or amount <= step.amount * 1.05:
        return ()
    return (f"more than advised: {amount:g} of {step.amount:g} {step.unit}",)
