"""The readings that test a correction: when they fall due, and what an EC says that surprises."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from rounds.advice.case import MIXING_TURNOVERS, Case
from rounds.advice.earlier import read_twice
from rounds.book.actions import POURED
from rounds.book.entries import Dose, Reading, RecheckDone, entries_of, only
from rounds.book.entry import Entry, RecordLike
from rounds.book.message import Message, say
from rounds.book.offer import Finding, stop
from rounds.book.offered import Offer
from rounds.farm.farm import Farm
from rounds.farm.stations import Reservoir

Stage = Literal["mixed", "next-morning"]
MORNING_AFTER = timedelta(hours=10)
"""A reading at least so long after the last dose is the next morning's: most of the CO2 has left by then."""
_FAR_EC = 0.1
"""So far beyond its interval a conductivity is a finding, not just a miss. [mS/cm]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Recheck:
    """A reading that a correction asks for."""

    correction_id: str
    reservoir_id: str
    stage: Stage
    due_at: datetime
    text: str


def recheck_due(
    farm: Farm, records: Sequence[RecordLike | Entry], reservoir_id: str, now: datetime
) -> tuple[Recheck, ...]:
    """The rechecks of a reservoir's last correction that are not closed yet, whether they are due or still to come.

    Parameters
    ----------
    records : sequence of record
        Oldest first. The doses that name the correction tell when it was done; a pH or EC read after the due time
        closes it, as does a record of kind `recheck-done`.
    """
    reservoir = farm.reservoir(reservoir_id)
    entries = entries_of(records)
    corrections = [offer for offer in only(Offer, entries, reservoir_id) if offer.measured_at <= now]
    if not corrections:
        return ()
    last = corrections[-1]
    poured_at = _last_poured(entries, last.id)
    if poured_at is None:
        return ()
    due = _due_times(farm, reservoir, last.volume_l, poured_at)
    return tuple(
        Recheck(
            correction_id=last.id, reservoir_id=reservoir_id, stage=stage, due_at=at, text=_due_text(reservoir, stage)
        )
        for stage, at in due.items()
        if not _is_closed(entries, last.id, reservoir_id, stage, at)
    )  # fmt: skip


def _last_poured(entries: Sequence[Entry], correction_id: str) -> datetime | None:
    """When the last of a correction went in; None where nothing did."""
    doses = [dose for dose in only(Dose, entries) if dose.correction_id == correction_id and dose.action in POURED]
    return max((dose.measured_at for dose in doses), default=None)


def ec_surprise(case: Case) -> Finding | None:
    """An EC far from what the last feeding should have made, with the likely causes."""
    last = only(Offer, case.here)
    if not last or case.readings.ec_ms_cm is None:
        return None
    span = last[-1].foreseen("mixed", "ec_ms_cm")
    fed = {dose.action for dose in only(Dose, case.entries) if dose.correction_id == last[-1].id}
    hours = (case.readings.at - last[-1].measured_at).total_seconds() / 3600.0
    if span is None or "concentrate_a" not in fed or not 0.0 < hours < 8.0:
        return None
    start = last[-1].assumed.ec_ms_cm or case.readings.ec_ms_cm
    again = read_twice(case, "ec", case.readings.ec_ms_cm, _FAR_EC)
    return _ec_finding(case.readings.ec_ms_cm, start, span, again=again)


def _ec_finding(read: float, start: float, span: tuple[float, float, float], *, again: bool) -> Finding | None:
    low, _, high = span
    if low - 0.5 * _FAR_EC <= read <= high + 0.5 * _FAR_EC:
        return None
    return stop(
        "surprise-ec", read=read, low=low, high=high, causes=_causes_of_ec(read, start, span),
        then=say("no-more-concentrate") if again else say("read-before-pouring"),
    )  # fmt: skip


def _causes_of_ec(read: float, start: float, span: tuple[float, float, float]) -> tuple[Message, ...]:
    _, meant, high = span
    if read > high:
        return say("feed-poured-twice"), say("less-water-circulating"), say("ec-meter-off")
    if read <= start + 0.25 * (meant - start):
        return say("feed-not-in"), say("pump-off"), say("ec-meter-off")
    return say("half-strength"), say("one-of-two"), say("more-water"), say("ec-meter-off")


def _due_times(farm: Farm, reservoir: Reservoir, volume_l: float | None, dosed_at: datetime) -> dict[Stage, datetime]:
    volume = volume_l or farm.circulating_volume_l(reservoir, reservoir.working_volume_l)
    mixed = dosed_at + timedelta(minutes=max(5.0, round(MIXING_TURNOVERS * volume / reservoir.pump_l_min)))
    return {"mixed": mixed, "next-morning": dosed_at + MORNING_AFTER}


def _due_text(reservoir: Reservoir, stage: Stage) -> str:
    if stage == "mixed":
        return f"{reservoir.name} again: it has turned over three times by then."
    return f"{reservoir.name} next morning: the CO2 has left by then, so the pH may have climbed."


def _is_closed(entries: Sequence[Entry], correction_id: str, station: str, stage: Stage, at: datetime) -> bool:
    """Whether somebody closed it, or read pH or EC once it was due."""
    closed = only(RecheckDone, entries, station)
    if any(each.correction_id == correction_id and each.stage == stage for each in closed):
        return True
    early = at - timedelta(minutes=1)
    return any(r.item in ("ph", "ec") and r.measured_at >= early for r in only(Reading, entries, station))
