"""What is left in a passing state: a hose that runs, a drain that is open, a pump that is off; and its opposite."""

from __future__ import annotations

from collections.abc import Generator
from functools import partial
from typing import Any

from rounds.book.doings import HOSE
from rounds.book.passing import AtStation, Open
from rounds.errors import BadInput
from rounds.farm.stations import Reservoir
from rounds.text import clean_line
from rounds.walk.doings.error_texts import in_words
from rounds.walk.doings.hose_clock import clock_of, litres_by_clock
from rounds.walk.doings.model import Ask, Place, Understood, Verb, Way, doing
from rounds.walk.doings.states import STATES, State
from rounds.walk.doings.water import dose, water_of
from rounds.walk.doings.words import LITRES, Words, named_by

_FLOW = dict.fromkeys(("l/min", "lpm", "l/h", "gal/min", "gpm"), "L/min")
_MOST_L_MIN = 1_000.0
_STOPPED = ("off", "stop", "stopped", "out", "shut", "closed")
_UNKNOWN = ("?", "unknown", "no", "n")


def read_state(state: State, is_left: bool, place: Place, words: Words) -> Understood:
    """Something that is left in a passing state, or no longer is."""
    words.refuse_numbers("", (state.left if is_left else state.undone)[0])
    follows = "asked about until it is over" if is_left else ""
    return Understood(drafts=(doing(place, words, state.verb, left=is_left),), follows=follows)


def read_hose(place: Place, words: Words) -> Way:
    """The hose that was turned on, with its flow where it is known, or off."""
    if words.take_word(*_STOPPED):
        return (yield from _off(place, words))
    words.take_word("on", "running", "start", "started")
    found = words.take_quantity(_FLOW)
    words.refuse_numbers(f"{found[0]:g}" if found else "", "hose 12")
    if found is not None and not 0.0 < found[0] <= _MOST_L_MIN:
        raise in_words(BadInput, "amount", number=f"{found[0]:g}", unit="L/min", most=_MOST_L_MIN)
    flow, water = found[0] if found is not None else None, _water_named(place, words)
    draft = doing(
        place, words, HOSE, flow, "L/min" if flow is not None else None, running=True, product=water or None
    )  # fmt: skip
    here = _here(place)
    since = here.open[HOSE].at if HOSE in here.open else place.at
    clock = clock_of(place.session, place.station_id, here, Open(since, place.at, flow))
    known = f" at {clock.flow_l_min:.3g} L/min as last time" if flow is None and clock.flow_l_min is not None else ""
    return Understood(drafts=(draft,), follows=clock.text(place.session) + known)


def _off(place: Place, words: Words) -> Generator[Ask, Any, Understood]:
    """The hose is off; at a reservoir what went in is topped up."""
    here = _here(place)
    hose = here.open.get(HOSE)
    found = words.take_quantity(LITRES)
    words.refuse_numbers(f"{found[0]:g}" if found else "", "hose off 25")
    if not isinstance(place.station, Reservoir):
        return Understood(drafts=(_over(place, words, found[0] if found else None),))
    litres = _believable(place.station, found[0]) if found else (yield from _ask_litres(place, here, hose))
    if litres is None:
        return Understood(drafts=(_over(place, words, None),), follows="how much went in is not known: read the dip")
    water = hose.product if hose is not None and hose.product and not words.left else ""
    water = water or (yield from water_of(place, words, f"hose off {litres:g} {place.station.waters[0]}"))
    topped = dose(place, words, "top_up", water, litres, "L")
    name = place.session.farm.waters[water].name
    return Understood(
        drafts=(_over(place, words, litres if found else None), topped), follows=f"{litres:g} L of {name} topped up"
    )  # fmt: skip


def _ask_litres(place: Place, here: AtStation, hose: Open | None) -> Generator[Ask, Any, float | None]:
    """How many litres went in; Enter takes what flow and time tell. None where nobody knows."""
    reservoir = place.station
    assert isinstance(reservoir, Reservoir)
    flow = (hose.flow or here.flow) if hose is not None else None
    usual = litres_by_clock(hose, flow, place.at) if hose is not None else None
    usual = min(usual, reservoir.full_volume_l) if usual is not None else None
    told = f"Enter: {usual:g}, by flow and time" if usual is not None else "? where nobody knows"

    def read(text: str) -> float | None:
        typed = text.strip().casefold()
        if not typed and usual is not None:
            return usual
        if typed in _UNKNOWN:
            return None
        found = Words(text, text, place.session.farm.place.gallon).take_quantity(LITRES)
        if found is None:
            raise in_words(BadInput, "answer", word=clean_line(text, 40), known="the litres, or ?")
        return _believable(reservoir, found[0])

    litres: float | None = yield Ask(
        code="litres", text=f"How many litres went in? {told}", inline="hose off 25", read=read
    )  # fmt: skip
    return litres


def _believable(reservoir: Reservoir, litres: float) -> float:
    """Litres that can have run in. Raises `BadInput` for more than the reservoir holds."""
    if not 0.0 < litres <= reservoir.full_volume_l:
        raise in_words(BadInput, "amount", number=f"{litres:g}", unit="L", most=reservoir.full_volume_l)
    return litres


def _over(place: Place, words: Words, litres: float | None) -> Any:
    return doing(place, words, HOSE, litres, "L" if litres is not None else None, running=False)


def _water_named(place: Place, words: Words) -> str:
    """The water that runs in, where the line names one at hand there; else empty."""
    if not isinstance(place.station, Reservoir):
        return ""
    waters = place.session.farm.waters
    names = {each: (waters[each].name, each) for each in place.station.waters if each in waters}
    for index, token in enumerate(words.left):
        found = named_by(names, token.casefold())
        if len(found) == 1 and token.casefold() != "water":
            words.left.pop(index)
            return found[0]
    return ""


def _here(place: Place) -> AtStation:
    """What is so at a place."""
    return place.session.unsettled().passing.at.get(place.station_id, AtStation())


def _verbs(state: State) -> tuple[Verb, Verb]:
    """The two verbs of a state: it was left so, it is over."""
    left, undone = state.left, state.undone
    return (
        Verb(word=left[0], also=left[1:], read=partial(read_state, state, True), at=state.kinds,
             example=left[0], does=f"{state.said.lower()} for a while; asked about until {undone[0]}"),
        Verb(word=undone[0], also=undone[1:], read=partial(read_state, state, False), at=state.kinds,
             example=undone[0], does=f"{state.said_over.lower()}"),
    )  # fmt: skip


PASSING = tuple(verb for state in STATES.values() if state.verb != HOSE for verb in _verbs(state))
