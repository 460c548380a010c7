"""A correction on the walk: offered, written down, done step by step, put off, taken up again after a power cut."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from typing import Any

from rounds.book.entries import GivenUp, Overtaken, PutOff, entries_of
from rounds.book.offer import Correction, Readings, Step
from rounds.farm.stations import Reservoir
from rounds.history.record import Draft, Record
from rounds.walk.fresh import FRESH_H, fresh_records, readings_of
from rounds.walk.half_pairs import half_pair_at, pair_records
from rounds.walk.session import Session

LONGEST_WAIT_H = 3.0
"""No wait between two steps is longer."""
FAR_MORE = 1.5
"""So many times the advice is asked about, and voids the rest of a correction. [-]"""
FAR_LESS = 2.0
"""And so many times less voids it too. [-]"""
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


def work_out(session: Session, reservoir_id: str, readings: Readings) -> Correction:
    """The correction of a reservoir for the readings given, without writing anything down."""
    from rounds.advice.correction import correct  # the chemistry is not needed before the first screen

    records = _advice_records(session)
    records = [*pair_records(session, reservoir_id, _begin_of(session, records)), *records]
    if session.is_helper:
        from rounds.walk.helper import helpers_correction

        return helpers_correction(session, records, reservoir_id, readings)
    return correct(session.farm, records, reservoir_id, readings, session.now())


def _begin_of(session: Session, records: list[Record]) -> datetime:
    return records[0].measured_at if records else session.now()


def answer_of(session: Session, reservoir_id: str) -> str:
    """How a reservoir has answered to its corrections so far, in a sentence; empty where nothing is known."""
    from rounds.advice.words import answer_in_words  # as above

    return answer_in_words(session.farm, _advice_records(session), reservoir_id, session.now())


def _advice_records(session: Session) -> list[Record]:
    counted = [product.counted_on for product in session.farm.shelf.values()]
    shelf_since = datetime.combine(min(counted), time(), session.zone) if counted else session.now()
    longest = session.now() - timedelta(days=LONGEST_DAYS)
    return session.history.records(since=max(longest, min(shelf_since, session.now() - timedelta(days=ADVICE_DAYS))))


def readings_for(session: Session, reservoir_id: str) -> Readings | None:
    """What a correction is worked out from: the fresh readings; where A or B went in alone, none are needed."""
    read = readings_of(session, reservoir_id)
    return Readings(at=session.now()) if read is None and half_pair_at(session, reservoir_id) is not None else read


def offer(session: Session, reservoir: Reservoir, round_id: str | None) -> OpenCorrection | None:
    """Work a correction out and write it down.

    Returns
    -------
    OpenCorrection or None
        None where there are no fresh readings and nothing went in alone, or nothing has to be done or said.
    """
    readings = readings_for(session, reservoir.id)
    if readings is None:
        return None
    correction = work_out(session, reservoir.id, readings)
    said = [finding for finding in correction.findings if finding.severity != "note"]
    if not correction.steps and not correction.refusals and not said:
        return None
    (record,) = session.save(_offer_draft(session, reservoir.id, correction, readings, round_id))
    return _opened(record, {})


def open_corrections(session: Session) -> list[OpenCorrection]:
    """Corrections that still hold: neither finished nor put off, and worked out from what is known now."""
    since = session.now() - timedelta(hours=FRESH_H + LONGEST_WAIT_H)
    if not any(
        mark == "kind:correction" and record.measured_at >= since
        for (_, mark), record in session.history.latest_marks().items()
    ):
        return []
    records = session.history.records(since=since)
    newest = {record.station: record for record in records if record.kind == "correction"}
    left = {e.correction_id for e in entries_of(records) if isinstance(e, PutOff | Overtaken | GivenUp)}
    opened = [
        _opened(record, _done_of(record.id, records))
        for record in newest.values()
        if record.id not in left and record.station in session.farm.stations and _still_holds(session, record, records)
    ]
    return [each for each in opened if each.next_step is not None and not is_overtaken(each)]


def is_overtaken(correction: OpenCorrection) -> bool:
    """Whether something was poured so far from the advice that the rest no longer holds."""
    return any(
        step.is_measured
        and (done := correction.done.get(step.number)) is not None
        and (done.value is None or not is_near(step, done.value))
        for step in correction.steps
    )


def is_near(step: PlannedStep, amount: object) -> bool:
    """Whether what was poured is near enough to the advice for the following steps to hold."""
    if not isinstance(amount, int | float) or not step.amount > 0:
        return True
    return 1 / FAR_LESS <= amount / step.amount <= FAR_MORE


def _still_holds(session: Session, offer_record: Record, records: list[Record]) -> bool:
    """Whether an offer is still true: by its age, its readings, its person, and what else was poured."""
    doses = [r for r in records if r.station == offer_record.station and r.kind == "dose"]
    own = [r for r in doses if r.data.get("correction") == offer_record.id]
    begun = max([offer_record.measured_at, *(r.measured_at for r in own)])
    others = [r for r in doses if r not in own and r.measured_at > offer_record.measured_at]
    is_fresh = session.now() - begun <= timedelta(hours=FRESH_H)
    someone_elses = session.is_helper and offer_record.person != session.person_name()
    return is_fresh and not others and not someone_elses and _same_readings(session, offer_record)


def _same_readings(session: Session, offer_record: Record) -> bool:
    """Whether the newest readings are still those that the offer was worked out from."""
    used = offer_record.data.get("input", {}).get("records")
    soon, latest_of = session.now() + timedelta(seconds=1), session.history.latest
    newest = {item: latest_of(offer_record.station, item, kind="reading", before=soon) for item in ("ph", "ec", "dip")}
    if not isinstance(used, dict):
        return all(r is None or r.measured_at <= offer_record.measured_at for r in newest.values())
    return all(record is None or used.get(item, record.id) == record.id for item, record in newest.items()) and all(
        newest.get(item) is not None for item in used if item in newest
    )


def uncorrected(session: Session) -> list[Reservoir]:
    """Reservoirs with fresh readings that no correction was worked out for, as after a power cut."""
    reservoirs = (s for s in session.farm.stations.values() if isinstance(s, Reservoir))
    return [reservoir for reservoir in reservoirs if wants_offer(session, reservoir.id)]


def wants_offer(session: Session, reservoir_id: str) -> bool:
    """Whether there are fresh readings that no correction was worked out from, nor put off since."""
    fresh = fresh_records(session, reservoir_id)
    if not {"ph", "ec"} & set(fresh):
        return False
    marks = session.history.latest_marks()
    last, left = (marks.get((reservoir_id, f"kind:{kind}")) for kind in ("correction", "put-off"))
    read_at = max(fresh[item].measured_at for item in ("ph", "ec") if item in fresh)
    if left is not None and left.measured_at >= read_at:
        return False
    if last is None or last.measured_at < read_at:
        return True
    someone_elses = session.is_helper and last.person != session.person_name()
    return someone_elses or not _same_readings(session, last)


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
        "records": {item: record.id for item, record in fresh_records(session, reservoir_id).items() if item != "t"},
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
