"""`rounds [FARM]`: open the app, or say what is due where there is no terminal."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from rounds import __version__
from rounds.cli.error_texts import in_words
from rounds.cli.farm_arguments import AS_HELP
from rounds.errors import NotFound
from rounds.walk.session import Session


def fill(parser: argparse.ArgumentParser) -> None:
    """The arguments of the bare command."""
    parser.add_argument("farm", nargs="?", type=Path, metavar="FARM", help="the folder in which farm.toml lies")
    parser.add_argument("--sample", action="store_true", help="open a scratch copy of the sample farm")
    parser.add_argument("--as", dest="person", metavar="NAME", help=AS_HELP)
    form = parser.add_mutually_exclusive_group()
    form.add_argument(
        "--plain",
        action="store_true",
        help="walk in plain lines instead of a screen: through a pipe, for a screen reader, over a slow line",
    )
    form.add_argument(
        "--json", action="store_true", help="without a terminal: what is due, in the JSON of `rounds due`"
    )
    parser.add_argument("--version", action="version", version=f"rounds {__version__}")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Open the farm."""
    if args.sample:
        from rounds.cli.sample import scratch_sample

        args.farm = scratch_sample()
    if args.farm is None:
        args.farm = _here()
    if args.plain:
        from rounds.cli.plain import run as walk_in_lines

        return walk_in_lines(Session.open(args.farm, person_id=args.person))
    if args.json or not all(stream.isatty() for stream in (sys.stdin, sys.stdout, sys.stderr)):
        from rounds.cli.due import run as say_what_is_due

        args.round = None
        return say_what_is_due(args)
    from rounds.app import RoundsApp
    from rounds.cli.stopping import run_app

    code = run_app(RoundsApp(args.farm, person_id=args.person))
    if args.sample:
        print(f"The scratch farm stays in {args.farm}: open it again with  rounds {args.farm}")
    return code


def _here() -> Path:
    if (Path.cwd() / "farm.toml").exists():
        return Path.cwd()
    raise in_words(NotFound, "no-farm-named")
