"""What of the farm its files keep from being walked: said first, since a smaller farm looks like a finished one."""

from __future__ import annotations

from rounds.text import clean_line
from rounds.walk.session import Session

_NAMED = 4


def missing_lines(session: Session) -> list[str]:
    """A sentence for each thing that is missing from a round: stations, their questions, doses; else the mistakes.

    Empty where the farm's files have no mistake.
    """
    told = [*_as_it_was(session), *_lost(session), *_left_out(session), *_undosed(session), *_silent(session)]
    count = len(session.mistakes)
    if count and not told:
        told.append(f"The farm's files have {count} mistake{'' if count == 1 else 's'}: `rounds check` names them.")
    return told


def not_readable(session: Session) -> list[str]:
    """The stations that stand in no walk although the farm has or had them, by id or place."""
    return [*session.farm.left_out, *(each.id for each in session.farm.lost)]


def _as_it_was(session: Session) -> list[str]:
    as_of = session.farm.as_of
    return [f"This is the farm as it was on {as_of}, when farm.toml was sound last."] if as_of else []


def _lost(session: Session) -> list[str]:
    lost = [each.id for each in session.farm.lost]
    return [f"{_stations(len(lost))} gone from farm.toml without a word: {_named(lost)}."] if lost else []


def _left_out(session: Session) -> list[str]:
    left_out = session.farm.left_out
    return [f"{_stations(len(left_out))} left out for mistakes in farm.toml: {_named(left_out)}."] if left_out else []


def _undosed(session: Session) -> list[str]:
    """A sentence for each file that no dose can be worked out without."""
    unread = [mistake.file for mistake in session.mistakes if mistake.unreadable]
    return [f"{file} can't be used: there are no doses." for file in unread if not file.startswith("checklists/")]


def _silent(session: Session) -> list[str]:
    """Stations whose checklist can't be used."""
    silent = [each.id for each in session.farm.stations.values() if session.checklists.of(each.kind) is None]
    if not silent:
        return []
    return [f"{_stations(len(silent))} not asked about, since a checklist can't be used: {_named(silent)}."]


def _stations(count: int) -> str:
    return "1 station is" if count == 1 else f"{count} stations are"


def _named(ids: tuple[str, ...] | list[str]) -> str:
    more = f" and {len(ids) - _NAMED} more" if len(ids) > _NAMED else ""
    return ", ".join(clean_line(each, 40) for each in ids[:_NAMED]) + more
