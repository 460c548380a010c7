"""The first screen in words: its heading, how the round stands, what was carried over, a line for each station."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from rounds.checklist.due import StationDue
from rounds.farm.stations import StationBase
from rounds.walk.carried import Carried, carried_over
from rounds.walk.round import Round, closed_today, left_open, open_round
from rounds.walk.session import Session
from rounds.walk.station_signs import standing_alarms
from rounds.walk.wording import date_text, round_of_day

NARROW = 66
"""Columns below which everything is said in fewer words."""
SHORT = 16
"""Lines below which warnings get one line each."""
MOST_CARRIED, MOST_CARRIED_NARROW = 4, 2
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
    from rounds.walk.half_pairs import half_pairs, pair_text  # not needed before the first paint

    return [f"! {pair_text(session, pair)}" for pair in half_pairs(session)]


def carried_lines(session: Session, corrections: Sequence[str], *, width: int) -> list[str]:
    """What comes before the walk: alarms in full, then what was begun, put off, left out or not reached."""
    narrow = width < NARROW
    carried, most = carried_over(session), MOST_CARRIED_NARROW if narrow else MOST_CARRIED
    lines = [f"⧗ {text}" for text in corrections]
    lines += [f"↪ {_place(session, each)}: {(narrow and each.brief) or each.what}" for each in carried[:most]]
    if narrow:
        lines = [shortened(line, width - 2) for line in lines]
    if len(carried) > most:
        lines.append(f"  and {len(carried) - most} more carried over")
    return [f"! {text}" for text in standing_alarms(session)] + lines


def station_line(station: StationBase, sign: str, due: StationDue | None, *, width: int) -> str:
    """Sign, name, and how much is due there; the name gives way where there is little room."""
    late = max((item.overdue_days for item in due.items), default=0) if due else 0
    narrow = width < NARROW
    tail = f"{len(due.items):>3} due" if due else ""
    if late:
        tail += f" {late} d late" if narrow else f"   overdue by {late} day{'s' if late > 1 else ''}"
    room = min(WIDEST_NAME, max(12, width - len(tail) - 4))
    sick = "" if not station.sick else " (sick)" if narrow else " (sick: last)"
    name = shortened(station.name, room - 1 - len(sick)) + sick
    return f"{'•' if due else sign} {name:<{room}}{tail}"


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


def _place(session: Session, carried: Carried) -> str:
    station = session.farm.stations.get(carried.station_id)
    return station.name if station else carried.station_id or session.farm.name
