"""The door to corrections: what they are made of, and the one function that works one out."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import TYPE_CHECKING

from rounds.book.actions import FED, POURED, Action
from rounds.book.entry import RecordLike
from rounds.book.message import Message, say, sentences
from rounds.book.offer import (
    FORMAT,
    After,
    Assumed,
    Correction,
    Finding,
    Interval,
    Readings,
    Refusal,
    Severity,
    Step,
    act,
    refused,
)
from rounds.errors import RoundsError
from rounds.farm.farm import Farm

if TYPE_CHECKING:
    from rounds.advice.case import Case
    from rounds.advice.order import BesideTheSteps
    from rounds.advice.plan import StepPlan
    from rounds.advice.projection import Projection

__all__ = [
    "FORMAT",
    "POURED",
    "Action",
    "After",
    "Assumed",
    "Correction",
    "Finding",
    "Interval",
    "Readings",
    "RecordLike",
    "Refusal",
    "Severity",
    "Step",
    "correct",
]


def correct(
    farm: Farm, records: Sequence[RecordLike], reservoir_id: str, readings: Readings, now: datetime, *,
    renew: bool = False,
) -> Correction:  # fmt: skip
    """Work out how a reservoir is put right.

    Parameters
    ----------
    farm : Farm
        As loaded.
    records : sequence of record
        Effective records of this reservoir and of the farm as a whole (those of its channels too, where at hand),
        oldest first, at least back to the last change-out.
    reservoir_id : str
        Id of a reservoir.
    readings : Readings
        What was read just now; it may be among the records already.
    now : datetime
        With its zone.
    renew : bool
        Whether all is renewed, whatever the readings say: the grower has said so.

    Returns
    -------
    Correction
        Never a dose where a reading, the volume, a strength or the farm's files cannot be, nor where a record of an
        unknown kind may have changed what is in there: then a refusal says why.

    Raises
    ------
    NotFound
        Where there is no such reservoir.
    """
    from rounds.advice.case import gathered
    from rounds.advice.newer_record import held_back
    from rounds.advice.wording import worded

    farm.reservoir(reservoir_id)
    try:
        case = gathered(farm, records, reservoir_id, readings, now)
        found = _worked_out(case, renew=renew)
    except RoundsError as error:
        found = _refused(reservoir_id, readings, error)
    return worded(held_back(found, farm, records, now))


def _worked_out(case: Case, *, renew: bool) -> Correction:
    from rounds.advice.dosing_ph import FORECAST_H
    from rounds.advice.explaining import of_case
    from rounds.advice.gates import still_mixing
    from rounds.advice.meanings import meanings
    from rounds.advice.order import BesideTheSteps, put_in_order
    from rounds.advice.plan import BOTH, StepPlan
    from rounds.advice.planning_pair import other_half, owed
    from rounds.advice.prediction import foreseen
    from rounds.advice.projection import later
    from rounds.book.half_pair import half_pair

    plan = StepPlan(case)
    minutes, tomorrow = still_mixing(case), plan.projected
    half = half_pair(case.farm, case.reservoir, case.entries, case.now) if not renew else None
    if minutes > 0.0 and not renew:
        said = BesideTheSteps()
        _wait_for_mixing(plan, said, minutes)
    else:
        said = put_in_order(case, plan, renew=renew) if half is None else other_half(case, plan, half)
        tomorrow = later(plan.projected, FORECAST_H)
        if half is None and any(step.action in POURED for step in plan.steps):
            plan.recheck(BOTH, _why_recheck(tomorrow, ph_read=case.readings.ph is not None))
    findings = [*owed(case, half), *meanings(case), *said.findings, *_thrown_down(plan)]
    return Correction(
        reservoir_id=case.reservoir.id, assumed=_assumed(case), steps=tuple(plan.steps),
        findings=tuple(_each_once(findings)), refusals=_not_twice(said.refusals), explain=of_case(case),
        prediction=foreseen(case, plan.projected, tomorrow, plan.banks),
    )  # fmt: skip


def _why_recheck(tomorrow: Projection, *, ph_read: bool) -> Message:
    """Why it is read again, and what next morning will show without anything having failed."""
    if not ph_read:
        return say("tests-this")
    middle, low, high = tomorrow.ph_range
    return sentences(say("tests-this"), say("next-morning", middle=middle, low=low, high=high))


def _thrown_down(plan: StepPlan) -> list[Finding]:
    """A warning where what is mixed together would fall out, at the pH it comes to; what is owed is poured even so."""
    if not any(step.action in {"top_up", "change_out"} | FED for step in plan.steps):
        return []
    from rounds.science.saturation import would_throw_down

    ph = min(max(plan.projected.state.mean[0], 3.5), 9.0)
    found = would_throw_down(plan.projected.solution, plan.case.temperature_c, ph)
    return [act("throws-down", what=text, instead=say("slowly-into-the-return")) for text in found]


def _wait_for_mixing(plan: StepPlan, said: BesideTheSteps, minutes: float) -> None:
    said.refusals.append(refused("still-mixing", minutes=minutes))
    plan.add(
        "circulate", say("run-the-pump-on", minutes=minutes), why=say("mixes-in-three-turnovers"), wait_min=minutes
    )  # fmt: skip
    plan.add("read_again", say("read-then"), why=say("says-little"))


def _assumed(case: Case) -> Assumed:
    return Assumed(
        volume_l=case.volume_l, ph=case.readings.ph, ec_ms_cm=case.readings.ec_ms_cm,
        temperature_c=case.temperature_c, alkalinity_meq_l=case.waters[0].alkalinity_meq_l,
    )  # fmt: skip


def _refused(reservoir_id: str, readings: Readings, error: RoundsError) -> Correction:
    says = say("bad-input", sentence=error.sentence, hint=error.hint or say("read-again"))
    if error.code:
        says = Message(says.code, {**says.values, "error": error.code, **error.values})
    return Correction(
        reservoir_id=reservoir_id,
        assumed=Assumed(),
        refusals=(Refusal(code=says.code, says=says),),
        explain=(f"Nothing was worked out: {error.sentence}",),
        prediction={"format": FORMAT, "read_at": readings.at.isoformat()},
    )


def _each_once(findings: list[Finding]) -> list[Finding]:
    seen: dict[str, Finding] = {}
    for finding in findings:
        if finding.code not in seen or seen[finding.code].severity == "note":
            seen[finding.code] = finding
    return list(seen.values())


def _not_twice(refusals: list[Refusal]) -> tuple[Refusal, ...]:
    return tuple(each for n, each in enumerate(refusals) if each not in refusals[:n])
