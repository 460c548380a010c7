"""What was done, in a sentence: before it is saved, and in the daybook."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from rounds.book.entries import Doing, Dose, Event
from rounds.book.entry import Entry
from rounds.units import show
from rounds.walk.session import Session

_DOSES = {
    "top_up": "{amount} of {product} topped up", "drain_off": "{amount} drained off",
    "change_out": "Changed out, filled with {amount} of {product}",
}  # fmt: skip


def doing_text(session: Session, entry: Entry) -> str:
    """What somebody did unasked, in one sentence without its point, without station, time and note.

    Parameters
    ----------
    entry : Entry
        A doing, a dose of somebody's own, or an event that was told of.
    """
    if isinstance(entry, Dose):
        product = session.farm.shelf.get(entry.item) or session.farm.waters.get(entry.item)
        amount = show(entry.number, entry.unit or entry.usual_unit) if entry.number is not None else "something"
        told = _DOSES.get(entry.action, "{amount} of {product} poured")
        return told.format(amount=amount, product=product.name if product else entry.item or "water")
    if isinstance(entry, Event):
        return _event(entry)
    if isinstance(entry, Doing):
        say = _SAID.get(entry.verb)
        return say(session, entry) if say is not None else _plain(entry)
    return entry.item


def _plain(doing: Doing) -> str:
    amount = f" {show(doing.number, doing.unit or '')}" if doing.number is not None else ""
    return f"{doing.verb.capitalize()}{amount}"


def counted(number: float | None, one: str, many: str = "") -> str:
    """A number with what is counted.

    Examples
    --------
    >>> counted(1, "plant"), counted(3, "plant")
    ('1 plant', '3 plants')
    """
    many = many or f"{one}s"
    return f"some {many}" if number is None else f"{number:g} {one if number == 1 else many}"


def _birds(told: str) -> Callable[[Session, Doing], str]:
    return lambda _, doing: told.format(birds=counted(doing.number, "bird"))


def _event(event: Event) -> str:
    if event.item == "outage":
        return "Power was out" + (f" for {event.number:g} min" if event.number is not None else "")
    return event.item.capitalize()


_SAID: Mapping[str, Callable[[Session, Doing], str]] = {
    "dead": _birds("{birds} dead"),
    "fox": _birds("The fox took {birds}"),
    "culled": _birds("{birds} culled"),
    "hatched": _birds("{birds} hatched"),
    "sold": _birds("{birds} sold"),
}
