"""Still to sort: leaks that are suspected, birds that were lost, waiting times that run."""

from __future__ import annotations

from collections.abc import Iterator

from rounds.book.levels import Fall
from rounds.book.undone import Birds, Runs
from rounds.checklist.still_off import matter_id
from rounds.walk.session import Session
from rounds.walk.to_sort.model import OpenMatter
from rounds.walk.to_sort.words import age_text, day_text, lost_at, name_of

LEAK, FOX, DEATHS, WAITING = "leak", "fox", "deaths", "waiting"
SUDDEN = 2
"""So many deaths within two days are the vet's. Common practice, no source."""


def leaks_suspected(session: Session) -> Iterator[OpenMatter]:
    """Falls of a level that are far more than the plants drink."""
    for station, level in session.unsettled().levels.of.items():
        if level.fall is not None and station in session.farm.stations:
            yield _leak(session, station, level.fall)


def _leak(session: Session, station: str, fall: Fall) -> OpenMatter:
    now, zone = session.now(), session.zone
    time = f"{fall.days * 24.0:.0f} hours" if fall.days < 1.5 else f"{fall.days:.0f} days"
    between = f"from {age_text(fall.since, now, zone)} to {age_text(fall.at, now, zone)}"
    return OpenMatter(
        id=matter_id(LEAK, station), code=LEAK, station=station,
        what=f"Look for a leak: {fall.litres:.0f} L gone in {time}", since=fall.at, loses="tonight",
        what_is_lost=lost_at(session, station, "tonight"), closing="a reason", cause=f"level:{station}",
        items=("dip",), brief=f"leak? {fall.litres:.0f} L gone",
        seen=(f"{fall.litres:.0f} L gone {between}, far more than usual here",),
        could_be="A drip at the return, an overflowing channel, a valve, water taken unwritten, a dip misread.",
        reasons=(
            "found and mended", "looked, found nothing", "the dip was misread", "water was taken on purpose",
            "another reason",
        ),
    )  # fmt: skip


def birds_lost(session: Session) -> Iterator[OpenMatter]:
    """What the fox took, and sudden deaths."""
    for station, here in session.unsettled().undone.at.items():
        if station not in session.farm.stations:
            continue
        if here.fox is not None:
            what = f"Close fence and hatch before dusk: the fox took {_birds(here.fox)}"
            yield _birds_matter(session, FOX, station, here.fox, what, "It comes back, the next night as a rule.")
        if here.dead is not None and here.dead.number >= SUDDEN:
            what = f"Call the vet: {_birds(here.dead)} dead within two days"
            yield _birds_matter(session, DEATHS, station, here.dead, what, "Two sudden deaths are the vet's.")


def _birds(lost: Birds) -> str:
    return f"{lost.number:g} bird{'' if lost.number == 1 else 's'}"


def _birds_matter(session: Session, code: str, station: str, lost: Birds, what: str, could_be: str) -> OpenMatter:
    return OpenMatter(
        id=matter_id(code, station), code=code, station=station, what=what, since=lost.first, last=lost.last,
        loses="animals", what_is_lost=lost_at(session, station, "animals"), closing="a reason",
        cause=f"birds:{station}", parkable=False, brief=what.partition(":")[2].strip(), could_be=could_be,
        seen=(f"{_birds(lost)}, the last {age_text(lost.last, session.now(), session.zone)}",),
        reasons=("found how, and closed", "the vet was called", "another reason"),
    )  # fmt: skip


def waiting_times(session: Session) -> Iterator[OpenMatter]:
    """What is not to be eaten yet, by the waiting time that somebody entered."""
    today = session.now().date()
    for station, here in session.unsettled().undone.at.items():
        for each in here.runs:
            if each.until >= today:
                yield _waiting(session, station, each)


def _waiting(session: Session, station: str, runs: Runs) -> OpenMatter:
    day = day_text(runs.until, session.now().date())
    reason = f" ({runs.why})" if runs.why else ""
    return OpenMatter(
        id=matter_id(WAITING, station, runs.verb), code=WAITING, station=station,
        what=f"Eat and sell nothing of {name_of(session, station)} up to and including {day}: {runs.verb}{reason}",
        since=runs.at, loses="days", what_is_lost="what was picked or laid then", closes_by=("passes", "reason"),
        closing=f"the day {day} passing, or a reason", parkable=False, brief=f"{runs.verb}, waiting to {day}",
        seen=(f"{runs.verb}{reason}, waiting time entered until {day}",),
    )  # fmt: skip
