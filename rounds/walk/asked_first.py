"""What a correction asks before acid or base: the pH that was shown, written down whole, or skipped.

What follows a question is safe without an answer, so that it may be skipped; a dip in the buffer of 7 may not.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from rounds.book.actions import ASKED
from rounds.book.entries import BUFFER_4, BUFFER_4_PH, JAR, STRIP, Check, Doing, Reading, entries_of
from rounds.book.offer import Step
from rounds.errors import BadInput
from rounds.farm.model import Meter
from rounds.history.record import Draft, Record
from rounds.units import parse_number
from rounds.walk.carrying_out import dip_in_buffer, go_on_behind, record_step
from rounds.walk.error_texts import in_words
from rounds.walk.offering import readings_for, work_out
from rounds.walk.open_corrections import OpenCorrection, open_correction_of
from rounds.walk.session import Session

ITEMS: Mapping[str, str] = {"buffer_dip": "buffer", "jar_test": JAR, "buffer_4": BUFFER_4, "strip": STRIP}
"""By the steps that ask for a pH: the item under which the answer is written down."""
SKIPPED = "skipped"
"""The mark of a question that was left without an answer."""
_PH = (0.0, 14.0)


def shown_ph(text: str) -> float:
    """A pH as it was typed.

    Raises
    ------
    BadInput
        For what is no number, or no pH.
    """
    shown = parse_number(text)
    if not _PH[0] <= shown <= _PH[1]:
        raise in_words(BadInput, "asked-ph", ph=shown, low=_PH[0], high=_PH[1])
    return shown


def answer_asked(session: Session, correction: OpenCorrection, step: Step, text: str, round_id: str | None) -> str:
    """Write down the pH that was asked for; the correction is worked out again with it.

    Returns
    -------
    str
        What is wrong with the probe by a dip in the buffer of 7; else empty.

    Raises
    ------
    BadInput
        For what is no pH.
    OutOfRange
        For a pH beyond the limits of the item.
    """
    if step.action == "buffer_dip":
        return dip_in_buffer(session, correction, text, round_id)
    item = ITEMS[step.action]
    meter = meter_of(session, item)
    draft = Draft(
        kind="reading",
        measured_at=session.now(),
        station=correction.station_id,
        item=item,
        person=session.person_name(),
        value=shown_ph(text),
        typed=text,
        meter=meter.id if meter else None,
        round_id=round_id,
        data=_about(session, correction.station_id, step),
    )
    session.save(draft)
    go_on_behind(session, correction, step.action, round_id)
    return ""


def is_the_last_answer(session: Session, at: datetime) -> bool:
    """Whether what was shown in buffer at some time stands, and neither a new dip nor a calibration came after it."""
    since = session.history.records(since=at)
    shown = (each for each in entries_of(since) if isinstance(each, Reading | Check | Doing))
    return sum(each.item in (*ITEMS.values(), "calibrated") for each in shown) == 1


def skip_asked(session: Session, correction: OpenCorrection, round_id: str | None) -> OpenCorrection:
    """Leave the question that is next without an answer. Raises as `record_step`, too.

    Raises
    ------
    BadInput
        Where the next step is no question.
    """
    step = correction.next_step
    if step is None or step.action not in ASKED:
        raise in_words(BadInput, "no-question")
    return record_step(session, correction, step, None, round_id, marks=(SKIPPED,))


def meter_of(session: Session, item_id: str) -> Meter | None:
    """The meter that shows an item: the pH meter in a jar and in buffer, none on a strip."""
    return session.farm.meter_for("ph" if item_id in (JAR, BUFFER_4) else item_id)


def jar_as_asked(session: Session, station_id: str) -> dict[str, Any]:
    """What is in the jar of a jar test: what the correction told to stir into it.

    That is the open one; where none is, that of the fresh readings, as `rounds correct` shows it.

    Raises
    ------
    BadInput
        Where no correction asks for a jar test.
    """
    step = next((each for each in _steps_now(session, station_id) if each.action == "jar_test"), None)
    if step is None:
        raise in_words(BadInput, "no-jar-asked")
    return _about(session, station_id, step)


def _steps_now(session: Session, station_id: str) -> tuple[Step, ...]:
    open_now = open_correction_of(session, station_id)
    if open_now is not None:
        return open_now.steps
    readings = readings_for(session, station_id)
    return work_out(session, station_id, readings).steps if readings is not None else ()


def jar_as_before(record: Record) -> dict[str, Any]:
    """What was in the jar of a jar test that is on record."""
    jar = Reading(record)
    return _in_jar(jar.jar_product, jar.jar_ml_per_l, jar.jar_water or None)


def _in_jar(product: str | None, ml_per_l: float | None, water: str | None) -> dict[str, Any]:
    return {"product": product, "ml_per_l": ml_per_l} | ({} if water is None else {"water": water})


def _about(session: Session, station_id: str, step: Step) -> dict[str, Any]:
    """What is kept beside the pH that was asked for."""
    if step.action == "jar_test":
        return _in_jar(step.product, step.amount, step.of_water)
    if step.action == "buffer_4":
        read = session.history.latest(station_id, "t", kind="reading")
        return {"buffer": BUFFER_4_PH} | ({"temperature_c": read.value} if read is not None else {})
    return {}
