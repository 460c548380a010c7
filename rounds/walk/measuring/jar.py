"""The jar test of a correction, guided: so much of the acid or base into a jar of the reservoir's own water."""

from __future__ import annotations

from datetime import datetime
from functools import partial

from rounds.book.entries import JAR
from rounds.book.offer import Step
from rounds.errors import NotFound
from rounds.walk.asked_first import answer_asked, meter_of, shown_ph
from rounds.walk.dialogue import Anew
from rounds.walk.dialogue import Way as Onwards
from rounds.walk.error_texts import in_words
from rounds.walk.measuring.asking import Ask, Outcome, Way, done
from rounds.walk.offering import offer
from rounds.walk.open_corrections import OpenCorrection, open_correction_of, wants_offer
from rounds.walk.session import Session

STANDS_S = 60.0
"""So long a jar stands after stirring, before it is read: practice. [s]"""


def jar(session: Session, reservoir_id: str) -> Way:
    """Ask for what the correction of a reservoir tells to stir in, and for the pH in the jar.

    Raises
    ------
    NotFound
        Where no correction asks for a jar test.
    """
    correction, step = jar_step_of(session, reservoir_id)
    yield Ask(
        code="jar-stir", settle=True,
        text="Stir it in. Enter when it is stirred.", read=done, told=lambda _: "stirred in",
        lines=(step.text, *(f"! {caution}" for caution in step.cautions), step.why),
        hint="Enter alone: it is stirred, and the minute begins",
    )  # fmt: skip
    ph = yield Ask(
        code="jar-ph", text="Which pH does the jar show?", read=shown_ph, told=lambda ph: f"the jar shows pH {ph:g}",
        lines=("Rinse the probe before and after. The CO2 is still in, so that it errs low.",),
        cautions=step.cautions[-1:], hint="The pH it shows, such as 5.9", wait_s=STANDS_S,
    )  # fmt: skip
    meter = meter_of(session, JAR)
    return Outcome(
        value=ph, sd=0.0, unit="", how="in a jar", meter=meter.id if meter else None,
        lines=(f"The jar shows pH {ph:g}: the correction is worked out anew with it.",),
        keep=partial(_keep, session, correction, step, f"{ph:g}"),
    )  # fmt: skip


def jar_step_of(session: Session, reservoir_id: str) -> tuple[OpenCorrection, Step]:
    """The open correction of a reservoir, or a new one, and its jar test.

    Raises
    ------
    NotFound
        Where none asks for a jar test now.
    """
    found = open_correction_of(session, reservoir_id)
    if found is None and wants_offer(session, reservoir_id):
        found = offer(session, session.farm.reservoir(reservoir_id), None)
    step = None if found is None else found.next_step
    if found is None or step is None or step.action != "jar_test":
        raise in_words(NotFound, "no-jar-asked")
    return found, step


def asked_at(session: Session, reservoir_id: str) -> datetime:
    """When it was asked for: what was answered before belongs to another jar. Raises as `jar_step_of`."""
    return jar_step_of(session, reservoir_id)[0].offered_at


def _keep(session: Session, correction: OpenCorrection, step: Step, shown: str, round_id: str | None) -> Onwards:
    answer_asked(session, correction, step, shown, round_id)
    return Anew(correction.station_id)
