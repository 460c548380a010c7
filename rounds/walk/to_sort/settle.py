"""Settling what is still to sort: closed with a reason, or left for a later day."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime

from rounds.book.doings import CLOSED, LATER, Settled
from rounds.errors import BadInput, NotFound, Refused
from rounds.history.record import Draft
from rounds.text import clean_line
from rounds.walk.half_pairs import given_up_draft, half_pair_at
from rounds.walk.session import Session
from rounds.walk.to_sort.error_texts import in_words
from rounds.walk.to_sort.model import OpenMatter
from rounds.walk.to_sort.not_ended import PAIR

LONGEST = 200


def closing(
    session: Session, matter: OpenMatter, reason: str, *, at: datetime | None = None, round_id: str | None = None
) -> tuple[Draft, ...]:
    """What is written down where a matter is closed with a reason; half a pair is given up.

    Raises
    ------
    BadInput
        Where no reason is given.
    """
    why = clean_line(reason.strip(), LONGEST)
    if not why:
        raise in_words(BadInput, "no-reason")
    return tuple(
        _given_up(session, each, why, round_id)
        if each.code == PAIR
        else _said(session, each, CLOSED, why, at, round_id, {})
        for each in matter.of or (matter,)
    )


def parking(
    session: Session, matter: OpenMatter, until: date, reason: str = "", *, at: datetime | None = None,
    round_id: str | None = None,
) -> tuple[Draft, ...]:  # fmt: skip
    """What is written down where a matter is left for a later day.

    Raises
    ------
    Refused
        For people, animals and half a pair: they do not wait.
    BadInput
        For a day that is not to come.
    """
    refuse_to_wait(matter)
    if until <= session.now().date():
        raise in_words(BadInput, "not-today")
    why, data = clean_line(reason.strip(), LONGEST), {"until": until.isoformat()}
    return tuple(_said(session, each, LATER, why, at, round_id, data) for each in matter.of or (matter,))


def refuse_to_wait(matter: OpenMatter) -> None:
    """Refuse to leave a matter that does not wait. Raises `Refused` for people, animals and half a pair."""
    for each in matter.of or (matter,):
        if each.code == PAIR:
            raise in_words(Refused, "no-half-pair", what=each.what)
        if each.loses in ("people", "animals"):
            raise in_words(Refused, "no-waiting", what=each.what)
        if not each.parkable:
            raise in_words(Refused, "does-not-wait", what=each.what)


def matter_called(matters: Sequence[OpenMatter], id: str) -> OpenMatter:
    """The matter of an id, its own or that of one that is joined in it.

    Raises
    ------
    NotFound
        With the ids there are.
    """
    for matter in matters:
        if matter.id == id:
            return matter
        for each in matter.of:
            if each.id == id:
                return each
    known = ", ".join(matter.id for matter in matters) or "none"
    raise in_words(NotFound, "no-such", word=clean_line(id, 60), known=known)


def _said(
    session: Session, matter: OpenMatter, value: str, why: str, at: datetime | None, round_id: str | None,
    data: dict[str, str],
) -> Draft:  # fmt: skip
    return Draft(
        kind=Settled.kind, item=matter.id, value=value, station=matter.station, measured_at=at or session.now(),
        person=session.person_name(), note=why or None, round_id=round_id, data={"about": matter.what, **data},
    )  # fmt: skip


def _given_up(session: Session, matter: OpenMatter, why: str, round_id: str | None) -> Draft:
    pair = half_pair_at(session, matter.station)
    if pair is None:
        raise in_words(BadInput, "no-pair")
    return given_up_draft(session, pair, why, "", round_id)
