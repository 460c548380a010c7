"""What was written down as people read it: one sentence for each entry."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from rounds.book.entries import (
    Check,
    Count,
    Doing,
    Done,
    Dose,
    Event,
    GivenUp,
    Measured,
    Measuring,
    Note,
    PutOff,
    Reading,
    RoundMark,
    Seen,
    Settled,
    Skip,
    entry_of,
)
from rounds.book.entry import Entry
from rounds.book.measurements import BUCKET, PUMP, PUMP_OFF, TITRATION, TUB
from rounds.book.offered import Offer
from rounds.checklist.answers import seen_text
from rounds.checklist.load import ALIVE
from rounds.checklist.model import Item
from rounds.history.record import Record
from rounds.units import show
from rounds.walk.doings.text import doing_text
from rounds.walk.held import held_of
from rounds.walk.session import Session

_ACTIONS = {f"concentrate_{letter.lower()}": letter for letter in "ABCD"}
_STEPS = {
    "circulate": "the pump runs to mix",
    "recheck": "to be read again when it has mixed",
    "buffer_dip": "the probe was dipped in buffer",
    "looked": "looked where the correction said",
    "jar_test": "jar test asked for",
    "buffer_4": "the probe was to be dipped in the buffer of 4.01",
    "strip-asked": "pH by strip asked for",
}


def record_text(session: Session, record: Record) -> str:
    """One record in words, without its time and person."""
    place, told = place_name(session, record.station), sentence(session, record)
    return f"{place}: {told}" if place else told


def sentence(session: Session, record: Record, *, came_out: bool = True) -> str:
    """The same without its station.

    Parameters
    ----------
    came_out : bool
        Whether to say of a correction how it came out, for which what was read since is looked up.
    """
    entry = entry_of(record)
    if record.void:
        return f"{record.item or record.kind} taken back"
    say = _SAID.get(type(entry))
    text = say(session, entry) if say else f"{record.kind.replace('-', ' ')} {record.item}".rstrip()
    held = held_of(session, entry) if came_out and isinstance(entry, Offer) else ""
    return _with_asides(f"{text}; {held}" if held else text, record)


def item_of(session: Session, record: Record) -> Item | None:
    """The item of the checklist that a record answers; None where there is none any more.

    What is answered once for the farm, such as the dip of a probe in its buffer, is an item of the kind that asks it.
    """
    return _item(session, record.station, record.item)


def _item(session: Session, station_id: str, item_id: str) -> Item | None:
    station = session.farm.stations.get(station_id)
    found = session.checklists.item(station.kind if station else ALIVE, item_id)
    if found is not None or station_id:
        return found
    shared = (each.item(item_id) for each in session.checklists.by_kind.values())
    return next((item for item in shared if item is not None and item.share is not None), None)


def _answer(session: Session, entry: Reading | Check) -> str:
    if isinstance(entry, Check) and entry.item == "all-well":
        return f"all well ({len(entry.covers)} check{'' if len(entry.covers) == 1 else 's'})"
    item = _item(session, entry.station, entry.item)
    if item is not None and item.type == "yes_no" and isinstance(entry.value, bool):
        return seen_text(item, entry.value)
    text = _valued(item.label if item else entry.item, entry, item)
    return f"{text} with {_in_the_jar(session, entry)}" if isinstance(entry, Reading) and entry.jar_product else text


def _in_the_jar(session: Session, jar: Reading) -> str:
    """What was stirred into each litre of which water."""
    amount = "" if jar.jar_ml_per_l is None else f"{jar.jar_ml_per_l:g} mL/L of "
    return f"{amount}{_product(session, jar.jar_product)}" + (
        f" in {_product(session, w)}" if (w := jar.jar_water) else ""
    )


def _valued(label: str, entry: Reading | Check, item: Item | None) -> str:
    """A label with the value behind it."""
    if isinstance(entry.value, bool):
        return f"{label}: {'yes' if entry.value else 'no'}"
    if entry.number is not None:
        decimals = item.decimals if item and item.type == "reading" else None
        return f"{label} {show(entry.number, entry.unit or '', decimals)}"
    return f"{label}: {entry.value if entry.value is not None else ''}".rstrip(": ")


def _slow_change(session: Session, seen: Seen) -> str:
    """A slow change that was looked at: item `slow:flow`."""
    item = seen.item.partition(":")[2]
    station = session.farm.stations.get(seen.station)
    known = session.checklists.item(station.kind, item) if station else None
    return f"slow change of {known.label if known else item}: {'put right' if seen.put_right else 'seen'}"


def _dose(session: Session, dose: Dose) -> str:
    if dose.is_own:
        return doing_text(session, dose)
    action = _ACTIONS.get(dose.action, (dose.action or "added").replace("_", " "))
    return f"{action}: {_product(session, dose.item)} {_amount(dose)}".replace(":  ", ": ")


def _offer(_: Session, offer: Offer) -> str:
    steps = len(offer.steps)
    return f"correction worked out, {steps} step{'' if steps == 1 else 's'}"


def _settled(session: Session, settled: Settled) -> str:
    """What was said of a matter that was still to sort."""
    until = f", until {settled.until.day} {settled.until:%b}" if settled.until else ""
    return f"{doing_text(session, settled)}{until}"


def _with_asides(text: str, record: Record) -> str:
    reason = entry_of(record).why_replacing if record.replaces else ""
    put_right = f"put right: {reason}" if reason else "replaces an earlier entry" if record.replaces else ""
    asides = [record.note or "", *record.marks, put_right]
    told = "; ".join(aside for aside in asides if aside)
    return f"{text} ({told})" if told else text


def _amount(entry: Entry) -> str:
    return show(entry.number, entry.unit or "") if entry.number is not None else ""


def _product(session: Session, product_id: str) -> str:
    product = session.farm.shelf.get(product_id) or session.farm.waters.get(product_id)
    return product.name if product else product_id


def place_name(session: Session, station_id: str) -> str:
    """A station as people call it; its id where the farm has it no more."""
    station = session.farm.stations.get(station_id)
    return station.name if station else station_id


def _measured(session: Session, measured: Measured) -> str:
    """A number of the farm that was measured, by what, and of what."""
    water = session.farm.waters.get(measured.subject)
    of = "" if water is None else f" of {water.name}"
    return f"{_MEASURED.get(measured.what, measured.what)}{of} {measured.how}: {_amount(measured)}".replace("  ", " ")


def _measuring(session: Session, begun: Measuring) -> str:
    """A measurement that is under way."""
    return f"measuring begun: {begun.what}, {len(begun.answers)} answers so far"


_MEASURED = {
    PUMP: "pump measured", TUB: "dip table measured", PUMP_OFF: "water outside measured",
    TITRATION: "alkalinity", BUCKET: "bucket test",
}  # fmt: skip


_SAID: Mapping[type[Entry], Callable[[Session, Any], str]] = {
    Reading: _answer,
    Check: _answer,
    Dose: _dose,
    Done: lambda _, done: _STEPS.get(done.item, f"{done.item.replace('_', ' ')} done"),
    Offer: _offer,
    PutOff: lambda _, __: "correction put off",
    GivenUp: lambda session, e: f"{_product(session, e.item)} given up, its other half went in alone",
    Skip: lambda _, skip: f"{skip.item or 'station'} left out",
    Count: lambda session, count: f"{_product(session, count.item)} in stock: {_amount(count)}",
    RoundMark: lambda _, mark: f"{mark.item} round {mark.value}",
    Note: lambda _, __: "note",
    Seen: _slow_change,
    Doing: doing_text,
    Event: doing_text,
    Measured: _measured,
    Measuring: _measuring,
    Settled: _settled,
}
"""How each kind of entry is told; any other by its name."""
