"""The history as people read it: one line for each thing written down."""

from __future__ import annotations

from rounds.history.record import Record
from rounds.units import show
from rounds.walk.session import Session

_ACTIONS = {"concentrate_a": "A", "concentrate_b": "B"}
_STEPS = {
    "circulate": "the pump runs to mix",
    "recheck": "to be read again when it has mixed",
    "buffer_dip": "the probe was dipped in buffer",
    "looked": "looked where the correction said",
}


def record_text(session: Session, record: Record) -> str:
    """One record in words, without its time and person."""
    place = _place(session, record.station)
    return f"{place}: {_what(session, record)}" if place else _what(session, record)


def _what(session: Session, record: Record) -> str:
    if record.void:
        return f"{record.item or record.kind} taken back"
    match record.kind:
        case "reading" | "check":
            text = _answer(session, record)
        case "dose":
            text = _dose(session, record)
        case "round":
            text = f"{record.item} round {record.value}"
        case "correction":
            text = f"correction worked out, {len(record.data.get('steps', ()))} steps"
        case "step":
            text = _STEPS.get(record.item, f"{record.item.replace('_', ' ')} done")
        case "put-off":
            text = "correction put off"
        case "given-up":
            text = f"{_product(session, record.item)} given up, its other half went in alone"
        case "skip":
            text = f"{record.item or 'station'} left out"
        case "stock":
            text = f"{_product(session, record.item)} in stock: {_amount(record)}"
        case "note":
            text = "note"
        case "seen":
            text = _slow_change(session, record)
        case _:
            text = f"{record.kind.replace('-', ' ')} {record.item}".rstrip()
    return _with_asides(text, record)


def _answer(session: Session, record: Record) -> str:
    if record.item == "all-well":
        return f"all well ({len(record.data.get('covers', ()))} checks)"
    station = session.farm.stations.get(record.station)
    item = session.checklists.item(station.kind if station else "alive", record.item)
    label = item.label if item else record.item
    if isinstance(record.value, bool):
        return f"{label}: {'yes' if record.value else 'no'}"
    if isinstance(record.value, int | float):
        decimals = item.decimals if item and item.type == "reading" else None
        return f"{label} {show(float(record.value), record.unit or '', decimals)}"
    return f"{label}: {record.value if record.value is not None else ''}".rstrip(": ")


def _slow_change(session: Session, record: Record) -> str:
    """A slow change that was looked at: item `slow:flow`."""
    item = record.item.partition(":")[2]
    station = session.farm.stations.get(record.station)
    known = session.checklists.item(station.kind, item) if station else None
    done = "put right" if record.data.get("put_right") is True else "seen"
    return f"slow change of {known.label if known else item}: {done}"


def _dose(session: Session, record: Record) -> str:
    named = str(record.data.get("action", "added"))
    action = _ACTIONS.get(named, named.replace("_", " "))
    product = _product(session, record.item)
    return f"{action}: {product} {_amount(record)}".replace(":  ", ": ")


def _with_asides(text: str, record: Record) -> str:
    asides = [record.note or "", *record.marks, "replaces an earlier entry" if record.replaces else ""]
    told = "; ".join(aside for aside in asides if aside)
    return f"{text} ({told})" if told else text


def _amount(record: Record) -> str:
    return show(float(record.value), record.unit or "") if isinstance(record.value, int | float) else ""


def _product(session: Session, product_id: str) -> str:
    product = session.farm.shelf.get(product_id) or session.farm.waters.get(product_id)
    return product.name if product else product_id


def _place(session: Session, station_id: str) -> str:
    station = session.farm.stations.get(station_id)
    return station.name if station else station_id
