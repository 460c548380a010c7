"""What hangs on an entry: said once it is put right. Nothing is stored twice, so all of it goes by the new value."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

from rounds.book.entries import Check, Count, Dose, Reading, Seen, entries_of, entry_of, only
from rounds.book.entry import Entry
from rounds.book.offer import Correction
from rounds.book.offered import Offer
from rounds.farm.stations import Reservoir
from rounds.history.record import Record
from rounds.units import show
from rounds.walk.daybook.sentences import item_of
from rounds.walk.daybook.story import moment_text
from rounds.walk.fresh import readings_of
from rounds.walk.held import LOOK_BACK, held_of
from rounds.walk.session import Session
from rounds.walk.slow_change.gather import MARK
from rounds.walk.stock import left_now

_WORKED_OUT_WITHIN = timedelta(days=1)


@dataclass(frozen=True, kw_only=True)
class Hanging:
    """What hung on an entry before it was put right."""

    old: Record
    worked_out: tuple[Record, ...]
    """Corrections that were worked out from it."""
    came_out: dict[str, str]
    """How the corrections before it came out, by their ids."""
    left: dict[str, float]
    """What was on the shelf."""


def hanging_on(session: Session, old: Record) -> Hanging:
    """What hangs on an entry that still stands; a few days of the record are read."""
    is_watery = isinstance(session.farm.stations.get(old.station), Reservoir)
    offers = _offers_around(session, old) if is_watery else []
    from_it = tuple(record for record in offers if old.id in _used(record))
    came_out = {each.id: held_of(session, Offer(each)) for each in offers}
    left = left_now(session) if isinstance(entry_of(old), Dose | Count) else {}
    return Hanging(old=old, worked_out=from_it, came_out=came_out, left=left)


def said_anew(session: Session, hanging: Hanging, new: Record) -> list[str]:
    """What has become of it now that another entry stands in its place, a sentence each."""
    entry = entry_of(new)
    return [
        *(_of_correction(session, hanging.old, offer) for offer in hanging.worked_out),
        *_of_expectations(session, hanging),
        *(_of_shelf(session, hanging, entry) if isinstance(entry, Dose | Count) else ()),
        *(_of_slow_change(session, new) if isinstance(entry, Reading) else ()),
        *(_of_check(session, new) if isinstance(entry, Check) else ()),
    ]


def _offers_around(session: Session, old: Record) -> list[Record]:
    since, until = old.measured_at - LOOK_BACK, old.measured_at + _WORKED_OUT_WITHIN
    return session.history.records(station=old.station, kind="correction", since=since, until=until)


def _used(offer: Record) -> set[object]:
    read = Offer(offer)
    return {*(read.used or {}).values(), *(read.answers or {}).values()}


def _of_correction(session: Session, old: Record, offer: Record) -> str:
    """What a correction that was worked out from the old value is now."""
    of = f"The correction of {moment_text(session, offer)}"
    around = session.history.records(
        station=offer.station, since=offer.measured_at, until=offer.measured_at + LOOK_BACK
    )
    if any(dose.correction_id == offer.id for dose in only(Dose, entries_of(around))):
        return f"{of} was poured by the old value: what was poured stands. Read the reservoir again."
    readings = readings_of(session, offer.station)
    if readings is None or session.history.read_only:
        return f"{of} was worked out from the old value: it no longer holds."
    from rounds.walk.offering import work_out  # the chemistry is not needed before

    return f"{of} no longer holds. Worked out again: {_brief(session, work_out(session, offer.station, readings))}."


def _brief(session: Session, found: Correction) -> str:
    """What a correction pours, in a few words."""
    poured = [step for step in found.steps if step.is_measured and step.amount is not None]
    told = [f"{show(step.amount or 0.0, step.unit or '')} {_product(session, step.product)}" for step in poured]
    return ", ".join(told) or (found.refusals[0].text.rstrip(".") if found.refusals else "nothing to pour")


def _product(session: Session, product_id: str | None) -> str:
    product = session.farm.shelf.get(product_id or "") or session.farm.waters.get(product_id or "")
    return product.name if product else product_id or "water"


def _of_expectations(session: Session, hanging: Hanging) -> list[str]:
    """Corrections whose outcome is told otherwise by the new value."""
    found = [(each, session.history.get(each)) for each in hanging.came_out]
    now = [(each, offer, held_of(session, Offer(offer))) for each, offer in found if offer is not None]
    return [
        f"The correction of {moment_text(session, offer)} came out so: {told}."
        for each, offer, told in now
        if told and told != hanging.came_out[each]
    ]


def _of_shelf(session: Session, hanging: Hanging, entry: Entry) -> list[str]:
    left, product = left_now(session), session.farm.shelf.get(entry.item)
    book = ["Level and book of the reservoir go by it now."] if isinstance(entry, Dose) else []
    if product is None or left.get(product.id) == hanging.left.get(product.id):
        return book
    return [*book, f"On the shelf: {show(left[product.id], product.unit)} of {product.name}."]


def _of_slow_change(session: Session, new: Record) -> list[str]:
    """Whether a slow change was looked at, or put right, that this reading is compared for."""
    item = item_of(session, new)
    if item is None or item.slow is None:
        return []
    seen = session.history.latest(new.station, MARK + item.id)
    if seen is None or seen.measured_at < new.measured_at:
        return []
    entry = entry_of(seen)
    done = "put right" if isinstance(entry, Seen) and entry.put_right else "looked at"
    return [f"The slow change of {item.label}, {done} on {moment_text(session, seen)}, is judged with it again."]


def _of_check(session: Session, new: Record) -> list[str]:
    """Whether what is due goes by it, or by a later answer."""
    latest = session.history.latest(new.station, new.item)
    if latest is None or latest.id == new.id:
        return ["It is the newest answer: what is due, and what is told first, go by it."]
    return [f"A later answer stands, of {moment_text(session, latest)}."]
