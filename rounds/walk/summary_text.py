"""The end of a round in words."""

from __future__ import annotations

from rounds.walk.open_corrections import open_corrections
from rounds.walk.rechecks import waits
from rounds.walk.round import Round
from rounds.walk.safekeeping import backup_text
from rounds.walk.session import Session
from rounds.walk.summary import RoundSummary
from rounds.walk.to_sort.listing import open_matters
from rounds.walk.to_sort.telling import age_of, with_place
from rounds.walk.wording import minutes_text, round_of_day


def summary_title(session: Session, walk: Round) -> str:
    """Which round it is."""
    return f"The {walk.name} round" if walk.day == session.now().date() else round_of_day(walk.name, walk.day)


def begun_text(session: Session, walk: Round) -> str:
    """When it was begun."""
    return f"begun {walk.started_at.astimezone(session.zone):%H:%M}"


def summary_page(session: Session, walk: Round, summary: RoundSummary) -> str:
    """What the round came to, block by block."""
    blocks = [
        f"{summary.stations_done} stations done, {summary.readings} readings, {summary.checks} checks.",
        _block("Off", summary.off),
        _block("Found", summary.findings),
        _block("Changes slowly", summary.slow, "~"),
        _block("Still to sort from before", _from_before(session, walk), "!"),
        _block("Added", summary.doses),
        _block("Still to come", _still_to_come(session), "⧗"),
        _block("Left out", summary.skipped),
        _block("Carried over, not reached", [_name_of(session, s) for s in summary.stations_open], "↪"),
        _block("Notes", summary.notes),
        backup_text(session),
    ]
    return "\n\n".join(block for block in blocks if block)


def _from_before(session: Session, walk: Round) -> list[str]:
    """What was to sort before the round and still is; what was found on it stands under what is off."""
    older = [each for each in open_matters(session) if each.since < walk.started_at]
    return [f"{with_place(session, each)} (since {age_of(session, each)})" for each in older]


def _still_to_come(session: Session) -> list[str]:
    now = session.now()
    running = [
        f"{_name_of(session, w.station_id)}: {minutes_text(w.seconds_left(now))}, {w.what}"
        for w in waits(session)
        if w.seconds_left(now) > 0
    ]
    open_steps = [
        f"{_name_of(session, c.station_id)}: {c.next_step.text}" for c in open_corrections(session) if c.next_step
    ]
    return running + open_steps


def _name_of(session: Session, station_id: str) -> str:
    station = session.farm.stations.get(station_id)
    return station.name if station else station_id


def _block(title: str, lines: tuple[str, ...] | list[str], sign: str = "·") -> str:
    return "\n".join([f"{title}:", *(f" {sign} {line}" for line in lines)]) if lines else ""
