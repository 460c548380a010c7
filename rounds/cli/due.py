"""`rounds due FARM`: what is due now, station by station."""

from __future__ import annotations

import argparse
from typing import Any

from rounds.checklist.due import ROUND_STARTS, DueItem, StationDue
from rounds.cli.farm_arguments import add_farm, open_session, print_json
from rounds.walk.carried import carried_over


def add(verbs: Any) -> None:
    """Add the verb."""
    parser = verbs.add_parser("due", help="what is due now, station by station")
    add_farm(parser)
    parser.add_argument("--round", choices=list(ROUND_STARTS), help="default: the one of this time of day")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Print what is due."""
    session = open_session(args)
    name = args.round or session.round_name()
    due = session.due(name)
    carried = carried_over(session)
    if args.json:
        print_json(
            {
                "farm": session.farm.name,
                "round": name,
                "at": session.now().isoformat(timespec="seconds"),
                "stations": [_station_form(each) for each in due],
                "carried_over": [
                    {"station": each.station_id, "what": each.what, "since": each.since.isoformat()} for each in carried
                ],
                "mistakes": [str(mistake) for mistake in session.mistakes],
            }
        )
        return 0
    print(f"{session.farm.name}, {name} round: {sum(len(each.items) for each in due)} due at {len(due)} stations")
    for each in carried:
        print(f"  carried over: {each.station_id}: {each.what}")
    for station in due:
        print(f"{station.station_id:<16} {station.name}")
        for item in station.items:
            print(f"    {item.item.label}{_overdue(item)}")
    for mistake in session.mistakes:
        print(f"! {mistake}")
    return 0


def _station_form(station: StationDue) -> dict[str, Any]:
    return {
        "id": station.station_id,
        "kind": station.kind,
        "name": station.name,
        "due": [_item_form(item) for item in station.items],
    }


def _item_form(due: DueItem) -> dict[str, Any]:
    return {
        "item": due.item.id,
        "label": due.item.label,
        "type": due.item.type,
        "unit": due.item.unit,
        "since": due.since.isoformat(),
        "overdue_days": due.overdue_days,
        "asked_outright": due.asked_outright,
    }


def _overdue(due: DueItem) -> str:
    return f"   overdue by {due.overdue_days} day{'s' if due.overdue_days > 1 else ''}" if due.overdue_days else ""
