"""`rounds mix FARM ...`: sheets for working bottles, concentrates, a top-up tank and a change-out."""

from __future__ import annotations

import argparse
from datetime import datetime, time, timedelta
from typing import TYPE_CHECKING, Any

from rounds.cli.error_texts import in_words
from rounds.cli.farm_arguments import add_farm, add_person, open_session, print_json, say_who_walks
from rounds.cli.json_keys import tell_keys
from rounds.errors import OutOfRange

if TYPE_CHECKING:
    from rounds.history.record import Record
    from rounds.mixing.sheet import MixSheet
    from rounds.walk.session import Session

LOOK_BACK_DAYS = 400

_KEYS = """
format   1
sheets   one, or those of A and B
  format, kind, title
  cautions   sentences: they come first
  steps      in order
    text
    what     id of a product or water, or name of a salt
    amount, unit
  label      lines for the label
  notes      sentences
  figures    what was worked out, by names that end in the unit
person   who walks, or null
  id, name, role
"""


def add(verbs: Any) -> None:
    """Add the verb and its four sheets."""
    parser = verbs.add_parser("mix", help="the sheet for making a working acid or base")
    add_farm(parser)
    add_person(parser)
    sheets = parser.add_subparsers(required=True, metavar="SHEET")
    working = sheets.add_parser("working", help="a working acid or base from stock")
    working.add_argument("product", metavar="PRODUCT")
    working.add_argument("--percent", type=float, default=8.0, help="wanted strength by mass (default: 8)")
    working.add_argument("--litres", type=float, default=1.0, help="wanted volume (default: 1)")
    working.set_defaults(run=run, sheet=_working)
    concentrate = sheets.add_parser("concentrate", help="the weighing lists of A and B of a feed")
    concentrate.add_argument("feed", metavar="FEED")
    concentrate.add_argument("--litres", type=float, default=10.0, help="of each (default: 10)")
    concentrate.set_defaults(run=run, sheet=_concentrate)
    top_up = sheets.add_parser("top-up", help="a tank, acidified and fed, for days away")
    top_up.add_argument("reservoir", metavar="RESERVOIR")
    top_up.add_argument("--days", type=int, default=7, help="days away (default: 7)")
    top_up.add_argument("--litres-per-day", type=float, metavar="L", help="what it drinks (default: from the dips)")
    top_up.set_defaults(run=run, sheet=_top_up)
    change_out = sheets.add_parser("change-out", help="renewing a whole reservoir")
    change_out.add_argument("reservoir", metavar="RESERVOIR")
    change_out.set_defaults(run=run, sheet=_change_out)
    tell_keys(parser, {"--json": _KEYS})
    for each in (working, concentrate, top_up, change_out):
        tell_keys(each, {"--json": _KEYS})
        each.add_argument("--json", action="store_true", default=argparse.SUPPRESS, help="answer in JSON")
        add_person(each)


def run(args: argparse.Namespace) -> int:
    """Print one sheet, or the two of a feed."""
    from rounds.walk.walker import person_form

    session = open_session(args, read_only=True)
    with session.history:
        sheets: list[MixSheet] = args.sheet(session, args)
    if args.json:
        print_json({"sheets": [sheet.to_json() for sheet in sheets], "person": person_form(session)})
    else:
        say_who_walks(session)
        print("\n\n".join("\n".join(sheet.as_lines()) for sheet in sheets))
    return 0


def _working(session: Session, args: argparse.Namespace) -> list[MixSheet]:
    from rounds.mixing.working import working_sheet
    from rounds.walk.helpers_sheets import refuse_to_make

    refuse_to_make(session, [args.product])
    return [working_sheet(session.farm, args.product, args.percent, args.litres, session.now().date())]


def _concentrate(session: Session, args: argparse.Namespace) -> list[MixSheet]:
    from rounds.mixing.concentrate import concentrate_sheets
    from rounds.walk.helpers_sheets import refuse_to_make
    from rounds.walk.stock import left_now

    feed = session.farm.feeds.get(args.feed)
    refuse_to_make(session, feed.products if feed else ())
    return list(concentrate_sheets(session.farm, args.feed, args.litres, left_now(session)))


def _top_up(session: Session, args: argparse.Namespace) -> list[MixSheet]:
    from rounds.mixing.drinking import Drinking, drinking_rate
    from rounds.mixing.top_up import top_up_sheet, top_up_tank
    from rounds.walk.helpers_sheets import refuse_beyond_limits
    from rounds.walk.newer_records import refuse_what_is_not_known
    from rounds.walk.stock import left_now

    refuse_what_is_not_known(session, args.reservoir)
    if args.litres_per_day is not None:
        if not 0.0 < args.litres_per_day <= 100_000.0:
            raise in_words(OutOfRange, "litres-a-day", litres=args.litres_per_day)
        drinking = Drinking(litres_per_day=args.litres_per_day, days=0.0)
    else:
        drinking = drinking_rate(session.farm, _records(session), args.reservoir, session.now())
    today = session.now().date()
    tank = top_up_tank(session.farm, args.reservoir, args.days, drinking, left_now(session), today)
    sheet = top_up_sheet(tank)
    refuse_beyond_limits(session, [(step.what, step.amount, step.unit) for step in sheet.steps])
    return [sheet]


def _change_out(session: Session, args: argparse.Namespace) -> list[MixSheet]:
    from rounds.mixing.change_out import change_out_sheet
    from rounds.walk.helpers_sheets import refuse_a_change_out

    refuse_a_change_out(session)
    return [change_out_sheet(session.farm, _records(session), args.reservoir, session.now())]


def _records(session: Session) -> list[Record]:
    counted = [product.counted_on for product in session.farm.shelf.values()]
    first = datetime.combine(min(counted, default=session.now().date()), time(), session.zone)
    since = max(session.now() - timedelta(days=LOOK_BACK_DAYS), min(first, session.now() - timedelta(days=60)))
    return session.history.records(since=since)
