"""Closing rounds of an earlier day that nobody closed, with what they have."""

from __future__ import annotations

from rounds.walk.round import Round, close_round, left_open
from rounds.walk.session import Session
from rounds.walk.summary import RoundSummary, summarise
from rounds.walk.wording import round_of_day


def close_left_open(session: Session) -> list[str]:
    """Close every round of an earlier day; a sentence for each.

    Raises
    ------
    NotSaved
        Where that could not be written down.
    """
    return [_closed(session, walk) for walk in left_open(session)]


def _closed(session: Session, walk: Round) -> str:
    summary = summarise(session, walk)
    close_round(session, walk, summary.to_data() | {"left_open": True})
    return f"{round_of_day(walk.name, walk.day)} was left open and is closed now{_not_reached(summary)}."


def _not_reached(summary: RoundSummary) -> str:
    count = len(summary.stations_open)
    return f"; {count} station{'s were' if count > 1 else ' was'} not reached" if count else ""
