"""What of the farm its files keep from being walked: said first, since a smaller farm looks like a finished one."""

from __future__ import annotations

from rounds.text import clean_line
from rounds.walk.session import Session

_NAMED = 4


def missing_lines(session: Session) -> list[str]:
    """A sentence for each thing that is missing from a round: stations, their questions, doses; else the mistakes.

    Empty where the farm's files have no mistake.
    """
    farm, unread = session.farm, [mistake.file for mistake in session.mistakes if mistake.unreadable]
    lines = []
    if farm.left_out:
        lines.append(f"{_stations(len(farm.left_out))} left out for mistakes in farm.toml: {_named(farm.left_out)}.")
    lines += [f"{file} can't be used: there are no doses." for file in unread if not file.startswith("checklists/")]
    silent = [each.id for each in farm.stations.values() if session.checklists.of(each.kind) is None]
    if silent:
        lines.append(f"{_stations(len(silent))} not asked about, since a checklist can't be used: {_named(silent)}.")
    count = len(session.mistakes)
    if count and not lines:
        lines.append(f"The farm's files have {count} mistake{'' if count == 1 else 's'}: `rounds check` names them.")
    return lines


def _stations(count: int) -> str:
    return "1 station is" if count == 1 else f"{count} stations are"


def _named(ids: tuple[str, ...] | list[str]) -> str:
    more = f" and {len(ids) - _NAMED} more" if len(ids) > _NAMED else ""
    return ", ".join(clean_line(each, 40) for each in ids[:_NAMED]) + more
