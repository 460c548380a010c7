"""`rounds due FARM`: what is due now, station by station."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from typing import Any

from rounds.checklist.due import ROUND_STARTS, DueItem
from rounds.cli.farm_arguments import add_farm, open_session, print_json
from rounds.cli.json_keys import tell_keys
from rounds.walk.matters import Matter, Place
from rounds.walk.overview import HALF_PAIR
from rounds.walk.round import closed_today, current_round
from rounds.walk.session import Session
from rounds.walk.telling import FAILED, matters

Station = dict[str, Any]
SHOWN: tuple[Place, ...] = ("first", "missing", "to sort", "carried", "left open")
"""Where the answer asks for something to tell."""

_KEYS = """
format             1
half_pairs         A or B that went in alone; what is poured before all else
  station, product, part
  amount, unit     what is still owed
  since, what      when the other half went in; the sentence
farm               name of the farm
round              the round that comes first in the answer
at                 now
stations           in the order of the walk
  id, kind, name
  due              the items asked there
    item, label, type, unit
    round          the round it is asked on
    since          the day it fell due
    overdue_days   0 where it is not overdue
    asked_outright   true where "all well" does not answer it
matters            what is still to sort, as `rounds matters` has it
  id, code, station, stations, what, since
  loses, lost, closes_by, closing, can_wait, of
carried_over       what an earlier round left open
  station, what, since
left_open          rounds of an earlier day that nobody closed
  round, day
mistakes           sentences: what is wrong in the farm's files
left_out           ids of stations left out because of a mistake
lost               ids of stations that only the record still knows
as_of              when farm.toml was sound, where it cannot be read; or ""
missing            sentences: what is missing, and where nothing is poured
"""


def add(verbs: Any) -> None:
    """Add the verb."""
    parser = verbs.add_parser("due", help="what is due now, station by station")
    add_farm(parser)
    parser.add_argument("--round", choices=list(ROUND_STARTS), help="default: every round of today so far not closed")
    tell_keys(parser, {"--json": _KEYS})
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Print what is due; 1 where the farm's files have mistakes, since something may be missing then."""
    session = open_session(args, read_only=True)
    form = what_is_due(session, args.round)
    if args.json:
        print_json(form)
    else:
        print("\n".join(lines_of(form)))
    return 1 if form["mistakes"] else 0


def what_is_due(session: Session, round_name: str | None = None) -> dict[str, Any]:
    """What is due, as the verb's JSON has it: on the round that is named, else on all of today that are open."""
    names = [round_name] if round_name else _open_rounds(session)
    told = {place: matters(session, place) for place in SHOWN}
    return {
        "half_pairs": _forms(told["first"]),
        "farm": session.farm.name,
        "round": round_name or current_round(session),
        "at": session.now().isoformat(timespec="seconds"),
        "stations": _stations(session, names),
        "matters": _forms(told["to sort"]),
        "carried_over": _forms(told["carried"]),
        "left_open": _forms(told["left open"]),
        "mistakes": [mistake.told for mistake in session.mistakes],
        "left_out": list(session.farm.left_out),
        "lost": [each.id for each in session.farm.lost],
        "as_of": session.farm.as_of,
        "missing": _missing(told),
    }


def _forms(told: list[Matter]) -> list[dict[str, Any]]:
    """What is told at a place, for programs."""
    return [dict(each.facts) for each in told if each.facts]


def _missing(told: Mapping[Place, list[Matter]]) -> list[str]:
    """What is missing from the farm, where nothing is poured for a newer record, what could not be told."""
    failed = [each for place in SHOWN for each in told[place] if each.code == FAILED]
    newer = [each for each in told["first"] if each.code == "newer-record"]
    return [
        each.text
        for each in (*told["missing"], *newer, *(each for n, each in enumerate(failed) if each not in failed[:n]))
    ]


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


def lines_of(form: dict[str, Any]) -> list[str]:
    """What is due, in lines."""
    lines = [f"! {each['what']}" for each in form["half_pairs"]]
    lines += [f"! {sentence}" for sentence in form["missing"]]
    lines.append(f"{form['farm']}, {_counts(form)}")
    lines += [f"  still to sort: {_place(each)}{each['what']}" for each in form["matters"] if each["code"] != HALF_PAIR]
    lines += [f"  left open: the {each['round']} round of {each['day']}" for each in form["left_open"]]
    for station in form["stations"]:
        lines.append(f"{station['id']:<16} {station['name']}")
        lines += [f"    {_item_line(item, form['round'])}" for item in station["due"]]
    return lines + [f"{station:<16} not readable" for station in (*form["left_out"], *form["lost"])]


def _place(matter: dict[str, Any]) -> str:
    return f"{matter['station']}: " if matter["station"] else ""


def _counts(form: dict[str, Any]) -> str:
    """How much is due on the round that is shown first, as the first screen counts it, and how much more on others."""
    at = {name: [_of_round(station, name) for station in form["stations"]] for name in ROUND_STARTS}
    stations = sum(1 for count in at[form["round"]] if count)
    others = [f"{sum(at[name])} more of the {name} round" for name in at if name != form["round"] and any(at[name])]
    first = f"{form['round']} round: {sum(at[form['round']])} due at {stations} station{'' if stations == 1 else 's'}"
    return ", ".join([first, *others])


def _of_round(station: Station, name: str) -> int:
    return sum(1 for item in station["due"] if item["round"] == name)


def _item_line(item: dict[str, Any], shown: str) -> str:
    other = f"   {item['round']} round" if item["round"] != shown else ""
    return f"{item['label']}{other}{_overdue(item['overdue_days'])}"


def _overdue(days: int) -> str:
    return f"   overdue by {days} day{'s' if days > 1 else ''}" if days else ""
