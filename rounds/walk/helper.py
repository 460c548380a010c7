"""What a helper may pour: corrections worked out with only the products and amounts that the grower allowed.

The same chemistry runs on a shelf that holds no more than the helper may take. So A and B stay in proportion, and what
is foreseen is what the smaller dose will bring.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from msgspec.structs import replace

from rounds.advice.inquiries import asked_in
from rounds.book.actions import ASKED, FED
from rounds.book.entries import Count, Dose, entry_of
from rounds.book.entry import RecordLike
from rounds.book.half_pair import SHORT, half_pair
from rounds.book.message import Message
from rounds.book.newer import CODE as NEWER
from rounds.book.offer import Correction, Finding, Readings, Refusal, Step
from rounds.book.stock import millilitres_left, stock_now
from rounds.farm.farm import Farm
from rounds.farm.feeds import Feed
from rounds.farm.shelf import Acid, Base, Concentrate, Product
from rounds.history.record import Record
from rounds.walk.error_texts import limit_text
from rounds.walk.permission import ML_POURED as ML_POURED
from rounds.walk.permission import Permission, poured_today_ml
from rounds.walk.session import Session

_PER_ML = {"L": 0.001, "mL": 1.0}
CALL_FOR_PH = "call-for-ph"
"""What a helper may not pour for is the pH: a table of conductivities says nothing of that."""
_EVERY_DAY = ("short-stock",)
"""Findings that would only tell of the narrowed shelf."""
_LEADS_ON = frozenset({"circulate", "read_again", "buffer_dip", "look", *ASKED})
"""Steps that are nothing without one behind them."""
_NOT_THEIRS = ("out-of-stock", "nothing-on-shelf", "stock-acid", "stock-base")
"""Findings that call used up what may only not be poured."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HelperView:
    """A farm as a helper may use it today, for one reservoir."""

    farm: Farm
    """With the shelf narrowed to what may be poured."""
    whole: Farm
    records: Sequence[RecordLike]
    reservoir_id: str
    left_today_ml: float
    now: datetime

    def correction(self, readings: Readings) -> Correction:
        """The correction for some readings, held to the limits."""
        from rounds.advice.correction import correct

        found = correct(self.farm, self.records, self.reservoir_id, readings, self.now)
        return _held(found, self)


def helpers_view(
    farm: Farm, records: Sequence[RecordLike], reservoir_id: str, now: datetime, *, poured_today_ml: float = 0.0
) -> HelperView:
    """Narrow a farm to what a helper may pour into one reservoir.

    Parameters
    ----------
    records : sequence of record
        Effective records, at least back to the last counting of the shelf.
    poured_today_ml : float
        What the helper has poured today already, of everything together. [mL]
    """
    left = max(0.0, farm.limits.helper.day_ml - poured_today_ml)
    stock = stock_now(farm, records)
    feed = farm.feeds[farm.reservoir(reservoir_id).feed]
    half = half_pair(farm, farm.reservoir(reservoir_id), records, now)
    shelf: dict[str, Product] = {}
    for product in farm.shelf.values():
        owed = half is not None and product.id == half.product
        narrowed = _narrowed(farm, product, None if owed else feed, stock, left, now)
        if narrowed is not None:
            shelf[product.id] = narrowed
    kept = [record for record in records if not isinstance(entry_of(record), Count)]
    narrow = dataclasses.replace(farm, shelf=shelf)
    return HelperView(farm=narrow, whole=farm, records=kept, reservoir_id=reservoir_id, left_today_ml=left, now=now)


def helpers_correction(
    session: Session, records: Sequence[Record], reservoir_id: str, readings: Readings
) -> Correction:
    """The correction that is offered to the helper who walks."""
    poured = poured_today_ml(records, session.person_name(), session.now(), session.zone)
    view = helpers_view(session.farm, records, reservoir_id, session.now(), poured_today_ml=poured)
    return view.correction(readings)


def beyond_limit(
    session: Session, product_id: str, amount: float, unit: str, *, at: datetime | None = None,
    beside: Iterable[Dose] = (),
) -> str:  # fmt: skip
    """Why an amount is more than this helper may pour; empty where it is not, or where a grower walks.

    Parameters
    ----------
    at : datetime, optional
        When it was poured; now where not given.
    beside : iterable of Dose
        What is written down with it, and not on record yet.
    """
    if not session.is_helper:
        return ""
    permission = Permission(farm=session.farm, history=session.history, zone=session.zone)
    why = permission.beyond(session.person_name(), product_id, amount, unit, at or session.now(), beside=beside)
    return limit_text(why) if why is not None else ""


def _narrowed(
    farm: Farm, product: Product, feed: Feed | None, stock: Mapping[str, float], left_ml: float, now: datetime
) -> Product | None:
    """The product with no more of it than may be poured in one step: none of what may not be.

    It stays on the shelf all the same, so that what the grower poured of it is reckoned with. Without a feed it is not
    shared with its other half, which went in already.
    """
    if not isinstance(product, Acid | Base | Concentrate):
        return product
    limits = farm.limits.helper
    allowed = product.id in limits.products
    share = _share_of_day(product, feed) if isinstance(product, Concentrate) and feed is not None else 1.0
    most = min(limits.step_ml, share * left_ml, millilitres_left(farm, dict(stock), product.id)) if allowed else 0.0
    amount = most * _PER_ML.get(product.unit, 0.0)
    return replace(product, amount=amount, counted_on=now.date())


def _share_of_day(product: Concentrate, feed: Feed) -> float:
    per_l = feed.ml_per_l_of(product.part)
    return 1.0 if per_l is None else per_l / sum(part.ml_per_l for part in feed.parts)


def _held(found: Correction, view: HelperView) -> Correction:
    if any(step.action == "change_out" for step in found.steps):
        call = _call("This wants a change-out, which is not yours to do.")
        return replace(found, steps=(), findings=(), refusals=(call,), questions=())
    if SHORT in [*(refusal.code for refusal in found.refusals), *(finding.code for finding in found.findings)]:
        told = tuple(finding for finding in found.findings if finding.code == "half-pair")
        call = _call("That is more than is yours to pour.")
        return replace(found, steps=(), findings=told, refusals=(call,), questions=())
    theirs = _without_jars_of_the_growers(found.steps, view)
    steps = _up_to_hard_water(_within_day(theirs, view.left_today_ml), view)
    refusals = _reworded_once(found.refusals, view)
    if len(steps) < len(theirs):
        refusals = (*refusals, _call("More would have to be poured than is yours to pour."))
    held = replace(found, steps=steps, findings=_findings(found, view), refusals=refusals)
    return replace(held, questions=asked_in(held))


def _without_jars_of_the_growers(steps: tuple[Step, ...], view: HelperView) -> tuple[Step, ...]:
    """Without a jar test of what a helper may not pour by hand: the dose behind it is safe without an answer."""
    allowed = view.whole.limits.helper.products
    kept = [step for step in steps if step.action != "jar_test" or step.product in allowed]
    if len(kept) == len(steps):
        return steps
    return tuple(replace(step, number=number) for number, step in enumerate(kept, 1))


def _findings(found: Correction, view: HelperView) -> tuple[Finding, ...]:
    """What a helper is told: of the limits in a sentence of its own."""
    findings = [finding for finding in found.findings if finding.code not in (*_EVERY_DAY, *_NOT_THEIRS)]
    if any(finding.code in _EVERY_DAY for finding in found.findings):
        findings.append(_limits_text(view.whole))
    return tuple(findings)


def _within_day(steps: tuple[Step, ...], left_ml: float) -> tuple[Step, ...]:
    poured = 0.0
    for number, step in enumerate(steps):
        poured += step.amount if step.action in ML_POURED else 0.0
        if poured > left_ml * 1.0001:
            return _tidied(steps[:number], step)
    return steps


def _up_to_hard_water(steps: tuple[Step, ...], view: HelperView) -> tuple[Step, ...]:
    """Where much hard water comes in and no acid may follow, nothing more is poured: phosphate would fall out."""
    from rounds.advice.order import HARD_SHARE
    from rounds.book.composition import alkalinity_of

    for number, step in enumerate(steps):
        water = view.whole.waters.get(step.product or "") if step.action == "top_up" else None
        if water is None or water.blend or alkalinity_of(water) < 2.0:
            continue
        much = step.after is not None and step.amount > HARD_SHARE * step.after.volume_l.value
        if much and not any(later.action == "acid" for later in steps[number:]):
            return steps[: number + 1]
    return steps


def _tidied(steps: tuple[Step, ...], left_out: Step) -> tuple[Step, ...]:
    """Without the waits and looks that only led to a step which is left out, and no part of a feed without the rest."""
    leads_on = _LEADS_ON | FED if left_out.action in FED else _LEADS_ON
    kept = list(steps)
    while kept and kept[-1].action in leads_on:
        kept.pop()
    return tuple(kept)


def _reworded_once(refusals: Sequence[Refusal], view: HelperView) -> tuple[Refusal, ...]:
    told = [_reworded(refusal, view) for refusal in refusals]
    return tuple(each for n, each in enumerate(told) if each not in told[:n])


def _reworded(refusal: Refusal, view: HelperView) -> Refusal:
    if refusal.code == NEWER:
        return replace(_call(refusal.text), code=NEWER)
    if refusal.code in _NOT_THEIRS and (not _is_of_feed(refusal)):
        low, high = view.whole.stage_of(view.whole.reservoir(view.reservoir_id)).ph
        told = _call(f"The pH should be {low:g} to {high:g}, and there is nothing you may pour for it.")
        return replace(told, says=Message(CALL_FOR_PH))
    if _is_of_feed(refusal):
        return _call("The feed is weak, and there is nothing more you may pour for it today.")
    return refusal


def _is_of_feed(refusal: Refusal) -> bool:
    return refusal.says is not None and refusal.says.code == "concentrates-out"


def _call(text: str) -> Refusal:
    return Refusal(code="call", text=text, instead="Pour nothing for it. Call the grower: F8 shows the numbers.")


def _limits_text(farm: Farm) -> Finding:
    limits = farm.limits.helper
    return Finding(
        code="helper-limit",
        text=f"Held to what is yours to pour: {limits.step_ml:g} mL of one thing, {limits.day_ml:g} mL a day in all.",
    )
