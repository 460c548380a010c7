"""Before a station is left, and before a round is closed: what is still in a passing state is asked about."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from rounds.errors import BadInput
from rounds.history.record import Draft
from rounds.text import clean_line
from rounds.walk.doings.at_once import save_at_once, understood_at_once
from rounds.walk.doings.error_texts import in_words
from rounds.walk.doings.model import Ask, Place, Understood, Way
from rounds.walk.doings.understanding import verb_of, way_of
from rounds.walk.session import Session
from rounds.walk.to_sort.passing import StillSo, still_so
from rounds.walk.to_sort.words import age_text, name_of

YES = ("y", "yes")


def so_at(session: Session, station_id: str) -> list[StillSo]:
    """What is still in a passing state at a station."""
    return [each for each in still_so(session) if each.station_id == station_id]


def ask_before_leaving(place: Place, still: Sequence[StillSo]) -> Way:
    """Ask of each state whether it is left so; what is typed in place of `y` ends it."""
    drafts: list[Draft] = []
    follows: list[str] = []
    for each in still:
        said: str = yield Ask(code="passing", text=_question(place.session, each), inline=each.state.undone[0],
                              read=partial(_read, each))  # fmt: skip
        if said:
            verb = verb_of(place, said)
            assert verb is not None
            understood: Understood = yield from way_of(place, verb, said)
            drafts += understood.drafts
            follows += [understood.follows] if understood.follows else []
        else:
            follows.append(f"{each.state.still}: it stays among what is still to sort")
    return Understood(drafts=tuple(drafts), follows="; ".join(follows), sure=True)


def _question(session: Session, so: StillSo) -> str:
    since = age_text(so.open.at, session.now(), session.zone)
    still = so.state.still
    return f"{still[:1].upper()}{still[1:]} here, since {since}: leave it so? y, or {so.state.undone[0]}"


def _read(so: StillSo, text: str) -> str:
    """Empty for yes, else the line that ends it."""
    typed = clean_line(text.strip())
    if typed.casefold() in YES:
        return ""
    if ends(typed, so):
        return typed
    raise in_words(BadInput, "answer", word=clean_line(typed, 40), known=f"y, or {so.state.undone[0]}")


def ends(typed: str, so: StillSo) -> bool:
    """Whether a line ends a state."""
    said = typed.casefold()
    return any(said == line or said.startswith(f"{line} ") for line in so.state.undone)


def closing_text(session: Session) -> str:
    """What is asked before a round is closed; empty where nothing is left so."""
    still = still_so(session)
    if not still:
        return ""
    told = " · ".join(
        f"{name_of(session, each.station_id)}: {each.state.still} ({each.state.undone[0]})" for each in still
    )
    return f"Left as it is? {told}"


def ended_at_the_close(session: Session, text: str, round_id: str | None) -> str:
    """Write down what ends one of the states, wherever it is; give the sentence.

    Raises
    ------
    BadInput
        For what ends none of them, or several, and where something would be asked.
    """
    found = [each for each in still_so(session) if ends(text.strip(), each)]
    if len(found) != 1:
        raise in_words(BadInput, "answer", word=clean_line(text, 40), known="y, or what ends it, at its station")
    station = session.farm.stations.get(found[0].station_id)
    place = Place(session=session, station=station, at=session.now(), round_id=round_id)
    understood = understood_at_once(place, text)
    assert understood is not None
    return save_at_once(place, understood, sure=True)[1]
