"""What is still to sort as the first screen, `due` and `matters` tell it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from rounds.walk.matters import Matter, Severity
from rounds.walk.session import Session
from rounds.walk.to_sort.happened import WAITING
from rounds.walk.to_sort.left import LEFT_OUT, NOT_REACHED, PUT_OFF
from rounds.walk.to_sort.listing import back_on, matters_at, open_matters, parked_matters
from rounds.walk.to_sort.model import OpenMatter
from rounds.walk.to_sort.not_ended import BEGUN, UNREAD
from rounds.walk.to_sort.words import age_text, day_text, loss_text, name_of

_SEVERITY: Mapping[str, Severity] = {
    BEGUN: "begun", UNREAD: "begun", WAITING: "begun", PUT_OFF: "carried", LEFT_OUT: "carried", NOT_REACHED: "carried",
}  # fmt: skip


_ASKED = ("off", "doubted", "sick")
"""Codes of what is asked item by item at its station, or stands in its title."""


def told(session: Session) -> Iterator[Matter]:
    """Each matter with its facts, the worst first."""
    for each in open_matters(session):
        place = name_of(session, each.station)
        yield Matter(
            code=each.code, text=with_place(session, each), severity=severity_of(each), station_id=each.station,
            leads=each.leads, brief=f"{place}: {each.brief}" if each.brief else "", age=age_of(session, each),
            facts=form_of(session, each),
        )  # fmt: skip


def told_at(session: Session, station_id: str) -> list[str]:
    """What is still to sort at a station beside what was off of its items, which is asked by itself."""
    beside = [
        each for each in matters_at(session, station_id) if any(one.code not in _ASKED for one in each.of or (each,))
    ]
    return [f"! Still to sort: {each.what} (since {age_of(session, each)})" for each in beside]


def severity_of(matter: OpenMatter) -> Severity:
    """How it is marked: what is not alive or not running stands out most."""
    usual: Severity = "warning" if matter.station else "alarm"
    return _SEVERITY.get(matter.code, usual)


def with_place(session: Session, matter: OpenMatter) -> str:
    """Its sentence, with its station before it where the sentence does not name it."""
    place = name_of(session, matter.station)
    return matter.what if not matter.station or place in matter.what else f"{place}: {matter.what}"


def age_of(session: Session, matter: OpenMatter) -> str:
    """Since when it is so, in words."""
    return age_text(matter.since, session.now(), session.zone)


def sentence_of(session: Session, matter: OpenMatter) -> str:
    """Its sentence with its age."""
    return f"{matter.what} (since {age_of(session, matter)})"


def form_of(session: Session, matter: OpenMatter) -> dict[str, Any]:
    """A matter for programs."""
    return {
        "id": matter.id,
        "code": matter.code,
        "station": matter.station,
        "stations": list(matter.stations),
        "what": sentence_of(session, matter),
        "since": matter.since.astimezone(session.zone).isoformat(),
        "loses": matter.loses,
        "lost": loss_text(matter.what_is_lost, matter.loses),
        "closes_by": list(matter.closes_by),
        "closing": matter.closing,
        "can_wait": matter.parkable,
        "of": [each.id for each in matter.of],
    }


def listed(session: Session) -> list[str]:
    """All of it in lines: the sentence, then what would be lost and what closes it."""
    found = open_matters(session)
    lines = [f"{session.farm.name}: {len(found)} still to sort" if found else f"{session.farm.name}: nothing to sort"]
    for each in found:
        sign = "!" if severity_of(each) in ("alarm", "warning") else "-"
        lost = loss_text(each.what_is_lost, each.loses)
        lines.append(f"{sign} {with_place(session, each)} (since {age_of(session, each)})")
        lines.append(f"    {f'lost: {lost}. ' if lost else ''}Closes by {each.closing or 'a reason'}.  {each.id}")
    today = session.now().date()
    later = ((back_on(session, each), each) for each in parked_matters(session))
    return lines + [f"until {day_text(day, today)}: {with_place(session, each)}  {each.id}" for day, each in later]
