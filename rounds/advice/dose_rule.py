"""The one rule applied to a case: the faults as they stand, what harm allows, and the question that tells most."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Literal

from rounds.advice.budgets import Harmless, harmless
from rounds.advice.case import Case
from rounds.advice.faults_kept import remembered, resting_on
from rounds.advice.gates import Direction
from rounds.advice.meter_seen import is_a_dip, made_with
from rounds.advice.projection import Projection
from rounds.belief import state as b
from rounds.belief.bank import Bank, bank_of
from rounds.belief.first_reading import WORN_MEAN, WORN_SD, water_belief
from rounds.belief.following import LOOKED_AT, Setting
from rounds.belief.gaussian import Gaussian
from rounds.belief.hypotheses import FAULTS as HYPOTHESES
from rounds.book.composition import KnownWater
from rounds.book.entries import BUFFER_4, Check, Reading, only
from rounds.book.ledger import LedgerEvent
from rounds.book.offered import Offer
from rounds.book.parcel import Parcel

WORTH_ASKING = 0.75
"""Where a fault allows less than this share of what all else would, something is asked first. [-]"""
JAR_WORTH = 0.6
"""Where all but the faults allow less than this share of what is aimed at, a jar is read first: it tells how strongly
the water is buffered, once since its fill. The line "rechecks" of `tests.advice.judged`. [-]"""
NAMED = 0.5
"""From this weight on a fault is named, and nothing more is poured until it is looked into. [-]"""
_MOST_EVENTS = 24
"""No more events than these are gone through anew."""
_SAME_READING = timedelta(hours=3)
"""A reading on record with the value of now is that of now for so long."""
_ANSWERED_FOR = timedelta(hours=2)
"""So long an answer stands before the same may be asked again."""
_ASKED_AFRESH = timedelta(hours=14)
_CLEARLY_SD = 3.0
MOST_ASKED = 2
"""No question of one kind is asked more often in a day: who is asked again and again no longer looks. [-]"""
_OF_FILL = ("sound", "bottle", "weak", "source")
_TEACHES = ("ph", "dose", "water", "renewed", "jar", "strip", "buffer", "checked")
_SUPPOSED_PH_SD = 0.5
"""Spread of the pH of a reservoir whose meter tells nothing. [-]"""

BUFFER = "buffer"
"""What a jar tells where no fault holds the dose: how strongly the water is buffered."""
Code = Literal["jar-test", "buffer-4", "strip"]
_ASKS: dict[str, Code] = {
    "bottle": "jar-test", "source": "jar-test", "stuck": "buffer-4", "meter": "strip",
}  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """What would tell most before a dose."""

    code: Code
    fault: str
    """Code of the fault that it tries, or `BUFFER`."""
    ml_per_l: float = 0.0
    """What goes into each litre of a jar test. [mL/L]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ruling:
    """What the rule says of one dose."""

    bank: Bank
    limits: Harmless | None
    """None where nothing may be poured for other reasons."""

    @property
    def is_in_doubt(self) -> bool:
        """Whether a fault is believed by now, or a jar showed what nothing explains."""
        return self.fault is not None or self.bank.jar_unexplained

    @property
    def fault(self) -> str | None:
        """Code of the fault that is now believed; None where all may be as told.

        Faults of one sort are looked into in the same way, and count together.
        """
        sort, weight = max(self.bank.by_sort.items(), key=lambda pair: pair[1])
        return self.bank.likeliest_of(sort).hypothesis.code if weight > NAMED else None


def bank_for(case: Case, projected: Projection, item: str) -> Bank:
    """What is believed under each fault, as the reservoir stands after the steps so far."""
    middle, before, events = sum(case.stage.ph) / 2.0, remembered(case, item), _events(case)[-_MOST_EVENTS:]
    supposed = b.begun(
        ph=middle, ph_sd=_SUPPOSED_PH_SD, phosphate=max(case.solution.po4, 0.01) * math.exp(WORN_MEAN),
        phosphate_sd=WORN_SD, pressure_atm=None, pressure_sd=0.15, habits=case.answer.habits,
    )  # fmt: skip
    setting = Setting(
        ledger=case.ledger, curve=case.curve, meter_sd={None: case.ph_sd, case.readings.ph_meter: case.ph_sd},
        habits=case.answer.habits, item=item, supposed=supposed, priors=before.odds, counted_from=before.since,
    )  # fmt: skip
    bank = replace(bank_of(setting, events), rests_on=resting_on(before, events))
    return _moved_on(bank, case, projected)


def ruling_for(
    case: Case, projected: Projection, item: str, direction: Direction, per_ml: Parcel, most: float
) -> Ruling:
    """What the rule says of a dose from one bottle.

    Parameters
    ----------
    per_ml : Parcel
        What a millilitre brings to each litre of the reservoir, by its label.
    most : float
        What all other limits allow. [mL]
    """
    bank = bank_for(case, projected, item)
    sign = -1.0 if direction == "acid" else 1.0
    return Ruling(bank=bank, limits=harmless(bank, projected.curve, sign, per_ml, most) if most > 0.0 else None)


def ruling_for_fill(
    case: Case, filled: Projection, water: KnownWater, item: str, per_ml: Parcel, most: float
) -> Ruling:
    """What the rule says of the acid of a fill: by the book, so that nothing hangs on the meter.

    Parameters
    ----------
    filled : Projection
        The reservoir with its new water in it.
    """
    bank = bank_for(case, filled, item)
    kept = tuple(
        replace(each, state=_state_of_fill(filled, water, each.hypothesis.of_water))
        for each in bank.accounts
        if each.hypothesis.sort in _OF_FILL
    )
    bank = replace(bank, accounts=kept)
    return Ruling(bank=bank, limits=harmless(bank, filled.curve, -1.0, per_ml, most) if most > 0.0 else None)


def _state_of_fill(filled: Projection, water: KnownWater, of_water: float) -> Gaussian:
    if of_water == 1.0:
        return filled.state
    return water_belief(water.solution.scaled(of_water), water.doubt, filled.curve, b.habits_of(filled.state))


def trial_for(
    case: Case,
    ruling: Ruling,
    item: str,
    rest_ml: float,
    litres: float,
    jar_ml: float | None = None,
    water: KnownWater | None = None,
) -> Trial | None:
    """The question that tells most, where a fault allows much less than all else would; None where none helps.

    Parameters
    ----------
    rest_ml : float
        What all but the faults allow. [mL]
    litres : float
        Circulating volume. [L]
    jar_ml : float, optional
        What is aimed at, and goes into a jar for its share; `rest_ml` where left out. [mL]
    water : KnownWater, optional
        The water of a fill, where it is one: then only jars of that water count.
    """
    limits, jar_ml = ruling.limits, rest_ml if jar_ml is None else jar_ml
    if limits is None:
        return None
    held = limits.in_spite_of_faults < WORTH_ASKING * rest_ml
    unknown = not _answers(case, "jar-test", water=water) and (held or rest_ml < JAR_WORTH * jar_ml)
    code = "jar-test" if unknown else _ASKS.get(limits.worst.sort) if held else None
    if code is None or _answered(case, code, item, anew=limits.worst.sort == "source" and water is None, water=water):
        return None
    return Trial(code=code, fault=limits.worst.code if held else BUFFER, ml_per_l=jar_ml / litres)


def was_looked_into(case: Case, ruling: Ruling, item: str) -> bool:
    """Whether what is believed to be wrong was looked into today, as far as anybody can here.

    A bottle and what circulates are looked at (`bottles y`), a meter is calibrated, a jar that nothing explains is made
    anew. A water was named once already: it is found out elsewhere. Where nothing seems to arrive, no more is sent
    after it, and a meter that stands still cannot be read by.
    """
    since = case.readings.at - _ASKED_AFRESH
    if ruling.fault is None:
        jars = [e for e in case.ledger.events if e.what == "jar" and e.item == item and e.at > since]
        return len(jars) >= MOST_ASKED and all(_went_its_way(case, jar) for jar in jars)
    sort = next(each.sort for each in HYPOTHESES if each.code == ruling.fault)
    if sort == "weak":
        return False
    if sort == "source":
        named = f"likely-{ruling.fault}"
        offers = [o for o in only(Offer, case.entries) if since < o.measured_at < case.readings.at]
        return any(named in offer.refusal_codes for offer in offers)
    seen = [c for c in only(Check, case.entries) if c.value not in (False, None) and since < c.measured_at <= case.now]
    return any(sort in LOOKED_AT.get(check.item, ()) and _is_of(case, check) for check in seen)


def _went_its_way(case: Case, jar: LedgerEvent) -> bool:
    """Whether a jar moved clearly, and the way that its bottle should move it."""
    if case.readings.ph is None or jar.of_water:
        return False
    moved = jar.value - case.readings.ph
    return moved * jar.parcel.alkalinity_meq_l > 0.0 and abs(moved) > _CLEARLY_SD * case.ph_sd


def _answered(case: Case, code: Code, item: str, *, anew: bool = False, water: KnownWater | None = None) -> bool:
    """Whether it was answered lately, or so often that one more answer of its kind would tell little.

    With `anew` only answers since water was last added are too late ones.
    """
    at, since = case.readings.at, _water_since(case) if anew else None
    today = [each for each in _answers(case, code, water=water) if at - each < _ASKED_AFRESH]
    of_item = [each for each in _answers(case, code, item, water) if not since or each > since]
    return len(today) >= MOST_ASKED or any(at - each <= _ANSWERED_FOR for each in of_item)


def _answers(case: Case, code: Code, item: str = "", water: KnownWater | None = None) -> list[datetime]:
    """When a question was answered; of a jar made with one bottle or one water, where that is named."""
    if code == "buffer-4":
        return [dip.measured_at for dip in _buffer_4(case)]
    what = "jar" if code == "jar-test" else "strip"
    found = [e for e in case.ledger.events if e.what == what and (not item or e.item in ("", item, "strip"))]
    return [e.at for e in found if water is None or what != "jar" or e.of_water == water.id]


def _water_since(case: Case) -> datetime:
    """When water was last added."""
    added = [e.at for e in case.ledger.events if e.what in ("water", "renewed")]
    return added[-1] if added else case.readings.at - _ASKED_AFRESH


def _buffer_4(case: Case) -> list[Reading]:
    return [r for r in only(Reading, case.entries) if r.item == BUFFER_4 and r.measured_at <= case.now]


def _dips(case: Case) -> list[Reading]:
    """Dips in any buffer since the change-out. One made after the reservoir was read shows whether the meter moves."""
    since = case.ledger.since
    dips = [r for r in only(Reading, case.entries) if is_a_dip(r) and made_with(r, case.readings)]
    return [r for r in dips if r.measured_at <= case.now and (since is None or r.measured_at >= since)]


def _events(case: Case) -> list[LedgerEvent]:
    """What teaches of faults, oldest first: readings, doses and waters, jars and strips, dips in buffer, checks."""
    events = [e for e in case.ledger.events if e.what in _TEACHES and e.at <= case.readings.at]
    last = next((e for e in reversed(events) if e.what == "ph"), None)
    on_record = last is not None and last.value == case.readings.ph and case.readings.at - last.at < _SAME_READING
    if case.readings.ph is not None and not on_record:
        events.append(
            LedgerEvent(
                at=case.readings.at, what="ph", value=case.readings.ph, meter=case.readings.ph_meter,
                solution=case.solution, volume_l=case.volume_l,
            )
        )  # fmt: skip
    return sorted([*events, *_tried(case)], key=lambda event: event.at)


def _tried(case: Case) -> Iterator[LedgerEvent]:
    """Dips in buffer, a second meter, and what was looked at: bottle and pump, or the meter while it was calibrated."""
    for dip in _dips(case):
        yield LedgerEvent(
            at=dip.measured_at, what="buffer", value=dip.number or 0.0, share=dip.buffer_ph, record_id=dip.id
        )
    if case.readings.second_meter_ph is not None:
        yield LedgerEvent(at=case.readings.at, what="strip", value=case.readings.second_meter_ph)
    for check in only(Check, case.entries):
        if check.item in ("bottles", "calibrated") and check.value not in (False, None) and _is_of(case, check):
            yield LedgerEvent(at=check.measured_at, what="checked", item=check.item)


def _is_of(case: Case, check: Check) -> bool:
    """Bottles are looked at beside a reservoir, a meter anywhere."""
    return check.measured_at <= case.now and (check.item == "calibrated" or check.station == case.reservoir.id)


def _moved_on(bank: Bank, case: Case, projected: Projection) -> Bank:
    """The bank after the steps so far: each account moved by as much as the belief itself was."""
    if case.state is None or projected.state is case.state:
        return bank.with_sound(projected.state)
    shift = [now - then for now, then in zip(projected.state.mean, case.state.mean, strict=True)]
    moved = tuple(replace(each, state=each.state.loosened([0.0] * len(shift), shift)) for each in bank.accounts)
    return replace(bank, accounts=moved).with_sound(projected.state)
