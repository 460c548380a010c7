"""The first screen in words: its heading, how the round stands, what was carried over, a line for each station."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

import msgspec

from rounds.checklist.due import StationDue
from rounds.farm.stations import StationBase
from rounds.walk.matters import Matter
from rounds.walk.round import Round, closed_today, left_open, open_round
from rounds.walk.session import Session
from rounds.walk.telling import matters
from rounds.walk.wording import date_text, round_of_day

NARROW = 66
"""Columns below which everything is said in fewer words."""
SHORT = 16
"""Lines below which warnings get one line each."""
MOST_TO_SORT, MOST_TALL, MOST_NARROW = 3, 5, 2
"""So many of what is still to sort are told: usually, on a tall screen, on a very low one."""
TALL, TALL_ENOUGH = 30, 20
"""Lines from which on there is room for more of it, and below which for less."""
HALF_PAIR = "half-pair"
WIDEST_NAME = 40


def heading(now: datetime, name: str, *, width: int) -> str:
    """The day, the round and the time."""
    day = f"{now.day} {now:%b}" if width < NARROW else date_text(now)
    return f"{day} · {name} {now:%H:%M}"


def state(session: Session, name: str, due: Sequence[StationDue], *, width: int) -> str:
    """How many things wait, and what Enter does; then what else is open."""
    of, running = len(session.farm.stations), open_round(session, name)
    closed = running is None and closed_today(session, name)
    say = _state_narrow if width < NARROW else _state_wide
    return _joined(*say(name, due, of, running, closed=closed), *_also(session, name, narrow=width < NARROW))


def _state_narrow(
    name: str, due: Sequence[StationDue], of: int, running: Round | None, *, closed: bool
) -> tuple[str, ...]:
    count, overdue = _counted(due)
    begun = f"Since {running.started_at:%H:%M}: " if running else "Closed. " if closed else ""
    enter = "Enter goes on." if running else "" if closed else f"Enter starts {name}."
    return f"{begun}{count} due at {len(due)} of {of}{f', {overdue} overdue' if overdue else ''}.", enter


def _state_wide(
    name: str, due: Sequence[StationDue], of: int, running: Round | None, *, closed: bool
) -> tuple[str, ...]:
    count, overdue = _counted(due)
    waiting = f"{count} things due at {len(due)} of {of} stations" + (f", {overdue} of them overdue" if overdue else "")
    if not count:
        waiting = f"Nothing {'more ' if running or closed else ''}is due"
    if running is not None:
        on = f"Still {waiting}. Enter takes it up again." if count else f"{waiting}. Enter goes on."
        return (f"Started {running.started_at:%H:%M}. {on}",)
    return (f"This {name}'s round is closed. {waiting}." if closed else f"{waiting}. Enter starts the {name} round.",)


def _counted(due: Sequence[StationDue]) -> tuple[int, int]:
    """How many things wait, and how many of them too long."""
    items = [item for each in due for item in each.items]
    return len(items), sum(item.overdue_days > 0 for item in items)


def first_lines(session: Session) -> list[str]:
    """What stands above all else, and where Enter leads first: A or B that went in alone."""
    return [each.line for each in matters(session, "first")]


def state_text(session: Session, name: str, due: Sequence[StationDue], *, width: int) -> str:
    """What is missing from the farm, then how the round stands."""
    return "\n".join([*(each.text for each in matters(session, "missing")), state(session, name, due, width=width)])


def to_sort_lines(session: Session, *, width: int, most: int) -> list[str]:
    """What is still to sort, the worst first: as many as there is room for, and how many more there are.

    Half a pair stands above all else already. What is not alive or not running is told in full.
    """
    found = [each for each in matters(session, "to sort") if each.code != HALF_PAIR]
    if not found:
        return []
    lines = [_to_sort_line(each, width=width) for each in found[:most]]
    more = [f"  and {len(found) - most} more"] if len(found) > most else []
    return ["Still to sort", *lines, *more]


def most_to_sort(height: int, *, width: int) -> int:
    """How many of them a screen of so many lines has room for."""
    if height < TALL_ENOUGH:
        return MOST_NARROW
    return MOST_TALL if height >= TALL and width >= NARROW else MOST_TO_SORT


def _to_sort_line(matter: Matter, *, width: int) -> str:
    """Its sign and sentence, and its age at the right end; in fewer words where there is little room."""
    if width < NARROW:
        return shortened(_brief(matter).line, width - 2)
    if matter.severity == "alarm":
        return f"{matter.line} ({matter.age})" if matter.age else matter.line
    room = width - 3 - len(matter.age)
    return f"{shortened(matter.line, room - 1):<{room}}{matter.age}".rstrip()


def file_lines(session: Session) -> list[str]:
    """What is wrong in the farm's files, odd in its record, or not safe."""
    return [each.line for each in matters(session, "files")]


def station_line(station: StationBase, sign: str, due: StationDue | None, *, width: int) -> str:
    """Sign, name, and how much is due there; the name gives way where there is little room."""
    narrow = width < NARROW
    tail = _how_much(due, narrow=narrow) if due else ""
    room = min(WIDEST_NAME, max(12, width - len(tail) - 4))
    sick = "" if not station.sick else " (sick)" if narrow else " (sick: last)"
    name = shortened(station.name, room - 1 - len(sick)) + sick
    return f"{'•' if due else sign} {name:<{room}}{tail}"


def about_station(session: Session, station_id: str, name: str) -> tuple[str, ...]:
    """A station in focus: its name, what it is, and what is due there on the round."""
    station = session.farm.stations[station_id]
    due = next((each for each in session.due(name) if each.station_id == station_id), None)
    labels = ", ".join(each.item.label for each in due.items) if due else "nothing"
    return tuple(part for part in (station.name, station.about, station.note, f"Due on this round: {labels}.") if part)


def _how_much(due: StationDue, *, narrow: bool) -> str:
    """How many things are due at a station, and for how long too late."""
    late = max((item.overdue_days for item in due.items), default=0)
    told = "" if not late else f" {late} d late" if narrow else f"   overdue by {late} day{'s' if late > 1 else ''}"
    return f"{len(due.items):>3} due{told}"


def shortened(text: str, length: int) -> str:
    """A text on one line, with a mark where something is missing."""
    return text if len(text) <= length else text[: max(0, length - 1)].rstrip() + "…"


def _also(session: Session, name: str, *, narrow: bool) -> list[str]:
    """The round of this time of day, where another one is shown, and one that nobody closed."""
    by_clock, open_ones = session.round_name(), left_open(session)
    found = []
    if by_clock != name and not closed_today(session, by_clock):
        found.append(f"n: {by_clock} is due too." if narrow else f"The {by_clock} round is due too: n shows it.")
    if open_ones:
        walk = open_ones[0]
        which = f"{walk.name} of {walk.day.day} {walk.day:%b}" if narrow else round_of_day(walk.name, walk.day)
        found.append(f"c: {which} is open." if narrow else f"{which} was left open: c closes it.")
    return found


def _joined(*sentences: str) -> str:
    return " ".join(sentence for sentence in sentences if sentence)


def _brief(matter: Matter) -> Matter:
    return msgspec.structs.replace(matter, text=matter.brief or matter.text)
