"""A walk card for paper: this round's items with their last values, and space to write."""

from __future__ import annotations

from textwrap import wrap

from rounds.checklist.answers import band_of
from rounds.checklist.due import DueItem, StationDue
from rounds.farm.stations import StationBase
from rounds.units import show
from rounds.walk.missing import missing_lines
from rounds.walk.session import Session
from rounds.walk.to_sort.listing import open_matters
from rounds.walk.to_sort.telling import age_of, with_place

WIDTH = 78
LINE = "_" * 12


def walk_card(session: Session, round_name: str) -> str:
    """The card as plain text, 78 columns wide.

    Readings have a line to write on; checks have a box to cross when something is off.
    """
    now = session.now()
    head = f"{session.farm.name} · {round_name} round · {now:%A} {now.day} {now:%B %Y}"
    lines = [head, f"Walked by {LINE}{LINE}  from ______ to ______", ""]
    for sentence in missing_lines(session):
        lines += [*wrap(f"NOT ON THIS CARD: {sentence}", WIDTH), ""]
    lines += _to_sort(session)
    for station in session.due(round_name):
        lines += [*_station(session, station), ""]
    lines += ["Cross a box only where something is off, and write what it is.", "Everything else counts as well."]
    return "\n".join(lines) + "\n"


def _to_sort(session: Session) -> list[str]:
    """What is still to sort, the worst first, each with a box to tick once it is settled."""
    lines = []
    for each in open_matters(session):
        first, *more = wrap(f"{with_place(session, each)} (since {age_of(session, each)})", WIDTH - 6)
        lines += [f"  [ ] {first}", *(f"      {line}" for line in more)]
    return ["STILL TO SORT: tick what is settled, and write how.", *lines, ""] if lines else []


def _station(session: Session, due: StationDue) -> list[str]:
    station = session.farm.stations[due.station_id]
    title = f"{station.name} ({due.station_id})" + ("  SICK: last, wash hands" if station.sick else "")
    readings = [_reading(session, station, item) for item in due.items if item.item.type == "reading"]
    checks = [_check(item) for item in due.items if item.item.type != "reading"]
    return [title, "-" * min(WIDTH, len(title)), *readings, *checks]


def _reading(session: Session, station: StationBase, due: DueItem) -> str:
    item = due.item
    band = band_of(item, session.farm, station)
    wanted = f"{show(band[0], '', item.decimals)} to {show(band[1], '', item.decimals)}" if band else ""
    last = due.last.value if due.last is not None else None
    before = show(float(last), "", item.decimals) if isinstance(last, int | float) else "-"
    label = f"{item.label}, {item.unit}" if item.unit else item.label
    return f"  {label:<34.34} {LINE}  last {before:<8} {wanted}".rstrip()


def _check(due: DueItem) -> str:
    late = f"  (overdue by {due.overdue_days} d)" if due.overdue_days else ""
    mark = "?" if due.asked_outright else " "
    check = f"  [{mark}] {due.item.label:<42.42} "
    return f"{check}{LINE[: WIDTH - len(check) - len(late)]}{late}"
