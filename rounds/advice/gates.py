"""What must be so before anything is poured: each gate says why it is shut, what to do, and what is safe meanwhile."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Literal

from rounds.advice.bottle_effect import doses_today, surprised, surprised_twice
from rounds.advice.buffers import buffer_dip_verdict
from rounds.advice.case import MIXING_TURNOVERS, Case
from rounds.advice.misread import doubted_ph, reading_jump, too_alkaline
from rounds.advice.not_by_ec import acid_waits
from rounds.advice.today import day_began
from rounds.belief import state as b
from rounds.book.entries import Check, Dose, Note, Reading, only
from rounds.book.offer import Finding, Refusal, act, in_full, refused
from rounds.book.poured import kind_poured

CHLORINE_ITEMS = frozenset({"chlorine", "bleach", "disinfected"})
RINSE_ITEMS = frozenset({"rinsed", "rinse"})
UNCHECKED_METER_SD = 0.15
"""How far a probe may be off that was not dipped in buffer today: practice. [-]"""
FALLING_PH_PER_DAY = 0.3
REST_H = 12.0
"""Hours in which the CO2 that an acid set free has mostly left: practice. [h]"""
BELIEVABLE_PH = (3.5, 9.0)
_OF_THE_PH = ("ph", "dose", "water", "renewed")
Direction = Literal["acid", "base"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Gates:
    """How far the way is open for one kind of dose."""

    shut: Refusal | None = None
    findings: tuple[Finding, ...] = ()
    needs_buffer_dip: bool = False
    needs_roots: bool = False
    probe_is_off: bool = False
    """Whether nothing may hang on what the probe shows."""
    extra_ph_sd: float = 0.0
    doubted: bool = False
    """Whether the pH may have been read wrongly: then a dose must be safe whichever is true."""


def still_mixing(case: Case) -> float:
    """Minutes until the last thing poured has mixed in; 0 where it has. [min]"""
    poured = [e.at for e in case.ledger.events if e.what in ("dose", "water", "renewed")]
    if not poured:
        return 0.0
    need = timedelta(minutes=MIXING_TURNOVERS * case.turnover_min)
    left = poured[-1] + need - case.readings.at
    return max(0.0, left.total_seconds() / 60.0)


def gates_for(case: Case, direction: Direction) -> Gates:
    """The gates before acid or base, the firmest first."""
    shut = _shut(case, direction)
    if shut is not None:
        return Gates(shut=shut)
    unchecked = not _dipped_today(case)
    falling = direction == "base" and falls_by_itself(case) > FALLING_PH_PER_DAY and not _roots_seen(case)
    odd = reading_jump(case) or too_alkaline(case)
    said = (_falling_finding(case) if falling else None, odd)
    return Gates(
        findings=tuple(finding for finding in said if finding is not None),
        needs_buffer_dip=unchecked,
        needs_roots=falling,
        extra_ph_sd=UNCHECKED_METER_SD if unchecked else 0.0,
        doubted=doubted_ph(case) is not None,
    )


def _shut(case: Case, direction: Direction) -> Refusal | None:
    """The firmest gate that is shut."""
    return (
        _chlorine(case, direction)
        or _buffer_failed(case)
        or surprised(case)
        or unbelievable(case)
        or surprised_twice(case)
        or acid_waits(case)
        or _overshot(case, direction)
    )


def fill_gates(case: Case) -> Gates:
    """The gates before the acid of a fill: what was read of the old feed is gone, bottle, basin and probe are not."""
    shut = _chlorine(case, "acid") or surprised_twice(case)
    probe = None if shut else _buffer_failed(case)
    findings = (in_full(probe, "act"),) if probe else ()
    return Gates(shut=shut, findings=findings, needs_buffer_dip=not _dipped_today(case), probe_is_off=probe is not None)


def falls_by_itself(case: Case) -> float:
    """How much the pH fell per day with no acid in between, by the readings of this day: the most of them. [1/day]"""
    since = day_began(case, case.readings.at)
    today = [step for step in _undisturbed(case) if step[2] >= since]
    return max((_fall_per_day(*step) for step in today), default=0.0)


def _undisturbed(case: Case) -> list[tuple[datetime, float, datetime, float]]:
    """Two readings of the pH in turn with nothing poured in between, the one just taken last: when, what, twice."""
    events = [e for e in case.ledger.events if e.what in _OF_THE_PH and e.at < case.readings.at]
    steps = [(a.at, a.value, z.at, z.value) for a, z in pairwise(events) if a.what == z.what == "ph"]
    if case.readings.ph is not None and events and events[-1].what == "ph":
        steps.append((events[-1].at, events[-1].value, case.readings.at, case.readings.ph))
    return steps


def _fall_per_day(then: datetime, before: float, at: datetime, read: float) -> float:
    days = (at - then).total_seconds() / 86400.0
    return (before - read) / max(days, 1.0) if 0.25 <= days <= 3.0 else 0.0


def acid_poured_today(case: Case) -> bool:
    """Whether acid went in today."""
    return any(kind_poured(case.farm, record) == "acid" for record in doses_today(case))


def unbelievable(case: Case) -> Refusal | None:
    """A pH that no feed has."""
    low, high = BELIEVABLE_PH
    if case.readings.ph is None or low <= case.readings.ph <= high:
        return None
    return refused("reading-unbelievable", ph=case.readings.ph)


def _chlorine(case: Case, direction: Direction) -> Refusal | None:
    if direction != "acid":
        return None
    used = _last(case, CHLORINE_ITEMS)
    rinsed = _last(case, RINSE_ITEMS)
    changed = case.ledger.since
    if used is None or any(clean is not None and clean > used for clean in (rinsed, changed)):
        return None
    return refused("chlorine")


def _last(case: Case, items: frozenset[str]) -> datetime | None:
    stations = {case.reservoir.id, "", *(channel.id for channel in case.channels)}
    times = [
        entry.measured_at for entry in case.entries
        if isinstance(entry, Check | Note | Dose) and entry.item in items and entry.station in stations
        and entry.value not in (False, 0, None, "no") and entry.measured_at <= case.now
    ]  # fmt: skip
    return max(times) if times else None


def _buffer_dips(case: Case) -> list[Reading]:
    since = day_began(case, case.readings.at)
    return [
        r for r in only(Reading, case.entries)
        if r.item == "buffer" and since <= r.measured_at <= case.now
        and (r.meter is None or case.readings.ph_meter is None or r.meter == case.readings.ph_meter)
    ]  # fmt: skip


def _verdict(case: Case) -> Finding | None:
    dip = _buffer_dips(case)[-1]
    warm = case.temperature_c if dip.temperature_c is None else dip.temperature_c
    return buffer_dip_verdict(dip.number or 0.0, dip.buffer_ph, warm, case.farm.limits.buffer_tolerance_ph)


def _dipped_today(case: Case) -> bool:
    return bool(_buffer_dips(case))


def _buffer_failed(case: Case) -> Refusal | None:
    if not _dipped_today(case):
        return None
    verdict = _verdict(case)
    if verdict is None:
        return None
    return Refusal(code=verdict.code, says=verdict.says)


def _overshot(case: Case, direction: Direction) -> Refusal | None:
    if direction != "base" or not acid_poured_today(case) or case.readings.ph is None:
        return None
    then = _ph_at_rest(case)
    if then is None or then < case.stage.ph[0]:
        return None
    return refused("base-after-acid", then=then)


def _ph_at_rest(case: Case) -> float | None:
    """The pH that CO2 and plants lead to by themselves until the next round; None where none was read. [-]"""
    if case.state is None:
        return None
    return b.summed_up(b.aged(case.state, case.curve, REST_H)).mean[b.PH]


def _roots_seen(case: Case) -> bool:
    stations, since = {channel.id for channel in case.channels} | {case.reservoir.id}, day_began(case, case.now)
    return any(
        check.station in stations and since <= check.measured_at <= case.now
        and (check.item in ("roots", "root-end") or "roots" in check.covers)
        for check in only(Check, case.entries)
    )  # fmt: skip


def _falling_finding(case: Case) -> Finding:
    return act("ph-falls-before-base", about="ph-falls", fall=falls_by_itself(case))


def believed_share_in_band(case: Case) -> float:
    """How likely the pH is in its band now. [-]"""
    if case.state is None:
        return 0.0
    return b.share_within(case.state, *case.stage.ph)
