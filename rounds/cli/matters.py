"""`rounds matters FARM`: what is still to sort, the worst first; and settling it."""

from __future__ import annotations

import argparse
from typing import Any

from rounds.cli.error_texts import in_words
from rounds.cli.farm_arguments import add_farm, add_person, open_session, print_json, say_who_walks
from rounds.cli.json_keys import tell_keys
from rounds.cli.output import done
from rounds.errors import BadInput
from rounds.history.record import Draft
from rounds.walk.session import Session
from rounds.walk.to_sort.listing import back_on, open_matters, parked_matters
from rounds.walk.to_sort.model import OpenMatter
from rounds.walk.to_sort.settle import closing, matter_called, parking
from rounds.walk.to_sort.telling import form_of, listed

_KEYS = """
format     1
farm       name of the farm
at         now
matters    what is still to sort, the worst first
  id       stable while it is the same thing; --settle takes it
  code     what kind of thing it is
  station  id of its station, or ""
  stations   all that it is about
  what     one sentence, with its number and its age
  since    since when
  loses    people, animals, 30 minutes, 2 hours, tonight, tomorrow or days
  lost     what would be lost, and how soon, in words
  closes_by  what closes it, beside a reason
  closing  the same in words
  can_wait   false where it can't be left for later
  of       ids of what is joined in it
later      what is left for a later day
  id, station, what
  until    the day on which it is back
[saved]    ids of the records that --settle wrote
"""


def add(verbs: Any) -> None:
    """Add the verb."""
    parser = verbs.add_parser("matters", help="what is still to sort, the worst first; and settling it")
    add_farm(parser)
    parser.add_argument("--settle", metavar="ID", help="close the matter of that id, or leave it with --later")
    parser.add_argument("--reason", metavar="TEXT", help="why it is closed, or left")
    parser.add_argument("--later", metavar="DAY", help="leave it until that day: thu, 3 dec, 2026-12-03, or days")
    add_person(parser)
    tell_keys(parser, {"--json": _KEYS})
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """List what is still to sort; or settle one of it first."""
    if args.settle is None and (args.reason is not None or args.later is not None):
        raise in_words(BadInput, "settle-what")
    session = open_session(args, read_only=args.settle is None)
    saved: list[str] = []
    if args.settle is not None:
        with session.history:
            saved = _settle(session, args)
            done(f"It was saved: {args.settle} {'left for later' if args.later else 'settled'}.", 0)
            _print(session, args, saved)
        return 0
    _print(session, args, saved)
    return 0


def _settle(session: Session, args: argparse.Namespace) -> list[str]:
    matter = matter_called([*open_matters(session), *parked_matters(session)], args.settle)
    records = session.save(*_drafts(session, matter, args))
    return [record.id for record in records]


def _drafts(session: Session, matter: OpenMatter, args: argparse.Namespace) -> tuple[Draft, ...]:
    if args.later is None:
        return closing(session, matter, args.reason or "")
    from rounds.walk.to_sort.verbs import day_named

    return parking(session, matter, day_named(args.later, session.now().date()), args.reason or "")


def _print(session: Session, args: argparse.Namespace, saved: list[str]) -> None:
    if args.json:
        print_json(
            {
                "farm": session.farm.name,
                "at": session.now().isoformat(timespec="seconds"),
                "matters": [form_of(session, each) for each in open_matters(session)],
                "later": [_later_form(session, each) for each in parked_matters(session)],
            }
            | ({"saved": saved} if args.settle is not None else {})
        )
        return
    if saved:
        say_who_walks(session)
    print("\n".join(listed(session)))


def _later_form(session: Session, matter: OpenMatter) -> dict[str, Any]:
    return {
        "id": matter.id,
        "station": matter.station,
        "what": matter.what,
        "until": back_on(session, matter).isoformat(),
    }
