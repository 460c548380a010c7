"""`rounds card FARM`: a walk card to print and fill in by hand."""

from __future__ import annotations

import argparse
from typing import Any

from rounds.checklist.due import ROUND_STARTS
from rounds.cli.farm_arguments import add_farm, open_session, print_json
from rounds.cli.json_keys import tell_keys
from rounds.walk.card import walk_card
from rounds.walk.round import current_round

_KEYS = """
format   1
round    name of the round
card     the text of the card
"""


def add(verbs: Any) -> None:
    """Add the verb."""
    parser = verbs.add_parser("card", help="a walk card to print and fill in by hand")
    add_farm(parser)
    parser.add_argument("--round", choices=list(ROUND_STARTS), help="default: the one of this time of day")
    tell_keys(parser, {"--json": _KEYS})
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Print the card; 1 where the farm's files have mistakes, since something may be missing on it."""
    session = open_session(args, read_only=True)
    name = args.round or current_round(session)
    card = walk_card(session, name)
    if args.json:
        print_json({"round": name, "card": card})
    else:
        print(card, end="")
    return 1 if session.mistakes else 0
