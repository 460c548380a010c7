"""The door to corrections: what they are made of, and the one function that works one out."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import TYPE_CHECKING

from rounds.book.actions import POURED, Action
from rounds.book.entry import RecordLike
from rounds.book.offer import FORMAT, After, Assumed, Correction, Finding, Interval, Readings, Refusal, Severity, Step
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
    farm: Farm, records: Sequence[RecordLike], reservoir_id: str, readings: Readings, now: datetime
) -> Correction:
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

    Returns
    -------
    Correction
        Never a dose where a reading, the volume, a strength or the farm's files cannot be: then a refusal says why.

    Raises
    ------
    NotFound
        Where there is no such reservoir.
    """
    from rounds.advice.case import gathered

    farm.reservoir(reservoir_id)
    try:
        case = gathered(farm, records, reservoir_id, readings, now)
        return _worked_out(case)
    except RoundsError as error:
        return _refused(reservoir_id, readings, error)


def _worked_out(case: Case) -> Correction:
    from rounds.advice.explaining import of_case
    from rounds.advice.gates import still_mixing
    from rounds.advice.meanings import meanings
    from rounds.advice.order import BesideTheSteps, put_in_order
    from rounds.advice.plan import StepPlan
    from rounds.advice.planning_pair import other_half, owed
    from rounds.advice.planning_ph import FORECAST_H
    from rounds.advice.prediction import foreseen
    from rounds.advice.projection import later
    from rounds.book.half_pair import half_pair

    plan = StepPlan(case)
    minutes, tomorrow = still_mixing(case), plan.projected
    half = half_pair(case.farm, case.reservoir, case.entries, case.now)
    if minutes > 0.0:
        said = BesideTheSteps()
        _wait_for_mixing(plan, said, minutes)
    else:
        said = put_in_order(case, plan) if half is None else other_half(case, plan, half)
        tomorrow = later(plan.projected, FORECAST_H)
        if half is None and any(step.action in POURED for step in plan.steps):
            plan.recheck("pH and EC", _why_recheck(tomorrow, ph_read=case.readings.ph is not None))
    findings = [*owed(case, half), *meanings(case), *said.findings, *_thrown_down(plan, alone=half is not None)]
    return Correction(
        reservoir_id=case.reservoir.id, assumed=_assumed(case), steps=tuple(plan.steps),
        findings=tuple(_each_once(findings)), refusals=tuple(dict.fromkeys(said.refusals)), explain=of_case(case),
        prediction=foreseen(case, plan.projected, tomorrow),
    )  # fmt: skip


def _why_recheck(tomorrow: Projection, *, ph_read: bool) -> str:
    """Why it is read again, and what next morning will show without anything having failed."""
    why = "After three turnovers it has mixed to 95 %; that reading tests this correction."
    if not ph_read:
        return why
    middle, low, high = tomorrow.ph_range
    return f"{why} Next morning, when the CO2 has left, expect pH {middle:.1f} ({low:.1f} to {high:.1f})."


def _thrown_down(plan: StepPlan, *, alone: bool) -> list[Finding]:
    """A warning where what is mixed together would fall out, at the pH it comes to; what is owed is poured even so."""
    if not any(step.action in ("top_up", "concentrate_a", "concentrate_b", "change_out") for step in plan.steps):
        return []
    from rounds.science.saturation import would_throw_down

    ph = min(max(plan.projected.state.mean[0], 3.5), 9.0)
    found = would_throw_down(plan.projected.solution, plan.case.temperature_c, ph)
    instead = "Pour it slowly into the moving return." if alone else "Bring the pH down first."
    return [Finding(code="throws-down", text=f"{text} {instead}", severity="act") for text in found]


def _wait_for_mixing(plan: StepPlan, said: BesideTheSteps, minutes: float) -> None:
    said.refusals.append(
        Refusal(
            code="still-mixing",
            text=f"What was poured last has not mixed in yet: {minutes:.0f} minutes are left of three turnovers.",
            instead="Walk on, and read again then.",
        )
    )
    plan.add(
        "circulate",
        f"Let the pump run {minutes:.0f} minutes more.",
        why="Three turnovers mix to 95 %.",
        wait_min=minutes,
    )
    plan.add("read_again", "Then read pH and EC again.", why="A reading before that says little.")


def _assumed(case: Case) -> Assumed:
    return Assumed(
        volume_l=case.volume_l, ph=case.readings.ph, ec_ms_cm=case.readings.ec_ms_cm,
        temperature_c=case.temperature_c, alkalinity_meq_l=case.waters[0].alkalinity_meq_l,
    )  # fmt: skip


def _refused(reservoir_id: str, readings: Readings, error: RoundsError) -> Correction:
    return Correction(
        reservoir_id=reservoir_id,
        assumed=Assumed(volume_l=None, ph=None, ec_ms_cm=None, temperature_c=None, alkalinity_meq_l=None),
        refusals=(Refusal(code="bad-input", text=error.sentence, instead=error.hint or "Read again."),),
        explain=(f"Nothing was worked out: {error.sentence}",),
        prediction={"format": FORMAT, "read_at": readings.at.isoformat()},
    )


def _each_once(findings: list[Finding]) -> list[Finding]:
    seen: dict[str, Finding] = {}
    for finding in findings:
        if finding.code not in seen or seen[finding.code].severity == "note":
            seen[finding.code] = finding
    return list(seen.values())
