"""Corrections that were offered: how far each is done, and whether it still holds."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from rounds.book.entries import Done, Dose, GivenUp, Overtaken, PutOff, entries_of, only
from rounds.book.entry import Entry
from rounds.book.offer import Assumed, Step
from rounds.book.offered import Offer
from rounds.farm.stations import Reservoir
from rounds.walk.fresh import FRESH_H, answers_beside, fresh_records
from rounds.walk.newer_records import newer_records
from rounds.walk.session import Session

FAR_MORE = 1.5
"""So many times the advice is asked about, and voids the rest of a correction. [-]"""
FAR_LESS = 2.0
"""And so many times less voids it too. [-]"""
OLDEST_DAYS = 3.0
"""No offer is looked at that was made longer ago: whatever its waits, it is worked out anew by then. [d]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenCorrection:
    """A correction that was offered, and how far it has been done."""

    id: str
    station_id: str
    offered_at: datetime
    steps: tuple[Step, ...]
    done: Mapping[int, Dose | Done]
    findings: tuple[str, ...]
    refusals: tuple[str, ...]
    explain: tuple[str, ...]
    answer: str
    """How this reservoir has answered so far."""
    assumed: Assumed
    asked: Mapping[str, float]
    """What was shown by what was asked beside the readings, by item."""

    @property
    def next_step(self) -> Step | None:
        """The first step that is not done yet."""
        return next((step for step in self.steps if step.number not in self.done), None)

    @property
    def is_begun(self) -> bool:
        """Whether something was poured or drained for it: then its readings are out of date."""
        return any(step.is_measured and step.number in self.done for step in self.steps)


def open_corrections(session: Session) -> list[OpenCorrection]:
    """Corrections that still hold: neither finished nor put off, and worked out from what is known now."""
    since = session.now() - timedelta(days=OLDEST_DAYS)
    newest = {
        station: Offer(record)
        for (station, mark), record in session.history.latest_marks().items()
        if mark == "kind:correction" and record.measured_at >= since and station in session.farm.stations
    }
    found = (_open_now(session, offer) for offer in newest.values())
    return [each for each in found if each is not None]


def open_correction_of(session: Session, station_id: str) -> OpenCorrection | None:
    """The open correction of one reservoir."""
    return next((each for each in open_corrections(session) if each.station_id == station_id), None)


def opened(offer: Offer, done: Mapping[int, Dose | Done]) -> OpenCorrection:
    """An offer with what was done of it."""
    return OpenCorrection(
        id=offer.id, station_id=offer.station, offered_at=offer.measured_at, steps=offer.steps, done=done,
        findings=offer.findings, refusals=offer.refusals, explain=offer.explain, answer=offer.answer,
        assumed=offer.assumed, asked=offer.asked,
    )  # fmt: skip


def is_overtaken(correction: OpenCorrection) -> bool:
    """Whether something was poured so far from the advice that the rest no longer holds."""
    return any(
        step.is_measured
        and (done := correction.done.get(step.number)) is not None
        and (done.value is None or not is_near(step, done.value))
        for step in correction.steps
    )


def is_near(step: Step, amount: object) -> bool:
    """Whether what was poured is near enough to the advice for the following steps to hold."""
    if not isinstance(amount, int | float) or not step.amount > 0:
        return True
    return 1 / FAR_LESS <= amount / step.amount <= FAR_MORE


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
    offer = Offer(last)
    return _is_someone_elses(session, offer) or not _same_readings(session, offer) or not _same_answers(session, offer)


def _open_now(session: Session, offer: Offer) -> OpenCorrection | None:
    """The offer where it still holds and something of it is left to do."""
    since = session.history.records(station=offer.station, since=offer.measured_at)
    entries = entries_of(since)
    left = {each.correction_id for each in entries if isinstance(each, PutOff | Overtaken | GivenUp)}
    correction = opened(offer, _done_of(offer.id, entries))
    if offer.id in left or correction.next_step is None or is_overtaken(correction):
        return None
    return correction if _still_holds(session, offer, correction, entries) else None


def _still_holds(session: Session, offer: Offer, correction: OpenCorrection, entries: list[Entry]) -> bool:
    """Whether an offer is still true: by its age, its readings, its person, and what else was poured."""
    doses = only(Dose, entries, offer.station)
    others = [dose for dose in doses if dose.correction_id != offer.id and dose.measured_at > offer.measured_at]
    is_fresh = session.now() - _waited_until(correction) <= timedelta(hours=FRESH_H)
    if not is_fresh or others or _is_someone_elses(session, offer) or not _same_readings(session, offer):
        return False
    if not correction.is_begun and not _same_answers(session, offer):
        return False
    return _renews(correction) or not newer_records(session, session.farm.reservoir(offer.station))


def _renews(correction: OpenCorrection) -> bool:
    """Whether it begins with a change-out, which ends what a record of an unknown kind may tell of."""
    first = next((step for step in correction.steps if step.is_measured), None)
    return first is not None and first.action == "change_out"


def _waited_until(correction: OpenCorrection) -> datetime:
    """When the last wait of what was poured ends: a correction does not grow old while its own wait runs."""
    steps = {step.number: step for step in correction.steps}
    poured = [number for number, done in correction.done.items() if isinstance(done, Dose)]
    ends = [correction.done[n].measured_at + timedelta(minutes=_wait_min(steps, n)) for n in poured]
    return max([correction.offered_at, *ends])


def _wait_min(steps: Mapping[int, Step], number: int) -> float:
    """How long it mixes after a step: its own wait, or that of the pump that runs after it. [min]"""
    following = steps.get(number + 1)
    runs_on = following.wait_min if following is not None and following.action == "circulate" else 0.0
    return max(steps[number].wait_min if number in steps else 0.0, runs_on)


def _is_someone_elses(session: Session, offer: Offer) -> bool:
    return session.is_helper and offer.person != session.person_name()


def _same_answers(session: Session, offer: Offer) -> bool:
    """Whether nothing that it hangs on beside its readings was answered, put right or taken back since."""
    used = offer.answers
    return used is None or used == {item: r.id for item, r in answers_beside(session, offer.station).items()}


def _same_readings(session: Session, offer: Offer) -> bool:
    """Whether the newest readings are still those that the offer was worked out from."""
    used = offer.used
    soon, latest_of = session.now() + timedelta(seconds=1), session.history.latest
    newest = {item: latest_of(offer.station, item, kind="reading", before=soon) for item in ("ph", "ec", "dip")}
    if used is None:
        return all(r is None or r.measured_at <= offer.measured_at for r in newest.values())
    return all(record is None or used.get(item, record.id) == record.id for item, record in newest.items()) and all(
        newest.get(item) is not None for item in used if item in newest
    )


def _done_of(correction_id: str, entries: list[Entry]) -> dict[int, Dose | Done]:
    mine = [e for e in entries if isinstance(e, Dose | Done) and e.correction_id == correction_id]
    return {each.step_number: each for each in mine if each.step_number is not None}
