"""`rounds due FARM`: what is due now, station by station."""

from __future__ import annotations

import argparse
from typing import Any

from rounds.checklist.due import ROUND_STARTS, DueItem
from rounds.cli.farm_arguments import add_farm, open_session, print_json
from rounds.walk.carried import carried_over
from rounds.walk.round import closed_today, current_round, left_open
from rounds.walk.session import Session

Station = dict[str, Any]


def add(verbs: Any) -> None:
    """Add the verb."""
    parser = verbs.add_parser("due", help="what is due now, station by station")
    add_farm(parser)
    parser.add_argument("--round", choices=list(ROUND_STARTS), help="default: every round of today so far not closed")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Print what is due."""
    session = open_session(args, read_only=True)
    names = [args.round] if args.round else _open_rounds(session)
    form = {
        "farm": session.farm.name,
        "round": args.round or current_round(session),
        "at": session.now().isoformat(timespec="seconds"),
        "stations": _stations(session, names),
        "carried_over": [
            {"station": each.station_id, "what": each.what, "since": each.since.isoformat()}
            for each in carried_over(session)
        ],
        "left_open": [{"round": walk.name, "day": walk.day.isoformat()} for walk in left_open(session)],
        "mistakes": [str(mistake) for mistake in session.mistakes],
    }
    if args.json:
        print_json(form)
    else:
        print("\n".join(_lines(form)))
    return 0


def _open_rounds(session: Session) -> list[str]:
    begun = list(ROUND_STARTS)[: list(ROUND_STARTS).index(session.round_name()) + 1]
    return [name for name in begun if not closed_today(session, name)] or [session.round_name()]


def _stations(session: Session, names: list[str]) -> list[Station]:
    """The stations in the order of the walk, each with what the named rounds ask there, nothing twice."""
    found: dict[str, Station] = {}
    for name in names:
        for due in session.due(name):
            station = found.setdefault(
                due.station_id, {"id": due.station_id, "kind": due.kind, "name": due.name, "due": []}
            )
            known = {each["item"] for each in station["due"]}
            station["due"] += [_item(item, name) for item in due.items if item.item.id not in known]
    return [found[station] for station in session.walk_order() if station in found]


def _item(due: DueItem, round_name: str) -> dict[str, Any]:
    return {
        "item": due.item.id,
        "label": due.item.label,
        "type": due.item.type,
        "unit": due.item.unit,
        "round": round_name,
        "since": due.since.isoformat(),
        "overdue_days": due.overdue_days,
        "asked_outright": due.asked_outright,
    }


def _lines(form: dict[str, Any]) -> list[str]:
    count = sum(len(station["due"]) for station in form["stations"])
    lines = [f"{form['farm']}, {form['round']} round: {count} due at {len(form['stations'])} stations"]
    lines += [f"  carried over: {each['station']}: {each['what']}" for each in form["carried_over"]]
    lines += [f"  left open: the {each['round']} round of {each['day']}" for each in form["left_open"]]
    for station in form["stations"]:
        lines.append(f"{station['id']:<16} {station['name']}")
        lines += [f"    {item['label']}{_overdue(item['overdue_days'])}" for item in station["due"]]
    return lines


def _overdue(days: int) -> str:
    return f"   overdue by {days} day{'s' if days > 1 else ''}" if days else ""
