"""What was done, in a sentence: before it is saved, and in the daybook."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime
from functools import partial

from rounds.book.entries import Doing, Dose, Event, Settled
from rounds.book.entry import Entry
from rounds.units import show
from rounds.walk.doings.states import STATES, State
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
        amount = show(entry.number, entry.unit or entry.usual_unit) if entry.number is not None else "something"
        told = _DOSES.get(entry.action, "{amount} of {product} poured")
        return told.format(amount=amount, product=_product(session, entry.item) or "water")
    if isinstance(entry, Event):
        return _event(entry)
    if isinstance(entry, Doing):
        return _SAID.get(entry.verb, _plain)(session, entry)
    if isinstance(entry, Settled):
        return f"{'Settled' if entry.is_closed else 'Left for later'}: {entry.about or entry.item}"
    return entry.item


def counted(number: float | None, one: str) -> str:
    """A number with what is counted.

    Examples
    --------
    >>> counted(1, "plant"), counted(3, "plant")
    ('1 plant', '3 plants')
    """
    return f"some {one}s" if number is None else f"{number:g} {one if number == 1 else f'{one}s'}"


def _plain(_: Session, doing: Doing) -> str:
    """A verb with its amount, where there is one."""
    return f"{doing.verb.capitalize()} {_amount(doing)}".rstrip()


def _amount(doing: Doing) -> str:
    return show(doing.number, doing.unit or "") if doing.number is not None else ""


def _product(session: Session, id: str) -> str:
    product = session.farm.shelf.get(id) or session.farm.waters.get(id)
    return product.name if product else id


def _counted(told: str, one: str, _: Session, doing: Doing) -> str:
    return told.format(counted(doing.number, one))


def _planted(_: Session, doing: Doing) -> str:
    return f"{counted(doing.number, 'plant')} set" + (f": {doing.crop}" if doing.crop else "")


def _cut(_: Session, doing: Doing) -> str:
    return f"{counted(doing.number, 'plant')} cut, {'they grow again' if doing.regrows else 'their sites are free'}"


def _done(told: str, _: Session, doing: Doing) -> str:
    return told.format(_amount(doing)) if doing.number is not None else told.format("Some")


def _bought(session: Session, doing: Doing) -> str:
    if not doing.product:
        return f"{counted(doing.number, 'bird')} bought"
    return f"{_amount(doing)} of {_product(session, doing.product)} bought"


def _sold(_: Session, doing: Doing) -> str:
    return f"{_amount(doing)} sold" if doing.product else f"{counted(doing.number, 'bird')} sold"


def _swapped(session: Session, doing: Doing) -> str:
    return f"New bottle of {_product(session, doing.product)}" if doing.product else f"New {doing.gear or 'part'}"


def _treated(verb: str, _: Session, doing: Doing) -> str:
    until = doing.until
    return f"{verb}, " + (f"waiting time until {until.day} {until:%B}" if until else "no waiting time")


def _hose(_: Session, doing: Doing) -> str:
    if not doing.runs:
        return f"Hose off, {_amount(doing)} in" if doing.number is not None else "Hose off"
    return f"Hose on, {_amount(doing)}" if doing.number is not None else "Hose on"


def _passing(state: State, _: Session, doing: Doing) -> str:
    return state.said if doing.is_left else state.said_over


def _calibrated(session: Session, doing: Doing) -> str:
    probe, known = _probe(doing), f"{doing.number:g}" if doing.number is not None else "its buffer"
    if doing.before is None:
        return f"{probe} probe calibrated in {known}; what it showed before is unknown"
    told = f"{probe} probe calibrated in {known}, {doing.before:g} before"
    if doing.was_off is None:
        return f"{told}: near enough, earlier readings stand"
    since = doing.off_since
    by, at = abs(doing.was_off), f" since {_day(since, session)}" if since else ""
    return f"{told}: {probe} read{at} was about {by:.2g} too {'high' if doing.was_off > 0 else 'low'}"


def _checked(_: Session, doing: Doing) -> str:
    return f"{_probe(doing)} probe checked, it showed {doing.number:g}" if doing.number is not None else "Probe checked"


def _probe(doing: Doing) -> str:
    return "EC" if doing.unit == "mS/cm" else "pH"


def _day(at: datetime, session: Session) -> str:
    local = at.astimezone(session.zone)
    return f"{local.day} {local:%B}"


def _event(event: Event) -> str:
    if event.item == "outage":
        return "Power was out" + (f" for {event.number:g} min" if event.number is not None else "")
    return "Storm" if event.item == "storm" else f"event {event.item.replace('-', ' ')}".rstrip()


_SAID: Mapping[str, Callable[[Session, Doing], str]] = {
    **{verb: partial(_passing, state) for verb, state in STATES.items()},
    "dead": partial(_counted, "{} dead", "bird"),
    "fox": partial(_counted, "The fox took {}", "bird"),
    "culled": partial(_counted, "{} culled", "bird"),
    "hatched": partial(_counted, "{} hatched", "bird"),
    "planted": _planted,
    "pulled": partial(_counted, "{} pulled, sites free", "plant"),
    "lost": partial(_counted, "{} lost", "plant"),
    "cut": _cut,
    "picked": partial(_done, "{} picked"),
    "sowed": partial(_done, "{} sown"),
    "pricked": partial(_done, "{} pricked out"),
    "potted": partial(_done, "{} potted"),
    "sick": lambda _, __: "Marked sick",
    "well": lambda _, __: "Well again",
    "sprayed": partial(_treated, "Sprayed"),
    "wormed": partial(_treated, "Wormed"),
    "hose": _hose,
    "bought": _bought,
    "sold": _sold,
    "swapped": _swapped,
    "calibrated": _calibrated,
    "checked": _checked,
}
"""How a doing of each verb is told; any other by its verb."""
