"""`rounds history FARM`: read the daybook, export it, or take an old paper log in."""

from __future__ import annotations

import argparse
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rounds.cli.error_texts import in_words
from rounds.cli.farm_arguments import add_farm, open_session, read_day
from rounds.cli.json_keys import tell_keys
from rounds.cli.output import print_form, print_table
from rounds.errors import BadInput, NotFound
from rounds.record_kinds import KINDS
from rounds.walk.daybook.days import read_day as day_in_words
from rounds.walk.daybook.page import day_of, sections_of, span_of, summary_of, wrapped
from rounds.walk.daybook.sentences import record_text
from rounds.walk.daybook.wanted import named, refuse_strangers
from rounds.walk.wording import date_text

if TYPE_CHECKING:
    from rounds.history.record import Record
    from rounds.walk.session import Session

_TEXT = 41
_KEYS = f"""
form               "rounds-history"
version            1
records            a field that is empty is left out
  id, format, device, seq
  lamport          orders the records of several devices
  kind             {", ".join([*KINDS][:4])}, ...
  measured_at, entered_at
  [station]        left out for the farm as a whole
  [item], [value], [unit]
  [typed]          the text as it was typed
  [meter], [person], [note], [round_id]
  [replaces]       id of the record that this one replaces
  [void]           true where it takes that one back
  [data]           what belongs to its kind
  [marks]          remarks on the record
  [saved_with]     first and last number of what was saved in one go with it
  [extra]          fields of a newer version
"""
_IMPORT_KEYS = """
format      1
sentences   what the table holds
new, known  rows that are new; rows written down before
refused     what cannot be: it is left out
  row, heading, sentence
doubted     what is hard to believe: left out without --keep
  row, heading, sentence
written     how many were written down: none without --yes
"""


_GROUPS = {
    "findings": "only what was off, doubted or left",
    "doings": "only what was done unasked",
    "corrections": "only corrections and what was poured for them",
}


def add(verbs: Any) -> None:
    """Add the verb."""
    parser = verbs.add_parser("history", help="read or export what was written down")
    add_farm(parser)
    parser.add_argument("--day", metavar="DAY", help="one day as a page: today, tue, 'last tue', '2 oct', -10 (=-10)")
    parser.add_argument("--station", metavar="S", help="only this station, by its id or name")
    parser.add_argument("--kind", metavar="KIND", help="only entries of this kind, such as reading, check, dose, note")
    parser.add_argument("--person", metavar="NAME", help="only what this person wrote down")
    parser.add_argument("--find", metavar="TEXT", help="only what has these words; without a day, of all years")
    for group, what in _GROUPS.items():
        parser.add_argument(f"--{group}", action="append_const", const=group, dest="groups", help=what)
    parser.add_argument("--since", metavar="DAY", help="from this day on (default: the last 30 days)")
    parser.add_argument("--until", metavar="DAY", help="up to and including this day")
    parser.add_argument("--all", action="store_true", help="with entries that were replaced or taken back")
    parser.add_argument("--csv", action="store_true", help="answer in CSV for spreadsheets")
    parser.add_argument("--decimal", choices=[".", ","], help="decimal mark of the CSV (default: the farm's own)")
    parser.add_argument(
        "--import", dest="paper", type=Path, metavar="CSV", help="take in an old paper log, or a CSV written here"
    )
    parser.add_argument("--mapping", type=Path, metavar="TOML", help="which column of a paper log is what")
    parser.add_argument("--keep", action="store_true", help="take in what is hard to believe too, marked as doubted")
    parser.add_argument("--yes", action="store_true", help="take it in after showing the preview")
    tell_keys(parser, {"--json": _KEYS, "--json --import": _IMPORT_KEYS})
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Print or take in records."""
    session = open_session(args, read_only=args.paper is None)
    with session.history:
        if args.paper is not None:
            from rounds.cli.paper import take_in

            return take_in(session, args.paper, args.mapping, confirmed=args.yes, as_json=args.json, keeps=args.keep)
        _print(args, session, _records(args, session))
    return 0


def _records(args: argparse.Namespace, session: Session) -> list[Record]:
    wanted = named(session, station=args.station, kind=args.kind, person=args.person, find=args.find,
                   groups=args.groups or ())  # fmt: skip
    since, until = _span(args, session)
    found = session.history.records(since=since, until=until, station=wanted.station, replaced=args.all)
    found = [record for record in found if wanted.accepts(session, record)]
    if args.day is not None:
        found = [record for record in found if day_of(session, record) == _day(args, session)]
    if not found:
        refuse_strangers(session, wanted)
    return found


def _span(args: argparse.Namespace, session: Session) -> tuple[datetime | None, datetime | None]:
    """From when to when; what has these words is looked for in all years."""
    if args.day is not None:
        if args.since is not None or args.until is not None:
            raise in_words(BadInput, "day-and-span")
        return span_of(session, _day(args, session))
    until = read_day(args.until, session, "--until")
    last_month = None if args.find and until is None else session.now() - timedelta(days=30)
    since = read_day(args.since, session, "--since") or last_month
    if until is not None and since is not None and until < since:
        raise in_words(NotFound, "until-before-since")
    return since, _day_after(until) if until else None


def _day(args: argparse.Namespace, session: Session) -> date:
    return day_in_words(args.day, session.now().date())


def _day_after(day: datetime) -> datetime | None:
    """The next day, or None where the calendar ends."""
    try:
        return day + timedelta(days=1)
    except OverflowError:
        return None


def _print(args: argparse.Namespace, session: Session, records: list[Record]) -> None:
    from rounds.history.export import to_csv, to_json

    if args.json:
        print_form(to_json(records))
    elif args.csv:
        print_table(to_csv(records, args.decimal or session.farm.place.decimal_mark))
    elif args.day is not None:
        print("\n".join(_page(args, session, records)))
    else:
        for record in records:
            at = record.measured_at.astimezone(session.zone)
            print(f"{at:%Y-%m-%d %H:%M}  {record.person:<10} {record_text(session, record)}")


def _page(args: argparse.Namespace, session: Session, records: list[Record]) -> list[str]:
    """A day as a page, as the screen has it; each time stands at the end of its line."""
    shown = [date_text(_day(args, session)), summary_of(session, records)]
    for section in sections_of(session, records):
        for place, line in enumerate(section.lines):
            name = section.name if place == 0 else ""
            first, *more = wrapped(line.text, _TEXT)
            shown += [f" {name:<25.25}  {line.sign} {first:<{_TEXT}}   {line.at:%H:%M}"]
            shown += [f"{'':30}{each}" for each in more]
    return [line for line in shown if line] if records else [shown[0], "Nothing was written down on this day."]
