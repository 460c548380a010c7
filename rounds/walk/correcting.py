"""A correction on the walk: offered, written down, done step by step, put off, taken up again after a power cut."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from typing import Any

from rounds.advice.steps import Correction, Readings, Step
from rounds.farm.stations import Reservoir
from rounds.history.record import Draft, Record
from rounds.walk.session import Session

OPEN_H = 20.0
"""A correction of before is not taken up any more: the reservoir is read anew."""
FRESH_H = 3.0
"""Readings older than this are not corrected any more."""
ADVICE_DAYS = 60
"""How much of the history the advice looks at: change-outs are rarer than weeks."""
LONGEST_DAYS = 400
"""How far back the use of a product is counted where the shelf was last counted long ago."""
POURED = ("top_up", "concentrate_a", "concentrate_b", "acid", "base", "change_out")
MEASURED = (*POURED, "drain_off")
"""Actions with an amount that is written down as it really was."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedStep:
    """One step as it was offered and written down."""

    number: int
    action: str
    product: str | None
    amount: float
    unit: str
    wait_min: float
    text: str
    why: str
    cautions: tuple[str, ...]
    after: Mapping[str, Any]
    explain: tuple[str, ...]

    @property
    def is_measured(self) -> bool:
        """Whether an amount belongs to it."""
        return self.action in MEASURED


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenCorrection:
    """A correction that was offered, and how far it has been done."""

    id: str
    station_id: str
    offered_at: datetime
    steps: tuple[PlannedStep, ...]
    done: Mapping[int, Record]
    findings: tuple[str, ...]
    refusals: tuple[str, ...]
    explain: tuple[str, ...]
    answer: str
    """How this reservoir has answered so far."""
    assumed: Mapping[str, Any]

    @property
    def next_step(self) -> PlannedStep | None:
        """The first step that is not done yet."""
        return next((step for step in self.steps if step.number not in self.done), None)


def readings_of(session: Session, reservoir_id: str) -> Readings | None:
    """The fresh readings of a reservoir; None where neither pH nor EC was read lately."""
    since = session.now() - timedelta(hours=FRESH_H)
    soon, latest_of = session.now() + timedelta(seconds=1), session.history.latest
    items = ("ph", "ec", "t", "dip")
    latest = {item: latest_of(reservoir_id, item, kind="reading", before=soon) for item in items}
    fresh = {item: r for item, r in latest.items() if r is not None and r.measured_at >= since}
    if not {"ph", "ec"} & set(fresh):
        return None
    return Readings(
        at=max(record.measured_at for record in fresh.values()),
        ph=_number(fresh.get("ph")),
        ec_ms_cm=_number(fresh.get("ec")),
        temperature_c=_number(fresh.get("t")),
        dip_cm=_number(fresh.get("dip")),
        ph_meter=fresh["ph"].meter if "ph" in fresh else None,
        ec_meter=fresh["ec"].meter if "ec" in fresh else None,
    )


def work_out(session: Session, reservoir_id: str, readings: Readings) -> Correction:
    """The correction of a reservoir for the readings given, without writing anything down."""
    from rounds.advice.correction import correct  # the chemistry is not needed before the first screen

    records = _advice_records(session)
    if session.is_helper:
        from rounds.walk.helper import helpers_correction

        return helpers_correction(session, records, reservoir_id, readings)
    return correct(session.farm, records, reservoir_id, readings, session.now())


def answer_of(session: Session, reservoir_id: str) -> str:
    """How a reservoir has answered to its corrections so far, in a sentence; empty where nothing is known."""
    from rounds.advice.words import answer_in_words  # as above

    return answer_in_words(session.farm, _advice_records(session), reservoir_id, session.now())


def _advice_records(session: Session) -> list[Record]:
    counted = [product.counted_on for product in session.farm.shelf.values()]
    shelf_since = datetime.combine(min(counted), time(), session.zone) if counted else session.now()
    longest = session.now() - timedelta(days=LONGEST_DAYS)
    return session.history.records(since=max(longest, min(shelf_since, session.now() - timedelta(days=ADVICE_DAYS))))


def offer(session: Session, reservoir: Reservoir, round_id: str | None) -> OpenCorrection | None:
    """Work a correction out and write it down.

    Returns
    -------
    OpenCorrection or None
        None where there are no fresh readings, or nothing has to be done or said.
    """
    readings = readings_of(session, reservoir.id)
    if readings is None:
        return None
    correction = work_out(session, reservoir.id, readings)
    said = [finding for finding in correction.findings if finding.severity != "note"]
    if not correction.steps and not correction.refusals and not said:
        return None
    (record,) = session.save(_offer_draft(session, reservoir.id, correction, readings, round_id))
    return _opened(record, {})


def open_corrections(session: Session) -> list[OpenCorrection]:
    """Corrections of today that are neither finished nor put off, nor overtaken by a newer one."""
    since = session.now() - timedelta(hours=OPEN_H)
    if not any(
        mark == "kind:correction" and record.measured_at >= since
        for (_, mark), record in session.history.latest_marks().items()
    ):
        return []
    records = session.history.records(since=since)
    newest = {record.station: record for record in records if record.kind == "correction"}
    left = {r.data.get("correction") for r in records if r.kind in ("put-off", "overtaken")}
    opened = [_opened(record, _done_of(record.id, records)) for record in newest.values() if record.id not in left]
    return [each for each in opened if each.next_step is not None]


def uncorrected(session: Session) -> list[Reservoir]:
    """Reservoirs with fresh readings that no correction was worked out for, as after a power cut."""
    found = []
    for station in session.farm.stations.values():
        readings = readings_of(session, station.id) if isinstance(station, Reservoir) else None
        if (
            isinstance(station, Reservoir)
            and readings is not None
            and not offered_since(session, station.id, readings.at)
        ):
            found.append(station)
    return found


def offered_since(session: Session, station_id: str, moment: datetime) -> bool:
    """Whether a correction was worked out, or put off, since then."""
    records = session.history.records(station=station_id, since=moment)
    return any(record.kind in ("correction", "put-off") for record in records)


def open_correction_of(session: Session, station_id: str) -> OpenCorrection | None:
    """The open correction of one reservoir."""
    return next((each for each in open_corrections(session) if each.station_id == station_id), None)


def _offer_draft(
    session: Session, reservoir_id: str, correction: Correction, readings: Readings, round_id: str | None
) -> Draft:
    data = correction.to_json()
    data["steps"] = [_step_data(step) for step in correction.steps]
    data["prediction"] = correction.prediction
    data["answer"] = answer_of(session, reservoir_id)
    data["input"] = {
        "ph": readings.ph,
        "ec_ms_cm": readings.ec_ms_cm,
        "temperature_c": readings.temperature_c,
        "dip_cm": readings.dip_cm,
    }
    return Draft(
        kind="correction",
        measured_at=session.now(),
        station=reservoir_id,
        person=session.person_name(),
        round_id=round_id,
        data=data,
    )


def _step_data(step: Step) -> dict[str, Any]:
    return step.to_json() | {"text": step.text, "why": step.why}


def _opened(record: Record, done: Mapping[int, Record]) -> OpenCorrection:
    data = record.data
    return OpenCorrection(
        id=record.id,
        station_id=record.station,
        offered_at=record.measured_at,
        steps=tuple(_planned(number, raw) for number, raw in enumerate(data.get("steps", ()), 1)),
        done=done,
        findings=tuple(str(each.get("text", "")) for each in data.get("findings", ())),
        refusals=tuple(
            f"{each.get('text', '')} {each.get('instead', '')}".strip() for each in data.get("refusals", ())
        ),
        explain=tuple(data.get("explain", ())),
        answer=str(data.get("answer", "")),
        assumed=data.get("assumed", {}),
    )


def _planned(number: int, raw: Mapping[str, Any]) -> PlannedStep:
    return PlannedStep(
        number=number,
        action=str(raw.get("action", "look")),
        product=raw.get("product"),
        amount=float(raw.get("amount", 0.0)),
        unit=str(raw.get("unit", "")),
        wait_min=float(raw.get("wait_min", 0.0)),
        text=str(raw.get("text", "")),
        why=str(raw.get("why", "")),
        cautions=tuple(raw.get("cautions", ())),
        after=raw.get("after", {}),
        explain=tuple(raw.get("explain", ())),
    )


def _done_of(correction_id: str, records: list[Record]) -> dict[int, Record]:
    return {
        int(r.data["step"]): r
        for r in records
        if r.kind in ("dose", "step") and r.data.get("correction") == correction_id and "step" in r.data
    }


def _number(record: Record | None) -> float | None:
    return float(record.value) if record is not None and isinstance(record.value, int | float) else None
