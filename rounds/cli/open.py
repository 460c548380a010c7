"""`rounds open BUNDLE [DIR]`: open a bundle from somebody else in a new folder."""

from __future__ import annotations

import argparse
import sys
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rounds.cli.farm_arguments import print_json
from rounds.cli.json_keys import tell_keys
from rounds.cli.output import done

if TYPE_CHECKING:
    from rounds.relief.bundle import Manifest

_KEYS = """
format    1
farm      name of the farm
for       id of whom the bundle was made for
files     how many
records   how many
folder    where it was opened; null with --preview
"""


def add(verbs: Any) -> None:
    """Add the verb."""
    parser = verbs.add_parser("open", help="open a bundle from somebody else")
    parser.add_argument("bundle", type=Path, metavar="BUNDLE", help="the zip that `rounds relief --bundle` made")
    parser.add_argument("to", nargs="?", type=Path, metavar="DIR", help="a new folder (default: the farm's name, here)")
    parser.add_argument("--preview", action="store_true", help="only say what is in it")
    parser.add_argument("--json", action="store_true", help="answer in JSON for programs, with a format number")
    tell_keys(parser, {"--json": _KEYS})
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Check all of it, then write it into a new folder."""
    from rounds.relief.opening import folder_name, open_bundle, read_bundle

    found = read_bundle(args.bundle)
    target = args.to or Path(folder_name(found.manifest.farm))
    if not args.preview:
        found = open_bundle(args.bundle, target)
        done(f"The bundle was opened in {target}.")
    made = found.manifest
    if args.json:
        print_json(
            {
                "farm": made.farm,
                "for": made.person,
                "files": len(found.files),
                "records": found.records,
                "folder": None if args.preview else str(target),
            }
        )
        return 0
    print(f"{made.farm}: {len(found.files)} files with {found.records} records, made {made.made:%Y-%m-%d %H:%M}.")
    if not args.preview:
        who = f" {made.person} walks it, unless --as names somebody else." if made.person else ""
        for each in (*found.told, *_over(made)):
            print(f"! {each}", file=sys.stderr)
        print(f"It is in {target} now.{who} Open it with:  rounds {target}")
        print(f"When you are done, hand this back:  rounds relief {target} --back back.zip")
    return 0


def _over(made: Manifest) -> list[str]:
    """Said where the days are over for which a bundle was made."""
    if made.last is None or made.last >= datetime.now(UTC).astimezone().date():
        return []
    return [f"It was made for days up to {made.last.isoformat()}: what is written now is refused when it goes back."]
