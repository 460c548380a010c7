"""Whether what was poured today did what it should: no third guess from a doubtful bottle."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta
from itertools import takewhile

from rounds.advice.case import Case
from rounds.advice.likely_causes import likely_causes
from rounds.advice.today import limits_since
from rounds.belief.response import TWICE, Surprise
from rounds.book.day import REST
from rounds.book.entries import Check, Dose, only
from rounds.book.ledger import LedgerEvent, read_since_fill
from rounds.book.message import say
from rounds.book.offer import Finding, Refusal, act, refused
from rounds.book.poured import kind_poured

IN_TURN, IN_TURN_PH, CLEARLY_SD = timedelta(minutes=30), 0.3, 4.0
"""Readings in turn that lie so close in time differ by no more than this, or by so many standard deviations of the
meter: practice. [-, -]"""
TWICE_EVIDENCE = 1.6
"""From e to this power on (five to one) it is said that twice as much seems to arrive. [-]"""


def doses_today(case: Case) -> list[Dose]:
    """Acid and base that went into this reservoir today, or in the last 16 hours."""
    since = limits_since(case, case.now)
    return [
        dose for dose in only(Dose, case.here)
        if since <= dose.measured_at <= case.now and kind_poured(case.farm, dose) is not None
    ]  # fmt: skip


def doses_of_this_feed(case: Case) -> list[Dose]:
    """Those of them that went into the feed of now, once it had been read: not the acid of its fill."""
    since = read_since_fill(case.ledger)
    return [dose for dose in doses_today(case) if since is None or dose.measured_at >= since]


def doses_lately(case: Case) -> list[Dose]:
    """Those of the last 16 hours: for no longer has a bottle shown what it does, however long the day is."""
    since = case.now.astimezone(UTC) - REST
    return [dose for dose in doses_of_this_feed(case) if dose.measured_at >= since]


def surprised(case: Case) -> Refusal | None:
    """The last reading was far from what the dose before it should have made; or two in turn do not agree."""
    surprise = case.answer.surprise
    passed = _disagrees_with(case) if case.answer.contested is None else case.answer.contested
    if passed is not None and case.readings.ph is not None:
        return refused("readings-disagree", about="surprise", now=case.readings.ph, before=passed)
    if surprise is None or not surprise.after_dose:
        return None
    return refused("surprise", read=surprise.read, expected=surprise.expected, causes=likely_causes(case))


def _disagrees_with(case: Case) -> float | None:
    """The reading right before this one, where nothing was poured since and meter and CO2 cannot have moved it so far;
    None where that one agrees, or the one before it does. [-]
    """
    before, now = list(takewhile(lambda e: e.what == "ph", reversed(_of_this_visit(case)))), case.readings.ph
    if not before or now is None or _agree(case, before[0].value, now):
        return None
    return None if len(before) > 1 and _agree(case, before[1].value, now) else before[0].value


def _of_this_visit(case: Case) -> list[LedgerEvent]:
    """What was read and poured in the last half hour, before the reading of now."""
    at = case.readings.at
    moves = [e for e in case.ledger.events if e.what in ("ph", "dose", "water", "renewed") and e.at < at]
    return [e for e in moves if at - e.at <= IN_TURN or e.what != "ph"]


def _agree(case: Case, one: float, other: float) -> bool:
    return abs(one - other) <= max(IN_TURN_PH, CLEARLY_SD * math.sqrt(2.0) * case.ph_sd)


def surprise_beside_water(case: Case) -> tuple[Finding, ...]:
    """The same, said beside water that is safe to pour whatever the cause."""
    surprise = case.answer.surprise
    if surprise is None or not surprise.after_dose:
        return ()
    causes = likely_causes(case)
    return (
        act("surprise-beside-water", about="surprise", read=surprise.read, expected=surprise.expected, causes=causes),
    )


def surprised_twice(case: Case) -> Refusal | None:
    """Two doses that did not do what they should within a day, or one that went the other way: no third guess."""
    recent = _unexplained_today(case)
    if len(recent) < 2 and not any(s.rival == "other way" for s in recent):
        return None
    names = sorted({case.farm.shelf[s.item].name for s in recent if s.item in case.farm.shelf})
    return refused("bottle-doubtful", names=tuple(names) or (say("the-last-doses"),))


def _unexplained_today(case: Case) -> list[Surprise]:
    """Readings of today that were not what a dose should have made, and since which no bottle was looked at."""
    since = limits_since(case, case.readings.at)
    after_doses = [s for s in case.answer.surprises if s.after_dose and s.at >= since]
    return [s for s in after_doses if not _bottles_checked(case, s.at)]


def twice_suspected(case: Case) -> Finding | None:
    """Where the readings since the last doses look as if twice as much had arrived as was entered."""
    evidence = max((r.evidence for r in case.answer.rivals if r.name == TWICE), default=0.0)
    if evidence < TWICE_EVIDENCE:
        return None
    return act("arrives-twice", times=math.exp(min(evidence, 4.6)))


def _bottles_checked(case: Case, since: datetime) -> bool:
    return any(
        check.item == "bottles" and check.value not in (False, None) and check.measured_at >= since
        for check in only(Check, case.entries)
    )
